"""Bring in a file that is not in the canonical layout: understand it, ask a person, and read it as answered."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from pydantic import TypeAdapter
from sqlalchemy import select
from sqlalchemy.orm import Session

from server.audit.author import writer
from server.db import now
from server.errors import Conflict, FileProblem
from server.intake.actions import Upload, keep_import, new_import, read_upload, restage
from server.intake.canonical_header import is_canonical
from server.intake.contents import import_content
from server.intake.known import known_of
from server.intake.mapping import FileMapping
from server.intake.mapping_text import mapping_from_text
from server.intake.models import ASKED, PENDING, Import, SavedMapping
from server.intake.queries import import_or_404, saved_mappings
from server.intake.table import ReadingsTable
from server.intake.understand.compile import Corrections, mapping_text
from server.intake.understand.facets import facets_of
from server.intake.understand.find import NO_CHOICES, understand
from server.intake.understand.trains import own_number
from server.intake.understand.understanding import Choices, Understanding
from server.plants.queries import train_or_404

_UNDERSTANDING = TypeAdapter(Understanding)
_CHOICES = TypeAdapter(Choices)


@dataclass(frozen=True)
class Looked:
    """What a file is: read where it is canonical or fits a kept mapping, else understood (or both)."""

    table: ReadingsTable | None
    understanding: Understanding | None
    mapping: str = ""
    kept_as: str = ""


def hand_in(session: Session, train_id: int, upload: Upload) -> Import:
    """Keep a file: looked at where it is canonical or comes with a mapping, else understood, and to be asked about.

    Raises
    ------
    FileProblem
        When it cannot be used at all; nothing is kept then.
    """
    looked = look_at(session, train_id, upload)
    kept = new_import(session, train_id, upload)
    keep_import(session, kept, upload)
    return keep_look(session, kept, upload, looked)


def look_at(session: Session, train_id: int, upload: Upload) -> Looked:
    """Find out what a file is, keeping nothing; raises `FileProblem` when it cannot be used."""
    if upload.mapping_text.strip() or is_canonical(upload.content, upload.file_name):
        return Looked(read_upload(session, train_id, upload), None, upload.mapping_text)
    found = understand(upload.content, file=upload.file_name, known=known_of(session, train_id, upload.latest))
    names = {*found.names, *(column.name for column in found.columns)}
    train = train_or_404(session, train_id)
    for saved in saved_mappings(session, train.site_id):
        mapping = mapping_from_text(saved.text, file=saved.name)
        if _said_of_one_file(mapping) or _of_another_train(mapping, found, train.name):
            continue
        if {mapping.time_column, *mapping.columns} <= names:
            try:
                table = read_upload(session, train_id, replace(upload, mapping_text=saved.text))
            except FileProblem:
                continue
            return Looked(table, found, saved.text, saved.name)
    return Looked(None, found)


def _said_of_one_file(mapping: FileMapping) -> bool:
    """Whether answers tell what one file left out, or got wrong, of its dates: of the next one they would be false."""
    return bool(mapping.year or mapping.day or mapping.months or mapping.exchanged or mapping.noon_by_order)


def _of_another_train(mapping: FileMapping, found: Understanding, train: str) -> bool:
    """Whether a mapping that was kept at the site reads what a file says of another train than this one."""
    if mapping.only != dict([found.layout.only] if found.layout.only else []):
        return True
    sheets = (mapping.layout.sheet, *mapping.layout.sheets)
    named = [column.name for column in found.columns]
    return _not_ours(sheets, found.layout.all_sheets, train) or _not_ours(mapping.columns, named, train)


def _not_ours(used: Iterable[str], names: Iterable[str], train: str) -> bool:
    """Whether one of several names that name a train, and that are used, names another."""
    owners = {owner for name in names if (owner := facets_of(f"{name} x").owner)}
    ours = own_number(train, owners)
    return len(owners) > 1 and any(facets_of(f"{name} x").owner not in ("", ours) for name in used)


def keep_look(session: Session, kept: Import, upload: Upload, looked: Looked) -> Import:
    """Put down with an import what its file was found to be."""
    kept.status = ASKED
    if looked.understanding is not None:
        _keep(kept, looked.understanding, NO_CHOICES)
    if looked.table is not None:
        restage(session, kept, replace(upload, mapping_text=looked.mapping), looked.table)
    if looked.kept_as:
        kept.notes = [f"Read as answered before and kept under “{looked.kept_as}”.", *kept.notes]
    session.flush()
    return kept


def hand_in_long(session: Session, train_id: int, upload: Upload) -> Import:
    """Keep a long file unread; a process of its own looks at it."""
    train_or_404(session, train_id)
    kept = new_import(session, train_id, upload)
    keep_import(session, kept, upload)
    return kept


def mapping_of(found: Import) -> FileMapping | None:
    """How a file was answered to be read, if it was."""
    return mapping_from_text(found.mapping, file="mapping") if found.mapping.strip() else None


def _keep(kept: Import, found: Understanding, choices: Choices) -> None:
    kept.understanding = _UNDERSTANDING.dump_python(found, mode="json")
    kept.choices = _CHOICES.dump_python(choices, mode="json")


def understanding_of(found: Import) -> Understanding:
    """What was understood of a file; raises `Conflict` where it was not asked for."""
    if found.understanding is None:
        raise Conflict("This file came in the canonical layout or with a mapping; there is nothing to ask about it.")
    return _UNDERSTANDING.validate_python(found.understanding)


def choices_of(found: Import) -> Choices:
    """What a person has said about the layout of a file."""
    return _CHOICES.validate_python(found.choices or {})


def look_again(session: Session, import_id: int, choices: Choices) -> Import:
    """Understand a file anew with what a person says about its layout."""
    kept = _open(session, import_id)
    content = import_content(session, import_id)
    found = understand(content, file=kept.file_name, known=known_of(session, kept.train_id), choices=choices)
    _keep(kept, found, choices)
    kept.status, kept.mapping = ASKED, ""
    session.flush()
    return kept


def answered_mapping(session: Session, import_id: int, corrections: Corrections) -> str:
    """The mapping by which a file is to be read, as it was understood and corrected."""
    kept = _open(session, import_id)
    found = understanding_of(kept)
    zone = train_or_404(session, kept.train_id).site.timezone
    text = mapping_text(found, corrections, site_zone=zone)
    if not any(typed and typed not in ("state", "remark") for typed in _columns(found, corrections)):
        raise FileProblem(kept.file_name, "has no column that is to be read", expected="at least one quantity")
    return text


def answer(session: Session, import_id: int, text: str, *, max_rows: int | None = None) -> Import:
    """Read a file by the mapping that was answered; nothing is stored but what it would bring.

    Raises
    ------
    FileProblem
        When it cannot be read that way at all.
    """
    kept = _open(session, import_id)
    content = import_content(session, import_id)
    return restage(session, kept, Upload(kept.file_name, content, mapping_text=text, max_rows=max_rows))


def _columns(found: Understanding, corrections: Corrections) -> list[str]:
    return [corrections.columns.get(column.name, column.typed) for column in found.columns]


def _open(session: Session, import_id: int) -> Import:
    kept = import_or_404(session, import_id)
    session.refresh(kept, with_for_update=True)
    if kept.status not in (ASKED, PENDING):
        raise Conflict(f"This import is {kept.status} already; nothing was changed.")
    return kept


def save_mapping(session: Session, site_id: int, name: str, text: str) -> SavedMapping:
    """Keep a mapping for a site under a name; one of that name is replaced."""
    query = select(SavedMapping).where(SavedMapping.site_id == site_id, SavedMapping.name == name)
    saved = session.scalars(query).first()
    if saved is None:
        saved = SavedMapping(site_id=site_id, name=name, text=text, author=writer(session))
        session.add(saved)
    saved.text, saved.author, saved.created_at = text, writer(session), now()
    session.flush()
    return saved
