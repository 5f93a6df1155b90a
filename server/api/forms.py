"""What machines send: readings, each with its time and any of the quantities of the glossary.

Every reading is looked at by itself, so that the answer can name each that cannot be used. Those that can go through
the same intake path as a file, so that the same checks and conversions hold for both.
"""

import csv
import io
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Annotated, Any
from zoneinfo import ZoneInfo

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, SkipValidation, ValidationError

from analytics.errors import InvalidSettings
from analytics.quantities import COLUMNS, STATES
from analytics.units import unit, units_of
from server.intake.times import EARLIEST

MOST_READINGS = 10_000
LONGEST_REMARK = 1_000
MOST_ERRORS = 1_000
"""Errors that are listed; all are counted."""
SHOWN = 80
COLUMN = "a column of docs/quantities.md, such as feed_pressure_bar"
TIME_EXPECTED = "an ISO 8601 time such as 2026-01-05T06:10:00Z, after 1970 and not in the future"
DAY_AND_TIME = re.compile(r"\s*\d{4}-\d{2}-\d{2}[Tt ]\d{2}:\d{2}")


def _no_truth(value: Any) -> Any:
    """True and false are no values of a gauge, though they would count as one and nought."""
    if isinstance(value, bool):
        raise ValueError("is true or false, not a number")
    return value


def _with_time_of_day(value: Any) -> Any:
    """Only a day with a time: "20260105" alone would count as seconds since 1970, and a day as its midnight."""
    if not isinstance(value, str) or not DAY_AND_TIME.match(value):
        raise ValueError("is no day with a time")
    return value


Value = Annotated[float, BeforeValidator(_no_truth), Field(allow_inf_nan=False)]
EXAMPLE: dict[str, Any] = {
    "taken_at": "2026-01-05T06:10:00Z",
    "values": {"feed_pressure_bar": 12.1, "permeate_flow_m3h": 18.0, "feed_temperature_c": 16.5},
    "state": "running",
}


class SentReading(BaseModel):
    """One reading: `taken_at` with its offset, values under the names of the columns."""

    model_config = ConfigDict(extra="forbid", str_max_length=LONGEST_REMARK, json_schema_extra={"example": EXAMPLE})

    taken_at: Annotated[
        datetime,
        BeforeValidator(_with_time_of_day),
        Field(description="ISO 8601 with day and time; without an offset it is the clock of the site."),
    ]
    values: dict[str, Value | None] = Field(description="By column, such as feed_pressure_bar; in its unit.")
    state: str = Field(default="", description="running, starting, stopped, or nothing for running.")
    remark: str = ""


class SentReadings(BaseModel):
    """Some readings of one train."""

    model_config = ConfigDict(extra="forbid")

    readings: list[SkipValidation[SentReading]] = Field(min_length=1, max_length=MOST_READINGS)
    units: dict[str, str] = Field(
        default_factory=dict,
        max_length=len(COLUMNS),
        description="By column, where values come in another unit than the one in its name: psi, gpm, degF and so on.",
    )
    partial: bool = Field(
        default=False, description="Store what can be used and list the rest; without it, all is stored or nothing."
    )


class RowError(BaseModel):
    """Why a reading cannot be used: its place in the batch (the first is 1), the field, its value, what would do."""

    row: int
    field: str
    value: str
    error: str
    expected: str


@dataclass(frozen=True)
class Checked:
    """Readings that can be used, by their place in the batch, and what is wrong with the others."""

    readings: Mapping[int, SentReading]
    errors: tuple[RowError, ...]
    refused: int


def wrong_units(units: Mapping[str, str]) -> list[RowError]:
    """Units that are not of the column that they are given for."""
    errors = []
    for column, given in units.items():
        known = COLUMNS.get(column)
        if known is None:
            errors.append(RowError(row=0, field="units", value=_shown(column), error="is no column", expected=COLUMN))
            continue
        try:
            fits = unit(given).name in units_of(known.unit)
        except InvalidSettings:
            fits = False
        if not fits:
            expected = f"one of {', '.join(units_of(known.unit))}"
            errors.append(
                RowError(
                    row=0, field=f"units.{column}", value=_shown(given), error="is no unit of it", expected=expected
                )
            )
    return errors


def check_readings(sent: Sequence[Any], zone: ZoneInfo, latest: datetime) -> Checked:
    """Look at each reading by itself."""
    good: dict[int, SentReading] = {}
    errors: list[RowError] = []
    for row, entry in enumerate(sent, start=1):
        found, reading = _errors_of(row, entry, zone, latest)
        errors += found
        if reading is not None and not found:
            good[row] = reading
    return Checked(good, tuple(errors[:MOST_ERRORS]), len(sent) - len(good))


def _errors_of(row: int, entry: Any, zone: ZoneInfo, latest: datetime) -> tuple[list[RowError], SentReading | None]:
    try:
        reading = SentReading.model_validate(entry)
    except ValidationError as error:
        values = entry.get("values") if isinstance(entry, dict) else None
        unknown = _unknown_columns(row, values) if isinstance(values, dict) else []
        return [*(_row_error(row, one) for one in error.errors(include_url=False)), *unknown], None
    errors = _unknown_columns(row, reading.values)
    at = reading.taken_at if reading.taken_at.tzinfo else reading.taken_at.replace(tzinfo=zone)
    try:
        at = at.astimezone(UTC)
        usable = EARLIEST <= at <= latest
    except OverflowError:
        usable = False
    if not usable:
        when = "lies in the future" if reading.taken_at.year > 1970 else "lies before 1970"
        shown = _shown(reading.taken_at.isoformat())
        errors.append(RowError(row=row, field="taken_at", value=shown, error=when, expected=TIME_EXPECTED))
    if reading.state.strip().lower() not in ("", *STATES):
        expected = f"one of {', '.join(STATES)}, or nothing"
        errors.append(
            RowError(row=row, field="state", value=_shown(reading.state), error="is no state", expected=expected)
        )
    return errors, reading


def _unknown_columns(row: int, values: Mapping[Any, Any]) -> list[RowError]:
    return [
        RowError(
            row=row, field=f"values.{_shown(name)}"[:SHOWN], value=_shown(value), error="is no column", expected=COLUMN
        )
        for name, value in values.items()
        if name not in COLUMNS
    ]


def _row_error(row: int, error: Any) -> RowError:
    """What the validation of one reading found, in the words of this interface."""
    place = [str(part) for part in error["loc"]]
    expected = {
        "taken_at": TIME_EXPECTED,
        "values": "a finite number, or null",
        "state": f"one of {', '.join(STATES)}, or nothing",
        "remark": f"a text of at most {LONGEST_REMARK} characters",
    }.get(place[0] if place else "", "an object with taken_at, values, and perhaps state and remark")
    value = "" if error["type"] == "missing" else _shown(error["input"])
    words = str(error["msg"]).removeprefix("Value error, ")[:200]
    return RowError(row=row, field=".".join(place)[:SHOWN], value=value, error=words, expected=expected)


def _shown(value: Any) -> str:
    text = "".join(sign if sign.isprintable() else " " for sign in str(value)[:SHOWN])
    return text.encode("utf-8", "replace").decode()


def as_log(readings: Sequence[SentReading], units: Mapping[str, str]) -> bytes:
    """The readings as a log in the canonical layout."""
    given = {name for reading in readings for name in reading.values}
    names = [name for name in COLUMNS if name in given] or list(COLUMNS)[:1]
    text = io.StringIO()
    writer = csv.writer(text)
    typed = {name: unit(given).name for name, given in units.items()}
    headers = [f"{COLUMNS[name].name} [{typed.get(name, COLUMNS[name].unit)}]" for name in names]
    writer.writerow(["time", *headers, "state", "remark"])
    for reading in readings:
        cells: list[Any] = [reading.values.get(name) for name in names]
        remark = "".join(sign if sign.isprintable() else " " for sign in reading.remark).strip()
        writer.writerow([reading.taken_at.isoformat(), *cells, reading.state, remark])
    return text.getvalue().encode("utf-8", "replace")


def latest_time(now: datetime) -> datetime:
    """How far ahead a clock may be: a day, as for files."""
    return now + timedelta(days=1)
