"""Awkward tables come in right, or are refused with the right sentence."""

from zoneinfo import ZoneInfo

import pytest

from server.errors import FileProblem
from server.intake.canonical import read_readings
from server.intake.mapping_text import mapping_from_text
from server.intake.table import ReadingsTable
from server.intake.understand.compile import mapping_text
from server.intake.understand.find import understand
from server.intake.understand.understanding import Understanding
from tests.server.intake.tables.awkward import LATEST, Awkward
from tests.server.intake.tables.beside import BESIDE
from tests.server.intake.tables.cells import CELLS
from tests.server.intake.tables.columns import COLUMNS
from tests.server.intake.tables.days import DAYS
from tests.server.intake.tables.forms import FORMS
from tests.server.intake.tables.judged import JUDGED
from tests.server.intake.tables.languages import LANGUAGES
from tests.server.intake.tables.moments import MOMENTS
from tests.server.intake.tables.texts import TEXTS
from tests.server.intake.tables.workbooks import WORKBOOKS

TABLES = (*TEXTS, *FORMS, *CELLS, *WORKBOOKS, *DAYS, *COLUMNS, *LANGUAGES, *JUDGED, *MOMENTS, *BESIDE)


def _understood(table: Awkward) -> Understanding:
    return understand(table.data, file=table.file, known=table.known)


def _read(table: Awkward, found: Understanding) -> ReadingsTable:
    text = mapping_text(found, table.says, site_zone=table.zone)
    mapping = mapping_from_text(text, file="mapping")
    return read_readings(table.data, timezone=table.zone, filename=table.file, mapping=mapping, latest=LATEST)


@pytest.mark.parametrize("table", [t for t in TABLES if t.refused], ids=lambda table: table.name)
def test_it_is_refused_in_words(table: Awkward) -> None:
    with pytest.raises(FileProblem) as refused:
        _understood(table)
    assert table.refused in refused.value.message


@pytest.mark.parametrize("table", [t for t in TABLES if t.unreadable], ids=lambda table: table.name)
def test_it_is_refused_when_read(table: Awkward) -> None:
    found = _understood(table)
    with pytest.raises(FileProblem) as refused:
        _read(table, found)
    assert table.unreadable in refused.value.message


@pytest.mark.parametrize(
    "table", [t for t in TABLES if not t.refused and not t.unreadable], ids=lambda table: table.name
)
def test_it_comes_in_right(table: Awkward) -> None:
    found = _understood(table)
    asked = [question for question in found.questions if not any(part in question for part in table.asks)]
    assert asked == [] and len(found.questions) == len(table.asks)
    typed = {column.name: column.typed for column in found.columns}
    assert {name: typed[name] for name in table.columns} == table.columns
    if table.layout != type(table.layout)():
        found = understand(table.data, file=table.file, known=table.known, choices=table.layout)
    read = _read(table, found)
    told = [(p.row, p.column, p.text) for p in read.problems]
    assert len(told) == len(table.problems)
    for (row, column, part), (told_row, told_column, text) in zip(table.problems, told, strict=True):
        assert (row, column) == (told_row, told_column) and part in text
    notes = "\n".join([*found.notes, *read.notes])
    assert [part for part in table.notes if part not in notes] == []
    if table.count is not None:
        assert len(read.frame) == table.count
    _compare(table, read)


def _compare(table: Awkward, read: ReadingsTable) -> None:
    local = read.frame.index.tz_convert(ZoneInfo(table.zone)).strftime("%Y-%m-%dT%H:%M")
    for when, expected in table.rows.items():
        assert when in list(local), f"{when} is not among {list(local)}"
        row = read.frame.iloc[list(local).index(when)]
        for name, value in expected.items():
            assert name in row.index, f"{name} is not among {list(row.index)}"
            close = pytest.approx(value, rel=1e-4) if isinstance(value, float | int) else value
            assert row[name] == close, (when, name)
