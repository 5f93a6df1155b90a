"""Is this server well: does it run, and can it work?"""

from dataclasses import dataclass

from sqlalchemy import Engine
from sqlalchemy.exc import DBAPIError

from server.errors import AppError
from server.schema import require_current

REACHED, CURRENT = "database", "schema"


@dataclass(frozen=True)
class Health:
    """`ready` when everything in `parts` is ok; each says ok, or what is wrong in a few words without any address."""

    ready: bool
    parts: dict[str, str]


def health_of(engine: Engine) -> Health:
    """Ask the database, and compare its schema with that of the program."""
    try:
        with engine.connect().execution_options(writes=False) as connection:
            connection.exec_driver_sql("SELECT 1")
    except (DBAPIError, AppError):
        return Health(False, {REACHED: "does not answer", CURRENT: "unknown"})
    try:
        require_current(engine)
    except AppError:
        return Health(False, {REACHED: "ok", CURRENT: "is of another version of the program"})
    return Health(True, {REACHED: "ok", CURRENT: "ok"})
