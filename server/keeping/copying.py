"""All rows from one database into another, whatever the engines: how PostgreSQL is backed up and restored."""

from sqlalchemy import Connection, Table, func, insert, select, text

from server.tables import metadata

ROWS_AT_ONCE = 2_000


def copy_rows(source: Connection, target: Connection) -> dict[str, int]:
    """Copy every table into an empty database of the same schema; returns the rows by table."""
    counts: dict[str, int] = {}
    reading = source.execution_options(yield_per=ROWS_AT_ONCE)
    for table in metadata.sorted_tables:
        counts[table.name] = 0
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
