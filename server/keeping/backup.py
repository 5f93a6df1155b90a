"""Make a backup of the records while they are in use."""

import sqlite3
import tempfile
from pathlib import Path

from sqlalchemy import Engine
from sqlalchemy.exc import DBAPIError

import analytics
from server.db import make_engine, now
from server.errors import FileProblem
from server.keeping.archive import FORMAT, Note, read_note, write_archive
from server.keeping.copying import copy_rows, count_rows
from server.keeping.sqlite_files import appearing, cannot_write, copy_database, problems_of, settle, sqlite_path
from server.schema import head, migrate, require_current

WHAT = "the backup"


def make_backup(engine: Engine, target: Path) -> Note:
    """Write a backup of the records as they are at one instant; the file appears whole, or not at all.

    Raises
    ------
    FileProblem
        When it cannot be written, when `target` is something else than a backup, or when the records are damaged.
    """
    require_current(engine)
    if target.exists():
        _must_be_a_backup(target)
    try:
        with tempfile.TemporaryDirectory(prefix=".skidbook-backup-", dir=target.resolve().parent) as folder:
            return _write(engine, target, Path(folder) / "copy.db")
    except (OSError, sqlite3.Error, DBAPIError) as error:
        raise cannot_write(target, error, WHAT) from error


def _must_be_a_backup(target: Path) -> None:
    try:
        read_note(target)
    except FileProblem as error:
        raise FileProblem(str(target), "is there and is no backup; it was left alone", expected="a new name") from error


def _write(engine: Engine, target: Path, copy: Path) -> Note:
    path = sqlite_path(engine)
    if path is not None:
        copy_database(path, copy)
    else:
        _copy_from_server(engine, copy)
    if problems := problems_of(copy):
        raise FileProblem(str(path or copy), f"the database is damaged ({problems[0]}); no backup was made")
    kept = make_engine(f"sqlite:///{copy}")
    with kept.connect() as connection:
        rows = count_rows(connection)
    kept.dispose()
    settle(copy)
    note = Note(FORMAT, analytics.__version__, head(), engine.dialect.name, now().isoformat(), "", 0, rows)
    with appearing(target, WHAT) as scratch:
        write_archive(scratch, copy, note)
    return read_note(target)


def _copy_from_server(engine: Engine, copy: Path) -> None:
    """Copy table by table within one snapshot, into an SQLite database that the migrations build."""
    kept = make_engine(f"sqlite:///{copy}")
    migrate(kept)
    snapshot = {"isolation_level": "REPEATABLE READ", "postgresql_readonly": True}
    with engine.connect().execution_options(**snapshot) as source, kept.begin() as target:
        copy_rows(source, target)
    kept.dispose()
