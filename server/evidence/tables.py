"""The tables of the record as CSV: every table that speaks of a train, so that none is forgotten."""

import csv
import io
from collections.abc import Iterator, Mapping
from datetime import datetime
from typing import Any

import orjson
from sqlalchemy import Column, LargeBinary, Table, select
from sqlalchemy.orm import Session

from server.cleanings.models import Cleaning, CleaningPhoto, CleaningRevision
from server.elements.models import Element, ElementStay, ElementWeight
from server.readings.models import Reading, ReadingRevision
from server.security.spreadsheets import plain_cell
from server.tables import metadata

ROWS_AT_ONCE = 5_000
LEFT_OUT = ("assessments", "train_settings")
"""Told elsewhere in the file as documents."""


def tables_of_train() -> Mapping[str, Table]:
    """Tables whose rows belong to one train, by name."""
    return {
        name: table
        for name, table in sorted(metadata.tables.items())
        if "train_id" in table.columns and name not in LEFT_OUT
    }


def rows_of_train(session: Session, table: Table, train_id: int) -> Iterator[bytes]:
    """A table of one train as pieces of CSV; binary columns stay out."""
    yield from _pieces(session, table, _told(table), table.c.train_id == train_id)


def revisions_of_train(session: Session, train_id: int) -> Iterator[bytes]:
    """Older versions of the readings of a train."""
    table = metadata.tables[ReadingRevision.__tablename__]
    readings = select(Reading.id).where(Reading.train_id == train_id)
    yield from _pieces(session, table, _told(table), table.c.reading_id.in_(readings))


def rows_of_cleanings(
    session: Session, model: type[CleaningRevision | CleaningPhoto], train_id: int
) -> Iterator[bytes]:
    """Older versions, or photos without their bytes, of the cleanings of a train."""
    table = metadata.tables[model.__tablename__]
    cleanings = select(Cleaning.id).where(Cleaning.train_id == train_id)
    yield from _pieces(session, table, _told(table), table.c.cleaning_id.in_(cleanings))


def elements_of_train(session: Session, train_id: int) -> Iterator[bytes]:
    """Elements that lie or lay in a train."""
    table = metadata.tables[Element.__tablename__]
    stays = select(ElementStay.element_id).where(ElementStay.train_id == train_id)
    yield from _pieces(session, table, _told(table), table.c.id.in_(stays))


def weights_of_train(session: Session, train_id: int) -> Iterator[bytes]:
    """Weights of these elements."""
    table = metadata.tables[ElementWeight.__tablename__]
    stays = select(ElementStay.element_id).where(ElementStay.train_id == train_id)
    yield from _pieces(session, table, _told(table), table.c.element_id.in_(stays))


def _told(table: Table) -> list[Column[Any]]:
    return [column for column in table.columns if not isinstance(column.type, LargeBinary)]


def _pieces(session: Session, table: Table, columns: list[Column[Any]], where: Any) -> Iterator[bytes]:
    yield _lines([[column.name for column in columns]])
    query = select(*columns).where(where).order_by(*table.primary_key.columns)
    for rows in session.execute(query.execution_options(yield_per=ROWS_AT_ONCE)).partitions():
        yield _lines([[_cell(value) for value in row] for row in rows])


def _lines(rows: list[list[Any]]) -> bytes:
    out = io.StringIO()
    csv.writer(out).writerows(rows)
    return out.getvalue().encode()


def _cell(value: Any) -> Any:
    """A value as a cell: times in ISO 8601 with UTC, documents as JSON, words that stay words."""
    if isinstance(value, datetime):
        return value.isoformat()
    if isinstance(value, dict | list):
        return orjson.dumps(value).decode()
    return plain_cell(value) if isinstance(value, str) else value
