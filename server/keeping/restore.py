"""Bring a backup back. The present database is never changed before the new one is proven, and is kept beside it."""

import os
import shutil
import sqlite3
import stat
import tempfile
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import Connection, Engine, inspect, text
from sqlalchemy.exc import DBAPIError

from server.db import make_engine, now
from server.errors import AppError, FileProblem
from server.keeping.archive import EXPECTED, Note, read_note, unpack
from server.keeping.copying import copy_rows, count_rows
from server.keeping.lock import InUse, held
from server.keeping.sqlite_files import cannot_write, like, problems_of, settle, sqlite_path, sync_file, sync_folder
from server.schema import alembic_upgrade, known_revisions, migrate

TAILS = ("-wal", "-shm", "-journal")
WHAT = "the restored database"


class NewerBackup(AppError):
    """The backup was made by a newer program."""


@dataclass(frozen=True)
class Restored:
    """What was brought back, and where the database of before is now; empty when there was none."""

    note: Note
    kept: str


def read_backup(source: Path) -> Note:
    """What a backup holds; raises when it is damaged, none, or of a newer program."""
    note = read_note(source)
    if note.schema not in known_revisions():
        raise NewerBackup(
            f"{source}: was made by a newer version of skidbook ({note.version}, schema {note.schema}); "
            "update the program, nothing was changed"
        )
    return note


def prove(source: Path, folder: Path) -> tuple[Note, Path]:
    """Unpack a backup into a folder, prove it whole, and bring it to the schema of this program.

    Raises
    ------
    FileProblem
        When anything is not as the backup says.
    """
    note = read_backup(source)
    database = folder / "restored.db"
    unpack(source, note, database)
    if problems := problems_of(database):
        raise FileProblem(str(source), f"holds a damaged database ({problems[0]}); nothing was changed")
    found = _rows(database, set(note.rows))
    if found != note.rows:
        wrong = next(name for name in note.rows if found.get(name) != note.rows[name])
        what = f"should hold {note.rows[wrong]} rows of {wrong}, but holds {found.get(wrong)}; nothing was changed"
        raise FileProblem(str(source), what, expected=EXPECTED)
    engine = make_engine(f"sqlite:///{database}")
    migrate(engine, keep_copy=False)
    engine.dispose()
    settle(database)
    return note, database


def _rows(database: Path, names: set[str]) -> dict[str, int]:
    engine = make_engine(f"sqlite:///{database}")
    with engine.connect() as connection:
        there = set(inspect(connection).get_table_names())
        found = {name: connection.scalar(text(f'SELECT count(*) FROM "{name}"')) or 0 for name in sorted(names & there)}
    engine.dispose()
    return found


def restore_backup(engine: Engine, source: Path) -> Restored:
    """Put the records of a backup in the place of the present ones.

    Raises
    ------
    InUse
        While a server, or anybody else, has the database.
    FileProblem
        When the backup cannot be used, or there is no room.
    """
    path = sqlite_path(engine)
    if path is None:
        return _restore_on_server(engine, source)
    engine.dispose()
    try:
        with (
            held(path, "skidbook restore"),
            tempfile.TemporaryDirectory(prefix=".skidbook-restore-", dir=path.resolve().parent) as folder,
        ):
            note, database = prove(source, Path(folder))
            return Restored(note, _swap(database, path))
    except (OSError, sqlite3.Error, DBAPIError) as error:
        raise cannot_write(path, error, WHAT) from error


def _swap(new: Path, present: Path) -> str:
    """Put the new database in place; at every moment one of the two stands under the name."""
    sync_file(new)
    kept = present.with_name(f"{present.name}.before-restore-{now():%Y%m%dT%H%M%S%fZ}")
    if present.exists():
        new.chmod(stat.S_IMODE(present.stat().st_mode))
        like(new, present)
        _set_free(present, kept)
        _second_name(present, kept)
    new.replace(present)
    sync_folder(present.resolve().parent)
    return str(kept) if kept.exists() else ""


def _set_free(present: Path, kept: Path) -> None:
    """Make sure that nobody has the present database open, and that it is one file, if it can be read at all.

    Where it cannot, its journals are kept with it: SQLite might drop them, and they must not meet another database.
    """
    tails = [tail for tail in TAILS if present.with_name(present.name + tail).exists()]
    for tail in tails:
        _second_name(present.with_name(present.name + tail), kept.with_name(kept.name + tail), copy=True)
    unreadable = False
    try:
        settle(present)
    except sqlite3.DatabaseError as error:
        busy = getattr(error, "sqlite_errorcode", 0) & 0xFF in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED)
        unreadable = not busy
        if busy:
            raise InUse(f"{present} is in use by another program; stop that one first. Nothing was changed") from error
    finally:
        gone = present if unreadable else kept
        for tail in tails:
            gone.with_name(gone.name + tail).unlink(missing_ok=True)


def _second_name(present: Path, kept: Path, *, copy: bool = False) -> None:
    """Give a file a second name; where the file system has none, a copy or a new name."""
    try:
        os.link(present, kept)
    except OSError:
        if copy:
            shutil.copyfile(present, kept)
        else:
            present.rename(kept)


def _restore_on_server(engine: Engine, source: Path) -> Restored:
    """On PostgreSQL all of it is one transaction: what is there moves into a schema of its own."""
    with tempfile.TemporaryDirectory(prefix="skidbook-restore-") as folder:
        note, database = prove(source, Path(folder))
        proven = make_engine(f"sqlite:///{database}")
        with engine.begin() as target, proven.connect() as rows:
            _must_be_alone(target)
            kept = _move_aside(target)
            alembic_upgrade(target)
            copied = copy_rows(rows, target)
            if copied != count_rows(rows) or copied != count_rows(target):
                raise AppError("not every row arrived in the database; nothing was changed")
        proven.dispose()
    return Restored(note, kept)


def _must_be_alone(target: Connection) -> None:
    others = target.scalar(
        text(
            "SELECT count(*) FROM pg_stat_activity WHERE datname = current_database() "
            "AND pid <> pg_backend_pid() AND backend_type = 'client backend'"
        )
    )
    if others:
        raise InUse(f"the database has {others} other connections; stop the server first. Nothing was changed")


def _move_aside(target: Connection) -> str:
    """Rename the schema with what is there, if anything, and begin an empty one of its name."""
    if not inspect(target).get_table_names():
        return ""
    schema = str(target.scalar(text("SELECT current_schema()")))
    kept = f"before_restore_{now():%Y%m%d_%H%M%S}"
    quoted = target.dialect.identifier_preparer.quote(schema)
    target.execute(text(f"ALTER SCHEMA {quoted} RENAME TO {kept}"))
    target.execute(text(f"CREATE SCHEMA {quoted}"))
    return f"schema {kept}"
