"""Bring the schema of a database up to this program's version, by the migrations and nothing else."""

from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, Engine

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


def migrate(engine: Engine) -> bool:
    """Bring the schema up to date in one transaction; True when anything had to be done.

    Raises
    ------
    NewerSchema
        When the database is at a version that this program does not know.
    """
    with engine.begin() as connection:
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
