"""Mappings: how the headers, times and gaps of a foreign log are to be read.

```toml
[file]                        # optional
encoding = "utf-8"
delimiter = ";"
decimal = ","
sheet = "Log"
skip_rows = 2
missing = ["Bad", "No data"]  # cells without a value, beside the usual ones

[time]
column = "Date"
format = "%d.%m.%Y %H:%M"     # optional, ISO 8601 when absent
timezone = "Europe/Lisbon"    # optional, that of the site when absent

[columns]
"RO-1 inlet press." = "feed_pressure [psi]"

[constants]
"permeate_pressure [psi]" = 20
```

A log as people keep it is read by `server.intake.tolerant`; that takes any of these as well:

```toml
[file]
tolerant = true               # units behind numbers, < and >, summary rows, headers that come again
thousands = "."
sheets = ["January", "February"]
header_rows = 2               # their cells are joined; 0 where there is none: columns are "column A", ...
skip_below = 1                # rows between the header and the first reading
sideways = true               # dates across the top: the columns of the file are read as rows
dates_above = true            # dates above the readings or as names of sheets; the column of times is "date above"
parts = "sheets"              # parts with other quantities of the same times: sheets, "times" (a column of them before
                              # each value), or the column that names the part of each row; they go before the names
trains_above = true           # several trains under each other, each below its name; that stands in "train above"
across = true                 # a column for each time of day or shift: they stand in "time across" or "shift across"

[time]
clock = "Hour"                # the time of day, where it stands in a column of its own
order = "day first"           # or "month first", "year first"
carried = true                # a date stands for the rows below it, too
year = 2024                   # of the first reading, where dates have none
half = "AM/PM"                # says whether the clock time is before noon or after, where it stands apart
month_column = "Month"        # where the column holds days alone: the columns of the month and of the year,
year_column = "Year"
minute = "Minute"             # the minutes, where they stand apart from the hour
noon_by_order = true          # of 12 hours, and nothing says which: after noon from where the times of a date go back
exchanged = true              # true dates of a workbook whose day and month were exchanged when it was opened
day = "2024-06-12"            # of the first reading, where the file has times of day alone (column = their column)
months = ["2024-01"]          # or the month of the first reading (of each of several sheets)

[long]                        # one row for each tag and time; [columns] then names tags
tag = "Point"
value = "Value"
quality = "Status"            # optional: rows that are not good have no value
unit = "Unit"                 # optional: values in another unit than that of their tag are converted

[states]
"ON" = "running"

[shifts]                      # time of day by the name of a shift, where the clock column holds such names
"Night" = "22:00"

[qualities]                   # where a column says how good another is: values that are not good are left out
"Feed psi" = "Quality"

[only]                        # where a file holds several trains
"Skid" = "RO 1"
```
"""

import math
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from analytics.quantities import STATES
from server.errors import FileProblem
from server.intake.date_parts import is_day, is_month
from server.intake.headers import TIME, WORDS, Header, UnknownQuantity, WrongUnit, parse_header
from server.intake.mapping import Constant, FileMapping, LongTable
from server.intake.mapping_values import only_keys, sub_table, text_at, whole_at, words_at, yes_at
from server.intake.moments import ORDERS, Order, read_clock
from server.intake.sheet import Layout
from server.toml_text import NotToml, read_toml

LAYOUT_KEYS = (
    "encoding", "delimiter", "decimal", "sheet", "skip_rows", "missing", "tolerant", "thousands", "sheets",
    "header_rows", "skip_below", "sideways", "dates_above", "across", "parts", "trains_above",
)  # fmt: skip
LONG_KEYS = ("tag", "value", "quality", "unit")
TIME_KEYS = (
    "column", "format", "timezone", "clock", "order", "carried", "year", "half", "month_column", "year_column",
    "months", "minute", "noon_by_order", "day", "exchanged",
)  # fmt: skip


def mapping_from_text(text: str, *, file: str) -> FileMapping:
    """Build a mapping from the text of its file.

    Raises
    ------
    FileProblem
        With the line of a slip in the TOML, or the key at fault.
    """
    try:
        data = read_toml(text)
    except NotToml as error:
        raise FileProblem(file, f"is not valid TOML: {error}") from error
    only_keys(data, ("file", "time", "columns", "constants", "long", "states", "only", "shifts", "qualities"), "", file)
    clock = sub_table(data, "time", file)
    only_keys(clock, TIME_KEYS, "time.", file)
    columns = _columns(sub_table(data, "columns", file), file)
    constants = _constants(sub_table(data, "constants", file), set(columns.values()), file)
    return FileMapping(
        time_column=text_at(clock, "column", "time.column", file, default=TIME),
        columns=columns,
        time_format=text_at(clock, "format", "time.format", file),
        zone=_zone(text_at(clock, "timezone", "time.timezone", file), file),
        constants=constants,
        layout=_layout(sub_table(data, "file", file), file),
        clock_column=text_at(clock, "clock", "time.clock", file),
        order=_order(text_at(clock, "order", "time.order", file), file),
        carried=yes_at(clock, "carried", "time.carried", file),
        states=_states(sub_table(data, "states", file), file),
        only=_names(data, "only", file),
        qualities=_names(data, "qualities", file),
        long=_long(sub_table(data, "long", file), file),
        year=whole_at(clock, "year", file, where="time"),
        shifts=_shifts(sub_table(data, "shifts", file), file),
        half_column=text_at(clock, "half", "time.half", file),
        month_column=text_at(clock, "month_column", "time.month_column", file),
        year_column=text_at(clock, "year_column", "time.year_column", file),
        months=_months(clock, file),
        exchanged=yes_at(clock, "exchanged", "time.exchanged", file),
        minute_column=text_at(clock, "minute", "time.minute", file),
        noon_by_order=yes_at(clock, "noon_by_order", "time.noon_by_order", file),
        day=_day(text_at(clock, "day", "time.day", file), file),
    )


def _order(text: str, file: str) -> Order | None:
    if text and text not in ORDERS:
        raise FileProblem(file, f'time.order: found "{text}"', expected=f"one of {', '.join(ORDERS)}")
    return next((order for order in ORDERS if order == text), None)


def _day(text: str, file: str) -> str:
    if text and not is_day(text):
        raise FileProblem(file, f'time.day: found "{text}"', expected='a day such as "2024-06-12"')
    return text


def _months(clock: dict[str, Any], file: str) -> tuple[str, ...]:
    months = words_at(clock, "months", file, where="time")
    wrong = next((month for month in months if not is_month(month)), None)
    if wrong is not None:
        raise FileProblem(file, f'time.months: found "{wrong}"', expected='months such as "2024-01"')
    return months


def _names(data: dict[str, Any], table: str, file: str) -> dict[str, str]:
    given = sub_table(data, table, file)
    return {name: text_at(given, name, f'{table}."{name}"', file) for name in given}


def _states(given: dict[str, Any], file: str) -> dict[str, str]:
    for word, state in given.items():
        if state not in ("", *STATES):
            raise FileProblem(file, f'states."{word}": found {state!r}', expected=f"one of {', '.join(STATES)}")
    return given


def _shifts(given: dict[str, Any], file: str) -> dict[str, str]:
    for name, clock in given.items():
        if not isinstance(clock, str) or read_clock(clock) is None:
            raise FileProblem(file, f'shifts."{name}": found {clock!r}', expected='a time of day such as "22:00"')
    return given


def _long(given: dict[str, Any], file: str) -> LongTable | None:
    if not given:
        return None
    only_keys(given, LONG_KEYS, "long.", file)
    parts = {key: text_at(given, key, f"long.{key}", file) for key in LONG_KEYS}
    if not parts["tag"] or not parts["value"]:
        raise FileProblem(file, "[long] needs the names of two columns", expected='tag = "..." and value = "..."')
    return LongTable(**parts)


def _columns(given: dict[str, Any], file: str) -> dict[str, str]:
    if not given:
        raise FileProblem(file, "[columns] is missing", expected='lines such as "Feed psi" = "feed_pressure [psi]"')
    columns: dict[str, str] = {}
    meant: dict[str, str] = {}
    for theirs, ours in given.items():
        if not isinstance(ours, str):
            raise FileProblem(
                file, f'columns."{theirs}": found {ours!r}', expected='text such as "feed_pressure [psi]"'
            )
        name = ours if ours in WORDS else _header(ours, f'columns."{theirs}"', file).quantity.name
        if name in meant:
            raise FileProblem(file, f'columns: "{meant[name]}" and "{theirs}" both stand for {name}')
        meant[name] = theirs
        columns[theirs.strip()] = ours
    return columns


def _constants(given: dict[str, Any], taken: set[str], file: str) -> tuple[Constant, ...]:
    names = {parse_header(text).quantity.name for text in taken if text not in WORDS}
    constants = []
    for text, value in given.items():
        header = _header(text, f'constants."{text}"', file)
        if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
            raise FileProblem(file, f'constants."{text}": found {value!r}', expected="a number")
        if header.quantity.name in names:
            raise FileProblem(file, f'constants."{text}": {header.quantity.name} is a column or constant already')
        names.add(header.quantity.name)
        constants.append(Constant(header, float(value)))
    return tuple(constants)


def _header(text: str, key: str, file: str) -> Header:
    try:
        return parse_header(text)
    except UnknownQuantity as error:
        near = f"; {error}?" if str(error) else ""
        raise FileProblem(file, f'{key}: "{text}" names no quantity known here{near}') from error
    except WrongUnit as error:
        raise FileProblem(file, f'{key}: the unit of "{text}" does not fit', expected=str(error)) from error


def _layout(given: dict[str, Any], file: str) -> Layout:
    only_keys(given, LAYOUT_KEYS, "file.", file)
    layout = Layout(
        encoding=text_at(given, "encoding", "file.encoding", file, default="utf-8").lower(),
        delimiter=text_at(given, "delimiter", "file.delimiter", file),
        decimal=text_at(given, "decimal", "file.decimal", file, default="."),
        sheet=text_at(given, "sheet", "file.sheet", file),
        skip_rows=whole_at(given, "skip_rows", file),
        missing=words_at(given, "missing", file),
        tolerant=yes_at(given, "tolerant", "file.tolerant", file),
        thousands=text_at(given, "thousands", "file.thousands", file),
        sheets=words_at(given, "sheets", file),
        header_rows=whole_at(given, "header_rows", file, default=1),
        skip_below=whole_at(given, "skip_below", file),
        sideways=yes_at(given, "sideways", "file.sideways", file),
        dates_above=yes_at(given, "dates_above", "file.dates_above", file),
        across=yes_at(given, "across", "file.across", file),
        trains_above=yes_at(given, "trains_above", "file.trains_above", file),
        parts=text_at(given, "parts", "file.parts", file),
    )
    try:
        "a".encode(layout.encoding)  # a codec that is none of text is refused, too
    except (LookupError, UnicodeError):
        raise FileProblem(
            file, f'file.encoding: "{layout.encoding}" is not an encoding', expected='a name such as "cp1252"'
        ) from None
    for key, most in (("delimiter", 1), ("decimal", 2 if layout.tolerant else 1), ("thousands", 1)):
        if len(getattr(layout, key)) > most:
            raise FileProblem(file, f'file.{key}: found "{getattr(layout, key)}"', expected="one character")
    if (layout.decimal == layout.delimiter and not layout.tolerant) or not layout.decimal:
        raise FileProblem(file, "file.decimal: found the delimiter or nothing", expected='"." or ","')
    return layout


def _zone(name: str, file: str) -> ZoneInfo | None:
    if not name:
        return None
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise FileProblem(
            file, f'time.timezone: "{name}" is not a time zone', expected="a name like Europe/Lisbon"
        ) from None
