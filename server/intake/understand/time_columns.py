"""What speaks for a column as one of dates, of clock times, of AM and PM, or of shifts."""

import itertools
import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from server.intake.header_rows import NAMELESS, cell_text
from server.intake.moments import HALVES, ORDERS, Moment, plain_text, read_clock, read_moment
from server.intake.numerals import is_ditto
from server.intake.rows import Cell, Row, cell_at
from server.intake.understand.facets import UNIT_OF_MEASURE, Facets, facets_of
from server.intake.understand.shifts import are_spans, shift_hours
from server.intake.understand.trains import own_number
from server.intake.understand.words import facet_of, words_of

SOME = 0.2
"""Share of the cells of a column that must be times for one that is named so."""
ENOUGH = 0.6
"""The same for one that is not."""
ZONE = re.compile(r"\b(utc|gmt|zulu)\b(?!\s*[+-]?\s*[1-9])", re.IGNORECASE)
_SPANS = frozenset((
    "run", "running", "elapsed", "duration", "downtime", "operating", "runtime", "on", "off", "dauer", "laufzeit",
    "duree", "marcha", "marche", "down",
))  # fmt: skip
"""Words beside "time" that make it a span."""
_MINUTES = frozenset(("m", "min", "mins", "mn", "minute", "minutes", "minuten", "minuto", "minutos", "minuti"))
"""Names of a column of minutes of the hour."""
_HOURS = frozenset(("h", "hr", "hrs", "hour", "hours", "stunde", "std", "uhr", "heure", "hora", "ora", "uur"))
"""Names of a column of hours of the day, where nothing else stands in the name."""


@dataclass(frozen=True)
class TimeColumn:
    """What a column looks like: shares of its cells that are dates, dates with clock times, clock times."""

    number: int
    named: bool
    says_time: bool
    filled: int
    dates: float
    with_clock: float
    clocks: float


def look_at(names: Sequence[str], rows: Sequence[Row]) -> list[TimeColumn]:
    """What each column looks like."""
    return [_look(number, name, rows) for number, name in enumerate(names)]


def says(name: str, what: str) -> bool:
    """Whether a name has a word for something that is measured (or for time, shift)."""
    return any(facet_of(word) == ("measure", what) for word in words_of(name))


def _look(number: int, name: str, rows: Sequence[Row]) -> TimeColumn:
    facets = facets_of(name)
    cells = [cell for row in rows if (cell := cell_at(row, number)) is not None and not is_ditto(cell)]
    hour = bool(cells) and name.strip(" .:").lower() in _HOURS and all(map(_is_hour, cells))
    measured = (
        not hour
        and not _is_stamp(facets)
        and (bool(facets.unit or facets.unknown_unit) or facets.measure in UNIT_OF_MEASURE)
    )
    says_time = hour or (not measured and says(name, "time") and not _SPANS & set(facets.words))
    named = says_time or (not measured and says(name, "date"))
    if not cells:
        return TimeColumn(number, named, says_time, 0, 0.0, 0.0, 0.0)
    filled, cells = len(cells), cells[:: max(1, len(cells) // 500)]
    moments = [moment for cell in cells if (moment := _moment(cell, named)) is not None]
    clocks = [] if measured else [cell for cell in cells if _looks_like_clock(cell, says_time)]
    with_clock = sum(moment.has_clock for moment in moments)
    count = len(cells)
    return TimeColumn(number, named, says_time, filled, len(moments) / count, with_clock / count, len(clocks) / count)


def _is_stamp(facets: Facets) -> bool:
    """Whether milliseconds behind a word for time are a time stamp, and not millisiemens."""
    return facets.unit == "mS/cm" and any(facet_of(word) == ("measure", "time") for word in facets.words)


def _is_hour(cell: Cell) -> bool:
    """Whether a cell is the hour of a day, as the column "Hour" has it; counters of hours run soon go beyond."""
    if isinstance(cell, str) and cell.isdigit():
        return int(cell) <= 24
    return read_clock(cell) is not None and (not isinstance(cell, float) or cell <= 24)


def _moment(cell: Cell, named: bool) -> Moment | None:
    """Numbers are dates only in a column that is named so."""
    plain_number = isinstance(cell, float) or (isinstance(cell, str) and re.fullmatch(r"[\d.,]+", cell) is not None)
    if plain_number and not named and not (isinstance(cell, str) and _written(cell)):
        return None
    if isinstance(cell, date) and cell.year <= 1900:
        return None
    return next((moment for order in ORDERS if (moment := read_moment(cell, order)) is not None), None)


def _written(cell: str) -> bool:
    return re.fullmatch(r"\d{1,2}\.\d{1,2}\.\d{2,4}|\d{4}\.\d{1,2}\.\d{1,2}", cell) is not None


def _looks_like_clock(cell: Cell, says_time: bool) -> bool:
    if isinstance(cell, time) or (isinstance(cell, datetime) and cell.year <= 1900):
        return True
    if isinstance(cell, str) and (":" in cell or re.search(r"[ap]\.?m|\dh", cell.lower())):
        return read_clock(cell) is not None
    return says_time and read_clock(cell) is not None


def best_date(columns: Sequence[TimeColumn], names: Sequence[str], chosen: str, train: str) -> TimeColumn | None:
    """The column of dates: the one that a person chose, else the one for which most speaks."""
    if chosen in names:
        return columns[list(names).index(chosen)]
    dated = [column for column in columns if column.dates >= ENOUGH]
    if not dated:
        dated = [column for column in columns if column.named and column.dates > SOME]
    owners = {column.number: facets_of(f"{names[column.number]} x").owner for column in dated}
    ours = own_number(train, set(owners.values()) - {""})
    return max(
        dated,
        key=lambda c: (
            owners[c.number] in ("", ours), round(c.dates, 1), c.named, c.filled > 1, c.with_clock, -c.number
        ),
        default=None,
    )  # fmt: skip


def best_clock(columns: Sequence[TimeColumn], names: Sequence[str], dated: TimeColumn) -> TimeColumn | None:
    """The column of clock times beside that of the dates: by the local clock where there are two.

    One that is named so and full of something else is it too: its cells become problems of their rows, which is
    better than readings at a time that nobody said.
    """
    others = [c for c in columns if c.number != dated.number and c.dates < ENOUGH]
    clocks = [c for c in others if c.clocks >= ENOUGH]
    if not clocks:
        clocks = [c for c in others if c.says_time and c.filled >= ENOUGH * dated.filled]
    return min(
        clocks,
        key=lambda c: (not c.named, ZONE.search(names[c.number]) is not None, abs(c.number - dated.number)),
        default=None,
    )


def half_column(columns: Sequence[TimeColumn], rows: Sequence[Row], taken: Sequence[int]) -> int:
    """The column that says AM or PM, -1 where there is none."""
    for column in columns:
        if column.number in taken or not column.filled:
            continue
        cells = [cell for row in rows if (cell := cell_at(row, column.number)) is not None]
        if all(isinstance(cell, str) and plain_text(cell) in HALVES for cell in cells):
            return column.number
    return -1


def is_minutes(name: str, cells: Sequence[Cell]) -> bool:
    """Whether a column is named after minutes alone, and holds such numbers."""
    texts = [cell_text(cell) for cell in cells if cell is not None]
    named = name.strip(" .:").lower() in _MINUTES
    return named and bool(texts) and all(text.isdecimal() and int(text) < 60 for text in texts)


def half_missing(rows: Sequence[Row], dated: TimeColumn, clock: TimeColumn | None) -> str:
    """What looks like clock times of twelve hours that do not say which are after noon; "" where nothing does.

    No time is later than 12:59, and within a date they go back from one row to the next, or stand.
    """
    read = [
        (day, span) for row in _different(rows) for day, span in [_day_and_clock(row, dated, clock)] if span is not None
    ]
    several = [
        times
        for _, group in itertools.groupby(read, key=lambda pair: pair[0])
        if len(times := [span for _, span in group]) > 1
    ]
    fallen = [times for times in several if any(after < before for before, after in itertools.pairwise(times))]
    stands = [times for times in several if any(after == before for before, after in itertools.pairwise(times))]
    back = [times for times in several if times in fallen or (times in stands and len(stands) > 1)]
    down = [times for times in several if len(set(times)) > 1 and times == sorted(times, reverse=True)]
    noon = timedelta(hours=13)
    if any(span >= noon for _, span in read) or len(back) * 2 <= len(several) or down == back:
        return ""
    return (
        f"No time is later than 12:59, and on {len(back)} of {len(several)} dates the times go back from one row to "
        "the next, or stand: perhaps some are after noon and nothing says so."
    )


def _different(rows: Sequence[Row]) -> list[Row]:
    """Rows that are not the very same as the one before."""
    return [
        row for before, row in zip([None, *rows], rows, strict=False) if before is None or before.cells != row.cells
    ]


def _day_and_clock(row: Row, dated: TimeColumn, clock: TimeColumn | None) -> tuple[object, timedelta | None]:
    """Date and time of day of a row, in two columns or in one."""
    cell = cell_at(row, dated.number)
    if clock is not None:
        return cell, read_clock(cell_at(row, clock.number))
    moment = next((found for order in ORDERS if (found := read_moment(cell, order)) is not None), None)
    if moment is None or not moment.has_clock or moment.at.tzinfo is not None or isinstance(cell, float | datetime):
        return cell, None
    if isinstance(cell, str) and re.search(r"\d\s*[ap]\.?m|t\d", plain_text(cell)):
        return cell, None
    return moment.at.date(), moment.at - datetime.combine(moment.at.date(), time())


def shift_column(
    columns: Sequence[TimeColumn], names: Sequence[str], rows: Sequence[Row], dated: TimeColumn, half: int
) -> tuple[TimeColumn | None, dict[str, str]]:
    """A column with the name of the shift (or AM and PM alone), where a date comes with several of them."""
    for column in columns:
        texts = [cell_text(cell) for row in rows if (cell := cell_at(row, column.number)) is not None]
        nameless = names[column.number].startswith(NAMELESS) and bool(texts) and all(shift_hours(texts).values())
        is_shift = says(names[column.number], "shift") or column.number == half or are_spans(texts) or nameless
        if column.number == dated.number or not is_shift:
            continue
        dates = {cell_at(row, dated.number) for row in rows}
        hours = shift_hours(texts) if len(dates) < len(texts) else {}
        if hours:
            return column, hours
    return None, {}
