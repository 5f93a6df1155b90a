"""All rows from one database into another, whatever the engines: how PostgreSQL is backed up and restored."""

from sqlalchemy import Connection, LargeBinary, Table, func, insert, select, text

from server.tables import metadata

ROWS_AT_ONCE = 2_000
BYTES_ROWS_AT_ONCE = 20
"""Of tables that hold files and pictures, whose rows are large."""


def copy_rows(source: Connection, target: Connection) -> dict[str, int]:
    """Copy every table into an empty database of the same schema; returns the rows by table."""
    counts: dict[str, int] = {}
    for table in metadata.sorted_tables:
        counts[table.name] = 0
        reading = source.execution_options(yield_per=_rows_at_once(table))
        rows = reading.execute(select(table).order_by(*table.primary_key.columns))
        for part in rows.partitions():
            target.execute(insert(table), [dict(row._mapping) for row in part])
            counts[table.name] += len(part)
        if target.dialect.name == "postgresql":
            _go_on_counting(target, table)
    return counts


def count_rows(connection: Connection) -> dict[str, int]:
    """Rows by table."""
    return {t.name: connection.scalar(select(func.count()).select_from(t)) or 0 for t in metadata.sorted_tables}


def _rows_at_once(table: Table) -> int:
    holds_bytes = any(isinstance(column.type, LargeBinary) for column in table.columns)
    return BYTES_ROWS_AT_ONCE if holds_bytes else ROWS_AT_ONCE


def _go_on_counting(target: Connection, table: Table) -> None:
    """Let PostgreSQL number new rows after those that were copied."""
    if list(table.primary_key.columns.keys()) != ["id"]:
        return
    sequence = target.scalar(text("SELECT pg_get_serial_sequence(:name, 'id')"), {"name": f'"{table.name}"'})
    if sequence:
        last = target.scalar(select(func.max(table.c.id)))
        target.execute(
            text("SELECT setval(CAST(:name AS regclass), :last, :used)"),
            {"name": sequence, "last": last or 1, "used": last is not None},
        )
