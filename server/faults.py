"""What can go wrong with the store, in words that a person can act on. In each case nothing was saved."""

import sqlite3

from sqlalchemy.exc import DBAPIError

from server.errors import AppError

RETRY_AFTER_S = 5


class StoreFault(AppError):
    """The store could not do what was asked; `kind` counts it in the metrics."""

    kind = "other"
    status_code = 503


class Busy(StoreFault):
    """Somebody else has been writing for longer than anybody should wait."""

    kind = "busy"


class DiskFull(StoreFault):
    """There is no room for what should be saved."""

    kind = "full"
    status_code = 507


class ReadOnly(StoreFault):
    """The store may be read only."""

    kind = "read only"


class Unreachable(StoreFault):
    """The store does not answer."""

    kind = "unreachable"


class Damaged(StoreFault):
    """The file of the store is not whole."""

    kind = "damaged"


WORDS: dict[type[StoreFault], str] = {
    Busy: "The logbook is busy: somebody else is saving something large. Nothing was saved; try again in a moment",
    DiskFull: "The disk of the server is full. Nothing was saved, and nothing that was saved before is lost; "
    "whoever runs this server must make room",
    ReadOnly: "The logbook can be read but not written. Nothing was saved; whoever runs this server must make its "
    "file or disk writable",
    Unreachable: "The database does not answer. Nothing was saved; try again in a moment",
    Damaged: "The file of the logbook is damaged. Nothing was saved; whoever runs this server should run: "
    "skidbook check",
}
# https://www.sqlite.org/rescode.html, primary codes
_SQLITE: dict[int, type[StoreFault]] = {
    sqlite3.SQLITE_BUSY: Busy,
    sqlite3.SQLITE_LOCKED: Busy,
    sqlite3.SQLITE_READONLY: ReadOnly,
    sqlite3.SQLITE_IOERR: Unreachable,
    sqlite3.SQLITE_CORRUPT: Damaged,
    sqlite3.SQLITE_FULL: DiskFull,
    sqlite3.SQLITE_CANTOPEN: Unreachable,
    sqlite3.SQLITE_NOTADB: Damaged,
}
# https://www.postgresql.org/docs/current/errcodes-appendix.html, whole codes and classes
_POSTGRESQL: dict[str, type[StoreFault]] = {
    "53100": DiskFull,
    "25006": ReadOnly,
    "40001": Busy,
    "40P01": Busy,
    "55P03": Busy,
    "57014": Busy,
    "53": Busy,
    "57": Unreachable,
    "08": Unreachable,
    "XX": Damaged,
}


def store_fault(error: BaseException) -> StoreFault | None:
    """The fault that an error of the database amounts to; None when the store itself is well.

    SQLite gives up the whole transaction when its disk is full, and the error that shows is then about a savepoint that
    is gone: what came before an error counts, too.
    """
    seen: BaseException | None = error
    while isinstance(seen, DBAPIError | sqlite3.Error):
        kind = _kind(seen)
        if kind is not None:
            return kind(WORDS[kind])
        seen = seen.__context__
    return None


def _kind(error: BaseException) -> type[StoreFault] | None:
    cause = error.orig if isinstance(error, DBAPIError) else error
    kind: type[StoreFault] | None = None
    if isinstance(cause, sqlite3.Error):
        kind = _SQLITE.get(getattr(cause, "sqlite_errorcode", 0) & 0xFF)
    elif isinstance(error, DBAPIError):
        state = getattr(cause, "sqlstate", None)
        if state:
            kind = _POSTGRESQL.get(state) or _POSTGRESQL.get(state[:2])
        elif error.connection_invalidated or type(cause).__name__ == "OperationalError":
            kind = Unreachable
    return kind
