"""Bring the schema of a database up to this program's version, by the migrations and nothing else."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, Engine
from sqlalchemy.exc import DBAPIError

import migrations
from server.errors import AppError


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


def migrate(engine: Engine) -> bool:
    """Bring the schema up to date in one transaction; True when anything had to be done.

    Raises
    ------
    NewerSchema
        When the database is at a version that this program does not know.
    """
    with _opened(engine), engine.begin() as connection:
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
        command.upgrade(config, "head")
        return True
