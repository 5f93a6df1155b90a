"""Bring the schema of a database up to this program's version, by the migrations and nothing else."""

import logging
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, Engine, text
from sqlalchemy.exc import DBAPIError

import migrations
from server.db import now
from server.errors import AppError
from server.keeping.sqlite_files import appearing, copy_database, sqlite_path

LOG = logging.getLogger("skidbook")
MIGRATION_LOCK = 0x736B6964
"""Any number that no other program uses for an advisory lock in the same database."""


class NewerSchema(AppError):
    """The database was written by a newer program."""


def alembic_config(connection: Connection) -> Config:
    """Alembic's configuration for one open connection."""
    config = Config()
    config.set_main_option("script_location", str(Path(migrations.__file__).parent))
    config.attributes["connection"] = connection
    return config


class CannotOpen(AppError):
    """The database is not there, is busy, or is none."""


@contextmanager
def _opened(engine: Engine) -> Iterator[None]:
    """Say in one line when a database cannot be opened."""
    try:
        yield
    except DBAPIError as error:
        where = engine.url.render_as_string(hide_password=True)
        raise CannotOpen(f"{where}: the database cannot be opened ({error.orig})") from error


class NoLogbook(AppError):
    """The database has no tables of this program yet, or those of an older version."""


def require_current(engine: Engine) -> None:
    """Raise `NoLogbook` when the schema is not up to date; an SQLite file is not made by asking."""
    where, todo = engine.url.render_as_string(hide_password=True), "run: skidbook migrate"
    path = engine.url.database
    in_a_file = engine.dialect.name == "sqlite" and path and not path.startswith((":memory:", "file:"))
    if in_a_file and not Path(str(path)).exists():
        raise NoLogbook(f"there is no logbook at {where} yet; {todo}")
    with _opened(engine), engine.connect() as connection:
        script = ScriptDirectory.from_config(alembic_config(connection))
        found = set(MigrationContext.configure(connection).get_current_heads())
    if found != set(script.get_heads()):
        raise NoLogbook(f"{where} is not at this version of the program; {todo}")


def head() -> str:
    """The version of the schema that this program works with."""
    (revision,) = _script().get_heads()
    return revision


def known_revisions() -> set[str]:
    """Every version of the schema that this program can bring up to date."""
    return {revision.revision for revision in _script().walk_revisions()}


def _script() -> ScriptDirectory:
    config = Config()
    config.set_main_option("script_location", str(Path(migrations.__file__).parent))
    return ScriptDirectory.from_config(config)


def alembic_upgrade(connection: Connection) -> None:
    """Run all migrations that are missing, within the transaction of a connection."""
    command.upgrade(alembic_config(connection), "head")


def migrate(engine: Engine, *, keep_copy: bool = True) -> bool:
    """Bring the schema up to date in one transaction; True when anything had to be done.

    Processes that start together wait for each other. An SQLite database that holds something is copied first, and
    the copy stays beside it.

    Raises
    ------
    NewerSchema
        When the database is at a version that this program does not know.
    """
    with _opened(engine), engine.begin() as connection:
        if engine.dialect.name == "postgresql":
            connection.execute(text("SELECT pg_advisory_xact_lock(:number)"), {"number": MIGRATION_LOCK})
        config = alembic_config(connection)
        script = ScriptDirectory.from_config(config)
        found = MigrationContext.configure(connection).get_current_heads()
        known = {revision.revision for revision in script.walk_revisions()}
        for revision in found:
            if revision not in known:
                raise NewerSchema(
                    f"{engine.url.database}: written by a newer version of skidbook (schema {revision}); "
                    "update the program, nothing was changed"
                )
        if set(found) == set(script.get_heads()):
            return False
        if found and keep_copy:
            _keep_copy(engine, found[0])
        alembic_upgrade(connection)
        return True


def _keep_copy(engine: Engine, revision: str) -> None:
    """Copy an SQLite database as it is before its schema changes; the caller holds the write lock."""
    path = sqlite_path(engine)
    if path is None:
        return
    kept = path.with_name(f"{path.name}.before-upgrade-{revision}-{now():%Y%m%dT%H%M%SZ}")
    with appearing(kept, "the copy before an upgrade") as scratch:
        copy_database(path, scratch)
    LOG.warning("the database is brought to a new version; it was copied first, to %s", kept)
