"""The database: engine, types, and the one transaction of each request.

Nobody but `transaction` commits. SQLite runs in WAL mode; a session that will write takes the write lock when it
begins, because a reader that turns writer halfway fails at once when somebody else has committed in between.
"""

import sqlite3
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from itertools import islice
from typing import Any

import orjson
from fastapi import Request
from sqlalchemy import (
    BigInteger,
    Connection,
    DateTime,
    Dialect,
    Engine,
    Integer,
    MetaData,
    Text,
    TypeDecorator,
    create_engine,
    event,
    insert,
)
from sqlalchemy.dialects import sqlite as sqlite_dialect
from sqlalchemy.engine import make_url
from sqlalchemy.exc import ArgumentError, DBAPIError
from sqlalchemy.orm import DeclarativeBase, Session
from sqlalchemy.pool import ConnectionPoolEntry

from server.errors import AppError
from server.faults import store_fault

BUSY_TIMEOUT_MS = 15_000
ROWS_AT_ONCE = 1_000
AFTER_COMMIT = "after commit"
DRIVERS = {
    "sqlite": "sqlite",
    "postgres": "postgresql+psycopg",
    "postgresql": "postgresql+psycopg",
    "postgresql+psycopg": "postgresql+psycopg",
}
"""The databases that are spoken to, by the first word of their address."""

NAMING_CONVENTION = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
    "pk": "pk_%(table_name)s",
}

SQLITE_TIME = sqlite_dialect.DATETIME(  # type: ignore[no-untyped-call]
    storage_format="%(year)04d-%(month)02d-%(day)02dT%(hour)02d:%(minute)02d:%(second)02d.%(microsecond)06d"
)

LargeId = BigInteger().with_variant(Integer, "sqlite")
"""Key of a table that may outgrow two thousand million rows; SQLite numbers rows by itself only as INTEGER."""


class Base(DeclarativeBase):
    metadata = MetaData(naming_convention=NAMING_CONVENTION)


class UtcTime(TypeDecorator[datetime]):
    """An instant, kept in UTC and given back with its zone on every engine. Times without a zone are refused."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def load_dialect_impl(self, dialect: Dialect) -> Any:
        kept = SQLITE_TIME if dialect.name == "sqlite" else DateTime(timezone=True)
        return dialect.type_descriptor(kept)

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError(f"{value} has no time zone")
        return value.astimezone(UTC)

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)


def json_text(value: Any) -> str:
    """Write a document as JSON text; NaN becomes null."""
    return orjson.dumps(value, option=orjson.OPT_SERIALIZE_NUMPY).decode()


class Json(TypeDecorator[Any]):
    """A document kept as JSON text, the same on every engine."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: Any, dialect: Dialect) -> str | None:
        return None if value is None else json_text(value)

    def process_result_value(self, value: str | None, dialect: Dialect) -> Any:
        return None if value is None else orjson.loads(value)


def now() -> datetime:
    """This instant, in UTC."""
    return datetime.now(UTC)


class WrongAddress(AppError):
    """An address that is not one of a database."""


def make_engine(url: str) -> Engine:
    """Open a database; `postgresql://` is spoken with psycopg."""
    expected = "expected sqlite:///FILE or postgresql://USER@HOST/NAME"
    try:
        parsed = make_url(url)
    except ArgumentError as error:
        raise WrongAddress(f'SKIDBOOK_DATABASE_URL: "{url}" is no address of a database; {expected}') from error
    driver = DRIVERS.get(parsed.drivername)
    if driver is None:
        raise WrongAddress(f'SKIDBOOK_DATABASE_URL: "{parsed.drivername}" is not a database known here; {expected}')
    parsed = parsed.set(drivername=driver)
    if driver != "sqlite":
        return create_engine(parsed, pool_pre_ping=True, hide_parameters=True)
    engine = create_engine(parsed, connect_args={"timeout": BUSY_TIMEOUT_MS / 1000}, hide_parameters=True)
    event.listen(engine, "connect", _prepare_sqlite)
    event.listen(engine, "begin", _begin_sqlite)
    return engine


def _prepare_sqlite(connection: sqlite3.Connection, _record: ConnectionPoolEntry) -> None:
    connection.isolation_level = None  # `_begin_sqlite` begins, not the driver
    # An acknowledged write must outlive the power: FULL waits for the disk at every commit, also in WAL mode.
    connection.execute(f"PRAGMA busy_timeout = {BUSY_TIMEOUT_MS}").close()
    _write_ahead(connection)
    for setting in (
        "foreign_keys = ON",
        "synchronous = FULL",
        "cache_size = -65536",
    ):
        connection.execute(f"PRAGMA {setting}").close()


def _write_ahead(connection: sqlite3.Connection) -> None:
    """Keep a write-ahead log. Where several open a new database at once, SQLite refuses the change without waiting."""
    until = time.monotonic() + BUSY_TIMEOUT_MS / 1000
    while True:
        try:
            connection.execute("PRAGMA journal_mode = WAL").close()
        except sqlite3.OperationalError as error:
            if error.sqlite_errorcode != sqlite3.SQLITE_BUSY or time.monotonic() > until:
                raise
            time.sleep(0.02)
        else:
            return


def _begin_sqlite(connection: Connection) -> None:
    writes = connection.get_execution_options().get("writes", True)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


@contextmanager
def transaction(engine: Engine, *, writes: bool = True) -> Iterator[Session]:
    """One session that is committed at the end, or rolled back when anything is raised.

    Raises
    ------
    StoreFault
        When the store is busy, full, read only, damaged or does not answer; nothing was saved then.
    """
    try:
        with Session(engine.execution_options(writes=writes), expire_on_commit=False) as session, session.begin():
            yield session
    except (DBAPIError, sqlite3.Error) as error:
        fault = store_fault(error)
        if fault is None:
            raise
        raise fault from error
    for call in session.info.get(AFTER_COMMIT, ()):
        call()


def insert_rows(session: Session, model: type[Base], rows: Iterable[dict[str, Any]]) -> None:
    """Insert many rows through their table, part by part: through the model it takes half as long again, and all rows
    at once are many more objects for Python to walk through."""
    table, waiting = model.metadata.tables[model.__tablename__], iter(rows)
    while part := list(islice(waiting, ROWS_AT_ONCE)):
        session.execute(insert(table), part)


def after_commit(session: Session, call: Callable[[], None]) -> None:
    """Call something when the transaction of a session stands, and not at all when it does not."""
    session.info.setdefault(AFTER_COMMIT, []).append(call)


def get_session(request: Request) -> Iterator[Session]:
    """Give a request its one transaction.

    Use as `Depends(get_session, scope="function")`: then the commit comes before the response is sent.
    """
    with transaction(request.app.state.engine, writes=request.method not in {"GET", "HEAD"}) as session:
        session.info["request"] = request  # says who writes, see server.audit.author
        yield session
