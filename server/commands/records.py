"""Commands on the configured database: `migrate`, `plant add`, `import`."""

from dataclasses import replace
from pathlib import Path

from sqlalchemy import Engine
from sqlalchemy.orm import Session

import server.tables  # noqa: F401  # all tables must be known
from server.assessments.queries import latest_assessment
from server.commands.files import read_file
from server.db import make_engine, transaction
from server.errors import FileProblem
from server.events.actions import add_events
from server.events.events_file import read_events
from server.intake.actions import Upload, import_readings, preview_import
from server.intake.canonical import read_readings_file
from server.intake.canonical_header import is_canonical
from server.intake.guided import look_at
from server.intake.header_rows import line_name
from server.intake.known import known_of
from server.intake.models import Import
from server.intake.queries import saved_mappings
from server.intake.unasked import mapping_unasked
from server.plants.actions import add_plant
from server.plants.plant_file import plant_from_text, read_plant_text
from server.plants.queries import find_train
from server.schema import migrate, require_current
from server.settings import load_settings
from server.toml_text import decode_toml

SHOWN_DIFFERENCES = 5


def run_migrate() -> None:
    """Bring the schema of the configured database up to date."""
    settings = load_settings()
    engine = make_engine(settings.database_url)
    changed = migrate(engine)
    print(f"{_name(engine)}: {'brought up to date' if changed else 'is up to date'}")


def run_plant_add(path: Path, *, events: Path | None, author: str) -> None:
    """Add the train of a plant file, with its events."""
    text = read_plant_text(path)
    plant = plant_from_text(text, file=path.name)
    stages = len(plant.train.stages)
    happened = read_events(events, timezone=plant.site.timezone, stages=stages) if events else ()
    engine = make_engine(load_settings().database_url)
    migrate(engine)
    with transaction(engine) as session:
        train = add_plant(session, plant, text, author=author)
        added = add_events(session, train.id, happened, author=author)
        print(f"train {train.id}: {plant.site.name} / {plant.train.name}, {stages} stages, {len(added)} events")


def run_import(name: str, path: Path, *, mapping: Path | None, dry_run: bool, author: str) -> None:
    """Store the readings of a file, or say what would be stored."""
    settings = load_settings()
    content = read_readings_file(path, settings.max_file_bytes)
    engine = make_engine(settings.database_url)
    require_current(engine)
    with transaction(engine, writes=not dry_run) as session:
        train = find_train(session, name)
        train_id, where = train.id, f"{train.site.name} / {train.name}"
        upload = Upload(
            file_name=path.name,
            content=content,
            mapping_text=_mapping(session, train.site_id, mapping),
            mapping_name=mapping.name if mapping else "",
            author=author,
            max_rows=settings.max_upload_rows,
        )
        upload, notes = _understood(session, train_id, upload)
        done = (preview_import if dry_run else import_readings)(session, train_id, upload)
        _report(where, done, notes, dry_run=dry_run)
        if not dry_run and done.counts["stored"]:
            record = latest_assessment(session, train_id)
            if record is not None:
                print(f"{record.level}: {record.headline}")


def _mapping(session: Session, site_id: int, mapping: Path | None) -> str:
    """Text of a mapping file, or of the mapping that is kept at the site under that name."""
    if mapping is None:
        return ""
    kept = {saved.name: saved.text for saved in saved_mappings(session, site_id)}
    if not mapping.exists() and str(mapping) in kept:
        return kept[str(mapping)]
    if not mapping.exists() and kept:
        what = "is no file, and no mapping of that name is kept at the site"
        raise FileProblem(str(mapping), what, expected=f"one of: {', '.join(kept)}")
    return decode_toml(read_file(mapping, "a mapping"), file=mapping.name, what="a mapping")


def _understood(session: Session, train_id: int, upload: Upload) -> tuple[Upload, tuple[str, ...]]:
    """A file that comes without a mapping: read as one of its site was answered before, or as it can be understood."""
    if upload.mapping_text.strip() or is_canonical(upload.content, upload.file_name, with_unit=False):
        return upload, ()
    looked = look_at(session, train_id, upload)
    if looked.table is not None:
        kept = f"Read as answered before and kept under “{looked.kept_as}”."
        return replace(upload, mapping_text=looked.mapping, mapping_name=looked.kept_as), (kept,)
    text, notes = mapping_unasked(upload.content, upload.file_name, known_of(session, train_id))
    return replace(upload, mapping_text=text, mapping_name="what was understood"), notes


def _report(where: str, done: Import, notes: tuple[str, ...], *, dry_run: bool) -> None:
    counts = done.counts
    stored = "would be stored" if dry_run else "stored"
    print(f"{where}, {done.file_name}: {_readings(counts['rows'])}, {counts['stored']} {stored}")
    if counts["same"]:
        print(f"  {counts['same']} were there already")
    if counts["different"]:
        print(f"  {counts['different']} not stored, because another value is stored for the same time:")
        for difference in done.differences[:SHOWN_DIFFERENCES]:
            print(
                f"    {line_name(difference['row'], sideways='sideways' in difference)}, {difference['column']}: "
                f"{_written(difference['given'])} in the file, {_written(difference['stored'])} stored"
            )
    for note in (*notes, *done.notes):
        print(f"  {note}")
    if done.unknown_columns:
        print(f"  Columns not used: {', '.join(done.unknown_columns)}.")


def _readings(count: int) -> str:
    return f"{count} reading{'' if count == 1 else 's'}"


def _written(value: float | str | None) -> str:
    if value is None:
        return "nothing"
    return f'"{value}"' if isinstance(value, str) else f"{value:g}"


def _name(engine: Engine) -> str:
    return engine.url.render_as_string(hide_password=True)
