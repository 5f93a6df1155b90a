"""Write what was understood, and what a person corrected, as a mapping."""

import json
from collections.abc import Mapping
from dataclasses import dataclass, field

from server.intake.date_parts import months_from
from server.intake.moments import Order
from server.intake.numerals import Marks
from server.intake.understand.understanding import TimeRule, Understanding


@dataclass(frozen=True)
class Corrections:
    """What a person said otherwise.

    `columns` by header (`feed_pressure [psi]`; "" leaves it out), `constants` by `quantity [unit]`, `month` of the
    first reading such as 2024-01.
    """

    columns: Mapping[str, str] = field(default_factory=dict)
    order: Order | None = None
    timezone: str | None = None
    states: Mapping[str, str] = field(default_factory=dict)
    constants: Mapping[str, float] = field(default_factory=dict)
    marks: Marks | None = None
    year: int | None = None
    shifts: Mapping[str, str] = field(default_factory=dict)
    month: str = ""
    noon_by_order: bool = False
    day: str = ""


NO_CORRECTIONS = Corrections()


def mapping_text(found: Understanding, corrections: Corrections = NO_CORRECTIONS, *, site_zone: str = "") -> str:
    """The mapping that reads a file as it was understood.

    Parameters
    ----------
    site_zone
        Clock of the site; it is not repeated in the mapping.
    """
    time = found.time
    columns = {column.name: corrections.columns.get(column.name, column.typed) for column in found.columns}
    zone = time.timezone if corrections.timezone is None else corrections.timezone
    parts = [
        _table("file", _file(found, corrections.marks or found.layout.marks)),
        _table("time", [*_clock(time, corrections), ("timezone", "" if zone == site_zone else zone)]),
        _table("columns", [(name, typed) for name, typed in columns.items() if typed]),
        _table("constants", list(corrections.constants.items())),
    ]
    if "state" in columns.values():
        parts.append(_table("states", list((found.states | dict(corrections.states)).items()), keep_empty=True))
    if time.shifts:
        parts.append(_table("shifts", list((time.shifts | dict(corrections.shifts)).items())))
    qualities = [(name, quality) for name, quality in found.layout.qualities.items() if columns.get(name)]
    parts.append(_table("qualities", list(qualities)))
    long = found.layout.long
    if long is not None:
        parts.append(
            _table("long", [("tag", long.tag), ("value", long.value), ("quality", long.quality), ("unit", long.unit)])
        )
    if found.layout.only is not None and found.layout.only[1]:
        parts.append(_table("only", [found.layout.only]))
    return "\n\n".join(part for part in parts if part) + "\n"


def _clock(time: TimeRule, corrections: Corrections) -> list[tuple[str, object]]:
    first = corrections.month or time.month
    return [
        ("column", time.column),
        ("month_column", time.month_column),
        ("year_column", time.year_column),
        ("months", list(months_from(first, time.sheet_months)) if first else []),
        ("clock", time.clock),
        ("half", time.half),
        ("minute", time.minute),
        ("noon_by_order", corrections.noon_by_order),
        ("day", corrections.day or time.day),
        ("order", corrections.order or time.order),
        ("carried", time.carried),
        ("exchanged", time.exchanged),
        ("year", corrections.year or time.year),
    ]


def _file(found: Understanding, marks: Marks) -> list[tuple[str, object]]:
    layout = found.layout
    several = len(layout.sheets) > 1
    only_sheet = layout.sheets[0] if layout.sheets and not several and len(layout.all_sheets) > 1 else ""
    return [
        ("tolerant", True),
        ("encoding", "" if layout.encoding in ("utf-8", "utf-8-sig", "") else layout.encoding),
        ("delimiter", layout.delimiter),
        ("decimal", "" if marks.decimal == "." else marks.decimal),
        ("thousands", marks.thousands),
        ("sheet", only_sheet),
        ("sheets", list(layout.sheets) if several else []),
        ("sideways", layout.sideways),
        ("dates_above", layout.dates_above),
        ("trains_above", layout.trains_above),
        ("across", layout.across),
        ("parts", layout.parts),
        ("skip_rows", layout.skip_rows),
        *([] if layout.header_rows == 1 else [("header_rows", layout.header_rows)]),
        ("skip_below", layout.skip_below),
    ]


def _table(name: str, entries: list[tuple[str, object]], *, keep_empty: bool = False) -> str:
    """One table of TOML; entries that say nothing are left away, but for a count of header rows."""
    said = [(k, v) for k, v in entries if keep_empty or k == "header_rows" or (v != "" and v != 0 and v != [])]
    lines = [f"{_key(key)} = {_value(value)}" for key, value in said if value is not False]
    return "\n".join([f"[{name}]", *lines]) if lines else ""


def _key(text: str) -> str:
    return text if text.isascii() and text.replace("_", "a").isalnum() and text.islower() else _quoted(text)


def _value(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, list):
        return f"[{', '.join(_quoted(str(entry)) for entry in value)}]"
    return f"{value:g}" if isinstance(value, int | float) else _quoted(str(value))


def _quoted(text: str) -> str:
    """A basic string of TOML; JSON writes the same, but for the sign DEL."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
