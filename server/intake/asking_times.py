"""What is asked about the times of a file: order of the parts, what its dates leave out, shifts, and the clock."""

from dataclasses import dataclass

from server.display import sentence
from server.intake.answers import Answers
from server.intake.moments import ORDERS
from server.intake.understand.understanding import TimeRule

ORDER_WORDS = {
    "day first": "day first: 31.12.2026", "month first": "month first: 12/31/2026",
    "year first": "year first: 2026-12-31",
}  # fmt: skip


@dataclass(frozen=True)
class Option:
    value: str
    label: str


@dataclass(frozen=True)
class Asked:
    """A question: what stands in its field, why it is asked or what it rests on, and what is wrong with it."""

    text: str
    reason: str
    error: str


@dataclass(frozen=True)
class ShiftLine:
    number: int
    name: str
    clock: str
    error: str


@dataclass(frozen=True)
class TimesPart:
    """`month` and `year` are None where the dates have them; days alone leave no order to choose."""

    columns: str
    days_alone: bool
    order: Asked
    order_options: tuple[Option, ...]
    month: Asked | None
    year: Asked | None
    day: Asked | None
    noon: Asked | None
    shifts: tuple[ShiftLine, ...]
    timezone: Asked


def times_part(time: TimeRule, answers: Answers) -> TimesPart:
    """Put the questions together; each reason says what the file tells."""

    def asked(name: str, text: str, reason: str) -> Asked:
        return Asked(text, reason, answers.errors.get(name, ""))

    columns = (time.column, time.month_column, time.year_column, time.clock, time.minute, time.half)
    return TimesPart(
        columns=" and ".join(f"“{name}”" for name in columns if name),
        days_alone=bool(time.month or time.month_column or time.day_alone),
        order=asked("order", answers.order, sentence(time.reason)),
        order_options=tuple(Option(order, ORDER_WORDS[order]) for order in ORDERS),
        month=asked("month", answers.month, _month_reason(time)) if time.month_asked else None,
        year=asked("year", answers.year, _year_reason(time)) if time.year else None,
        day=asked("day", answers.day, _day_reason(time)) if time.day_alone else None,
        noon=asked("noon", answers.noon, time.half_missing) if time.half_missing else None,
        shifts=tuple(
            ShiftLine(n, name, answers.shifts[n], answers.errors.get(f"shift-{n}", ""))
            for n, name in enumerate(time.shifts)
        ),
        timezone=asked("timezone", answers.timezone, sentence(time.zone_reason)),
    )


def _year_reason(time: TimeRule) -> str:
    said = f"{time.year_reason} says so. " if time.year_reason else ""
    return f"{said}From December to January the next year begins by itself."


def _day_reason(time: TimeRule) -> str:
    said = f"{time.day_reason}. " if time.day_reason else ""
    return f"{said}Where the times go back past midnight, the next day begins by itself."


def _month_reason(time: TimeRule) -> str:
    said = f"{time.month_reason} says so. " if time.month_reason else ""
    return f"{said}Such as 2026-01. When the days begin anew, the next month begins by itself."
