"""Alembic's entry: run the migrations on the connection it is given, or on the configured database."""

from typing import Any, Literal

from alembic import context
from alembic.autogenerate.api import AutogenContext
from sqlalchemy import Connection

from server.db import Json, UtcTime, make_engine
from server.settings import load_settings
from server.tables import metadata


def _plain_type(kind: str, item: Any, _context: AutogenContext) -> str | Literal[False]:
    """Write our own column types as what they are in the database, so that a migration never changes its meaning."""
    if kind == "type" and isinstance(item, UtcTime):
        return "sa.DateTime(timezone=True)"
    if kind == "type" and isinstance(item, Json):
        return "sa.Text()"
    return False


def run_migrations(connection: Connection) -> None:
    context.configure(
        connection=connection,
        target_metadata=metadata,
        compare_server_default=True,
        render_as_batch=True,
        render_item=_plain_type,
        transactional_ddl=True,
    )
    with context.begin_transaction():
        context.run_migrations()


def main() -> None:
    given = context.config.attributes.get("connection")
    if given is not None:
        run_migrations(given)
        return
    with make_engine(load_settings().database_url).begin() as connection:
        run_migrations(connection)


main()
