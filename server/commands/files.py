"""Files that commands read and write. What is written appears whole, or not at all."""

import contextlib
import os
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import TextIO

from analytics.condition.meanings import expected_ranges
from analytics.plant import Plant
from server.errors import FileProblem
from server.intake.canonical import read_readings, read_readings_file
from server.intake.mapping import FileMapping
from server.intake.mapping_text import mapping_from_text
from server.intake.table import ReadingsTable
from server.intake.unasked import mapping_unasked
from server.intake.understand.column_doubts import doubtful_columns
from server.intake.understand.understanding import Known
from server.settings import load_settings
from server.toml_text import decode_toml

STANDARD_OUTPUT = "-"


def read_file(path: Path, what: str) -> bytes:
    """The bytes of a small file; `what` names its kind in the message when it cannot be read."""
    try:
        return path.read_bytes()
    except OSError as error:
        raise FileProblem(str(path), f"cannot be read ({error.strerror})", expected=what) from error


def read_mapping(path: Path | None) -> FileMapping | None:
    """The mapping at `path`, if one is given."""
    if path is None:
        return None
    return mapping_from_text(
        decode_toml(read_file(path, "a mapping"), file=path.name, what="a mapping"), file=path.name
    )


def read_table(plant: Plant, path: Path, mapping: Path | None) -> ReadingsTable:
    """The readings at `path`, every cell of which must be usable."""
    settings = load_settings()
    content = read_readings_file(path, settings.max_file_bytes)
    read_by = read_mapping(mapping)
    notes: tuple[str, ...] = ()
    known = _known(plant)
    if read_by is None:
        text, notes = mapping_unasked(content, path.name, known)
        read_by = mapping_from_text(text, file="what was understood") if text else None
    table = read_readings(
        content,
        timezone=plant.site.timezone,
        filename=path.name,
        mapping=read_by,
        max_rows=settings.max_upload_rows,
    )
    table.require_clean()
    return replace(table, notes=(*doubtful_columns(table, known), *notes, *table.notes))


def _known(plant: Plant) -> Known:
    return Known(
        timezone=plant.site.timezone,
        stages=len(plant.train.stages),
        train=plant.train.name,
        expected=expected_ranges(plant),
    )


def file_notes(table: ReadingsTable) -> list[str]:
    """What a person should be told about a file that was read."""
    notes = list(table.notes)
    if table.unknown_columns:
        notes.append(f"Columns not used: {', '.join(table.unknown_columns)}.")
    return notes


@contextlib.contextmanager
def whole_file(path: Path | str) -> Iterator[TextIO]:
    """A text file to write, put in place only when everything was written; `-` is standard output."""
    if str(path) == STANDARD_OUTPUT:
        yield sys.stdout
        return
    target = Path(path)
    if target.exists() and not target.is_file() and not target.is_dir():  # /dev/null, a pipe
        with target.open("w", encoding="utf-8") as stream:
            yield stream
        return
    try:
        handle, name = tempfile.mkstemp(prefix=f".{target.name}.", dir=target.resolve().parent)
    except OSError as error:
        raise _cannot_write(target, error) from error
    scratch = Path(name)
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="") as stream:
            yield stream
            stream.flush()
            os.fsync(stream.fileno())
        scratch.chmod(0o666 & ~_umask())
        scratch.replace(target)
    except OSError as error:
        raise _cannot_write(target, error) from error
    finally:
        scratch.unlink(missing_ok=True)


def _cannot_write(target: Path, error: OSError) -> FileProblem:
    return FileProblem(str(target), f"cannot be written ({error.strerror})", expected="a file in a folder that exists")


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
