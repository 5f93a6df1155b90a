"""A backup: a ZIP file with one SQLite database, whatever engine it came from, and a note of what is in it.

The note holds the SHA-256 of the database, its schema and its rows by table, so that a damaged or incomplete backup is
known before anything is touched.
"""

import hashlib
import json
import zipfile
import zlib
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import IO, Any

from server.errors import FileProblem

FORMAT = "skidbook-backup-1"
NOTE, DATABASE = "backup.json", "skidbook.db"
BLOCK = 1024 * 1024
LEVEL = 3
"""Of compression: higher ones take several times as long for a tenth less."""
EXPECTED = "a file that skidbook backup has written"


@dataclass(frozen=True)
class Note:
    """What is in a backup; `engine` is where it came from, `rows` are counted by table."""

    format: str
    version: str
    schema: str
    engine: str
    made_at: str
    sha256: str
    size: int
    rows: dict[str, int]


def write_archive(path: Path, database: Path, note: Note) -> None:
    """Write a backup; the note is made of the very bytes that are packed."""
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED, compresslevel=LEVEL) as archive:
        with archive.open(DATABASE, "w", force_zip64=True) as packed, database.open("rb") as plain:
            digest, size = _copy(plain, packed)
        whole = Note(**(asdict(note) | {"sha256": digest, "size": size}))
        archive.writestr(NOTE, json.dumps(asdict(whole), indent=1))


def read_note(path: Path) -> Note:
    """What a backup says of itself; raises `FileProblem` when it is none, or is damaged."""
    try:
        with zipfile.ZipFile(path) as archive:
            content: Any = json.loads(archive.read(NOTE))
        note = Note(**content)
    except OSError as error:
        raise FileProblem(str(path), f"cannot be read ({error.strerror})", expected="a backup") from error
    except (zipfile.BadZipFile, zlib.error, KeyError, TypeError, ValueError, EOFError, NotImplementedError) as error:
        raise FileProblem(str(path), "is no backup, or is damaged; nothing was changed", expected=EXPECTED) from error
    if note.format != FORMAT:
        raise FileProblem(str(path), f'has the format "{note.format}"; nothing was changed', expected=FORMAT)
    return note


def unpack(path: Path, note: Note, target: Path) -> None:
    """Unpack the database of a backup; raises `FileProblem` when a single bit is not as it was."""
    try:
        with zipfile.ZipFile(path) as archive, archive.open(DATABASE) as packed, target.open("wb") as plain:
            digest, size = _copy(packed, plain, most=note.size)
    except (zipfile.BadZipFile, zlib.error, KeyError, EOFError, NotImplementedError) as error:
        raise FileProblem(str(path), f"is damaged ({error}); nothing was changed", expected=EXPECTED) from error
    if (digest, size) != (note.sha256, note.size):
        raise FileProblem(str(path), "is damaged: its checksum is another; nothing was changed", expected=EXPECTED)


def _copy(source: IO[bytes], target: IO[bytes], most: int | None = None) -> tuple[str, int]:
    """Copy all of a stream, but little more than `most` bytes; returns SHA-256 and size."""
    digest, size = hashlib.sha256(), 0
    while block := source.read(BLOCK):
        digest.update(block)
        size += len(block)
        target.write(block)
        if most is not None and size > most:
            break
    return digest.hexdigest(), size
