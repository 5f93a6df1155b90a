"""One server for one SQLite file. The lock goes with its process, however that ends."""

import fcntl
import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from server.errors import Conflict, FileProblem
from server.keeping.sqlite_files import like


class InUse(Conflict):
    """A server, or somebody who brings back a backup, has this database."""


@contextmanager
def held(database: Path | None, purpose: str) -> Iterator[None]:
    """Hold a database for one process; raises `InUse` when another one does. Nothing to do without a file."""
    if database is None:
        yield
        return
    path = database.with_name(f"{database.name}.lock")
    try:
        handle = os.open(path, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o644)
    except OSError as error:
        raise FileProblem(
            str(path), f"cannot be written ({error.strerror})", expected="a folder to write in"
        ) from error
    try:
        like(path, database)
        _take(handle, database)
        os.ftruncate(handle, 0)
        os.pwrite(handle, f"{os.getpid()} {purpose}\n".encode(), 0)
        yield
    finally:
        os.close(handle)  # gives the lock back; the file stays, removing it could part two holders


def _take(handle: int, database: Path) -> None:
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError as error:
        number, _, purpose = os.pread(handle, 200, 0).decode("utf-8", "replace").strip().partition(" ")
        who = f"process {number} ({purpose})" if number else "another process"
        raise InUse(f"{database} is in use by {who}; stop that one first. Nothing was changed") from error
