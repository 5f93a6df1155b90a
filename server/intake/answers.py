"""What a person says to what was understood of a file: the form, and what it comes to."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from zoneinfo import available_timezones

from analytics.quantities import QUANTITIES, STATES
from analytics.units import units_of
from server.intake.date_parts import EARLIEST_YEAR, LATEST_YEAR, is_day, is_month
from server.intake.headers import WORDS, parse_header
from server.intake.mapping import FileMapping
from server.intake.moments import ORDERS, Order, read_clock
from server.intake.understand.compile import Corrections
from server.intake.understand.understanding import Choices, Understanding

LONGEST_NAME = 200
AS_IT_STANDS, NOON_BY_ORDER = "stands", "order"
MARKS = {"point": ".", "comma": ",", "either": ".,"}


@dataclass(frozen=True)
class Answers:
    """Answers as they stand in the form, by the position of each column; `errors` by the name of the field."""

    meanings: tuple[str, ...]
    units: tuple[str, ...]
    order: str
    timezone: str
    states: tuple[str, ...]
    save_as: str
    decimal: str = ""
    year: str = ""
    month: str = ""
    day: str = ""
    noon: str = ""
    train: str = ""
    shifts: tuple[str, ...] = ()
    errors: dict[str, str] = field(default_factory=dict)

    @classmethod
    def of(cls, found: Understanding, mapping: FileMapping | None = None) -> "Answers":
        """The answers that were found, left open where only a person can tell; or those of a mapping."""
        if mapping is not None:
            return cls._of_mapping(found, mapping)
        units = tuple("" if column.doubt and column.doubt.unit else column.unit for column in found.columns)
        return cls(
            meanings=tuple(column.meaning for column in found.columns),
            units=units,
            order="" if found.time.asked else found.time.order,
            timezone=found.time.timezone,
            states=tuple(found.states.values()),
            save_as="",
            year=str(found.time.year) if found.time.year_reason else "",
            month=found.time.month if found.time.month_reason else "",
            day="" if found.time.day_asked else found.time.day,
            shifts=tuple(found.time.shifts.values()),
        )

    @classmethod
    def _of_mapping(cls, found: Understanding, mapping: FileMapping) -> "Answers":
        """What was answered before."""
        typed = [mapping.columns.get(column.name, "") for column in found.columns]
        headers = [None if text in ("", *WORDS) else parse_header(text) for text in typed]
        return cls(
            meanings=tuple(h.quantity.name if h else text for h, text in zip(headers, typed, strict=True)),
            units=tuple(h.unit or h.quantity.unit if h else "" for h in headers),
            order=mapping.order or found.time.order,
            timezone=mapping.zone.key if mapping.zone else found.time.timezone,
            states=tuple(mapping.states.get(word, state) for word, state in found.states.items()),
            save_as="",
            year=str(mapping.year or ""),
            month=next(iter(mapping.months), ""),
            day=mapping.day,
            noon=NOON_BY_ORDER if mapping.noon_by_order else AS_IT_STANDS,
            shifts=tuple(mapping.shifts.get(name, clock) for name, clock in found.time.shifts.items()),
        )

    @classmethod
    def sent(cls, form: Mapping[str, str], found: Understanding) -> "Answers":
        """What came in, checked against what was understood."""
        count = len(found.columns)
        answers = cls(
            meanings=tuple(form.get(f"meaning-{number}", "") for number in range(count)),
            units=tuple(form.get(f"unit-{number}", "") for number in range(count)),
            order=form.get("order", found.time.order if not found.time.asked else ""),
            timezone=form.get("timezone", "").strip(),
            states=tuple(form.get(f"state-{number}", "") for number in range(len(found.states))),
            save_as=form.get("save_as", "").strip()[:LONGEST_NAME],
            decimal=form.get("decimal", ""),
            year=form.get("year", "").strip(),
            month=form.get("month", "").strip(),
            day=form.get("day", "").strip(),
            noon=form.get("noon", ""),
            train=form.get("train", ""),
            shifts=tuple(form.get(f"shift-{number}", "").strip() for number in range(len(found.time.shifts))),
        )
        return cls(**(vars(answers) | {"errors": _errors(answers, found)}))

    def corrections(self, found: Understanding) -> Corrections:
        """What a mapping is made of."""
        columns = {
            column.name: _typed(meaning, unit)
            for column, meaning, unit in zip(found.columns, self.meanings, self.units, strict=True)
        }
        order: Order | None = next((order for order in ORDERS if order == self.order), None)
        states = dict(zip(found.states, self.states, strict=True))
        return Corrections(
            columns=columns,
            order=order,
            timezone=self.timezone,
            states=states,
            year=int(self.year) if found.time.year else None,
            month=self.month if found.time.month_asked else "",
            day=self.day if found.time.day_alone else "",
            noon_by_order=bool(found.time.half_missing) and self.noon == NOON_BY_ORDER,
            shifts=dict(zip(found.time.shifts, self.shifts, strict=True)),
        )


def _typed(meaning: str, unit: str) -> str:
    return f"{meaning} [{unit}]" if meaning in QUANTITIES and unit not in ("", "-") else meaning


def _errors(answers: Answers, found: Understanding) -> dict[str, str]:
    errors: dict[str, str] = {}
    first: dict[str, str] = {}
    for number, (meaning, unit) in enumerate(zip(answers.meanings, answers.units, strict=True)):
        problem = _problem(meaning, unit)
        name = found.columns[number].name
        if not problem and meaning and meaning in first:
            problem = f'"{first[meaning]}" is this already; a reading has each quantity once.'
        if problem:
            errors[f"column-{number}"] = problem
        first.setdefault(meaning, name)
    if found.layout.marks_doubtful and answers.decimal not in MARKS:
        errors["decimal"] = "Say which is the decimal mark."
    if found.layout.trains and answers.train not in found.layout.trains:
        errors["train"] = "Say which train this is."
    if not any(meaning in QUANTITIES for meaning in answers.meanings):
        errors["columns"] = "Say of at least one column which quantity it holds."
    for number, state in enumerate(answers.states):
        if state not in ("", *STATES):
            errors[f"state-{number}"] = "Choose one of these."
    return errors | _time_errors(answers, found)


def _time_errors(answers: Answers, found: Understanding) -> dict[str, str]:
    errors = {
        f"shift-{number}": "Say a time of day, such as 06:00."
        for number, clock in enumerate(answers.shifts)
        if read_clock(clock) is None
    }
    if answers.order not in ORDERS:
        errors["order"] = "Say in which order the dates are written."
    if found.time.year and not _is_year(answers.year):
        errors["year"] = f"Say the year of the first reading, such as {found.time.year}."
    if found.time.month_asked and not is_month(answers.month):
        errors["month"] = f"Say the month of the first reading, such as {found.time.month}."
    if found.time.day_alone and not is_day(answers.day):
        errors["day"] = "Say the day of the first reading, such as 2026-06-12."
    if found.time.half_missing and answers.noon not in (AS_IT_STANDS, NOON_BY_ORDER):
        errors["noon"] = "Say how the clock is meant."
    if answers.timezone and answers.timezone not in available_timezones():
        errors["timezone"] = "This is no name of a time zone; one is Europe/Lisbon."
    return errors


def _is_year(text: str) -> bool:
    return text.isascii() and text.isdigit() and EARLIEST_YEAR <= int(text[:5]) <= LATEST_YEAR


def _problem(meaning: str, unit: str) -> str:
    if meaning in ("", *WORDS):
        return ""
    if meaning not in QUANTITIES:
        return "Choose one of these."
    canonical = QUANTITIES[meaning].unit
    if canonical == "-":
        return ""
    if not unit:
        return "Say in which unit it is."
    return (
        ""
        if unit in units_of(canonical)
        else f"The unit does not fit; expected one of {', '.join(units_of(canonical))}."
    )


def layout_choices(form: Mapping[str, str]) -> Choices:
    """What a person says about the layout of the file."""
    row = form.get("header_row", "").strip()
    sheet = form.get("sheet", "")
    return Choices(
        sheets=(sheet,) if sheet else (),
        decimal=MARKS.get(form.get("decimal", ""), ""),
        header_row=int(row) if row.isascii() and row.isdigit() and len(row) < 4 else 0,
        time=form.get("time", ""),
    )
