"""Copies of SQLite databases, and files that appear whole or not at all.

A database is only ever opened through sqlite3: closing a plain handle on it would drop the locks of this process.
"""

import os
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from urllib.parse import quote

from sqlalchemy import Engine

from server.errors import FileProblem

WAIT_S = 60.0


def sqlite_path(engine: Engine) -> Path | None:
    """The file that an engine keeps its records in; None where they are not in one."""
    name = engine.url.database
    if engine.dialect.name != "sqlite" or not name or name.startswith((":memory:", "file:")):
        return None
    return Path(name)


def copy_database(source: Path, target: Path) -> None:
    """Copy a database as it is at one instant, also while others write; the copy is one file without a journal."""
    address = f"file:{quote(str(source.resolve()))}?mode=ro"
    with closing(sqlite3.connect(address, uri=True, timeout=WAIT_S)) as here, closing(sqlite3.connect(target)) as there:
        here.backup(there)  # in one step: one snapshot, which no writer can make start over
        there.execute("PRAGMA journal_mode = DELETE")
        there.execute("PRAGMA synchronous = FULL")


def settle(path: Path) -> None:
    """Bring a database into one file; raises `sqlite3.OperationalError` while anybody else has it open."""
    with closing(sqlite3.connect(f"file:{quote(str(path.resolve()))}?mode=rw", uri=True, timeout=1)) as database:
        database.execute("PRAGMA journal_mode = DELETE").fetchone()


def problems_of(path: Path, *, most: int = 10) -> list[str]:
    """What SQLite itself finds wrong with a database: damaged pages, and references that lead nowhere."""
    try:
        with closing(
            sqlite3.connect(f"file:{quote(str(path.resolve()))}?mode=rw", uri=True, timeout=WAIT_S)
        ) as database:
            found = [row[0] for row in database.execute(f"PRAGMA integrity_check({most})") if row[0] != "ok"]
            lost = database.execute("PRAGMA foreign_key_check").fetchmany(most)
    except sqlite3.Error as error:
        return [str(error)]
    return found + [
        f"{table}, row {row}: refers to a row of {parent} that is not there" for table, row, parent, _ in lost
    ]


@contextmanager
def appearing(target: Path, what: str) -> Iterator[Path]:
    """A scratch file beside `target` that takes its name, safely on the disk, when all went well."""
    try:
        handle, name = tempfile.mkstemp(prefix=f".{target.name}.", suffix=".part", dir=target.resolve().parent)
    except OSError as error:
        raise cannot_write(target, error, what) from error
    os.close(handle)
    scratch = Path(name)
    try:
        yield scratch
        sync_file(scratch)
        scratch.replace(target)
        sync_folder(target.resolve().parent)
    except (OSError, sqlite3.Error) as error:
        raise cannot_write(target, error, what) from error
    finally:
        for left in (scratch, *(scratch.with_name(f"{scratch.name}{tail}") for tail in ("-journal", "-wal", "-shm"))):
            left.unlink(missing_ok=True)


def cannot_write(target: Path, error: Exception, what: str) -> FileProblem:
    """The error to show when a file could not be written."""
    cause = getattr(error, "orig", None) or error
    why = cause.strerror if isinstance(cause, OSError) and cause.strerror else str(cause)
    return FileProblem(str(target), f"{what} cannot be written ({why}); nothing was changed")


def like(path: Path, other: Path) -> None:
    """Give a file the owner of another one, as far as this user may: root must not lock the server out."""
    if os.geteuid() == 0 and other.exists():
        found = other.stat()
        os.chown(path, found.st_uid, found.st_gid)


def sync_file(path: Path) -> None:
    """Wait until a file that is no open database is safely on the disk."""
    with path.open("rb") as stream:
        os.fsync(stream.fileno())


def sync_folder(path: Path) -> None:
    """Wait until the names in a folder are safely on the disk."""
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
