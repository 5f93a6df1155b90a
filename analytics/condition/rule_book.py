"""The rules by which an entry of the shift log is checked, as a table of numbers and words for one train and moment.

The table is all that a check needs (`analytics.condition.plausible`), so it can be handed to a page that checks without
a connection. Every threshold and every sentence is here or comes from the plant and its last readings.
"""

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from analytics.condition.entry_words import WORDS
from analytics.condition.meanings import RECOVERY, expected_ranges, meanings
from analytics.condition.recent import BALANCES_WITHIN, Level, Recent, level_of
from analytics.plant import Plant
from analytics.quantities import COLUMNS
from analytics.units import unit as unit_of

Sides = tuple[tuple[str, ...], ...]

FASTEST = {"hours_counter_h": 1.0, "permeate_counter_m3": 2.0, "energy_counter_kwh": 2.0}
"""How fast a counter may run: hours by the clock, the others as a share of what the meter beside them showed last;
common practice, no source. [-]"""
RATE_OF = {"permeate_counter_m3": "permeate_flow_m3h", "energy_counter_kwh": "pump_power_kw"}
LEAST_COPIED, SHARE_COPIED, ABOVE_USUAL = 4, 0.8, 0.15
"""Values that must be those of the last reading, their share among all, and how far above what was usual that must be,
before anybody is asked whether the gauges were read; the first from records of trade practice, the others common
practice, no source."""
MEANT_WITHIN = 2.0
"""Factor around what is usual within which another meaning of a number is believed: a width that reaches down to zero
would believe anything that is small enough; common practice, no source. [-]"""
USUALLY_BROKEN = 0.2
"""Share of the last readings from which a relation is held to be broken by a meter, not by the entry. [-]"""
CLOCK_S, LONG_AGO_S = 900.0, 31 * 86_400.0
"""How far ahead a clock may be, and how old an entry may be, before its time is asked about; common practice. [s]"""


@dataclass(frozen=True)
class FieldRule:
    """How one value is checked. canonical = typed * factor + offset; ranges are canonical, None where unknown.

    `meant` is where another meaning of what was typed is believed.
    `others` are further meanings of what is typed: (symbol of the unit, tenth power, factor, offset).
    """

    column: str
    label: str
    unit: str
    factor: float
    offset: float
    possible: tuple[float, float]
    usual: tuple[float, float]
    recent: tuple[float, float, float] | None
    meant: tuple[float, float]
    counter: tuple[float, float, float] | None
    others: tuple[tuple[str, int, float, float], ...]


@dataclass(frozen=True)
class PathRule:
    """Columns whose values must not rise along the path, beyond a tolerance; `words` names the sentence."""

    words: str
    columns: tuple[str, ...]
    tolerance: float


@dataclass(frozen=True)
class BalanceRule:
    """(whole - parts) / whole must lie between low and high; each side is a sum of products of columns."""

    words: str
    whole: Sides
    parts: Sides
    low: float
    high: float

    @property
    def columns(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(name for term in (*self.whole, *self.parts) for name in term))


@dataclass(frozen=True)
class LimitRule:
    """(value - minus) / over must lie between low and high; each side is a sum of products, an empty `over` is one.

    Said, not asked: the value may well be right. `in_unit` writes it in the unit of the first column's gauge.
    """

    words: str
    value: Sides
    minus: Sides
    over: Sides
    low: float
    high: float
    in_unit: bool


@dataclass(frozen=True)
class TankRule:
    """What has left a tank since its level was read last: fall * scale / (hours * over) must lie between low and high.

    Only where between `least_hours` and `most_hours` have passed: before, a level is too rough; later, it may have been
    filled up.
    """

    words: str
    level: str
    last: float
    last_at_s: float
    scale: float
    over: Sides
    low: float
    high: float
    least_hours: float
    most_hours: float


@dataclass(frozen=True)
class Limits:
    """What is said of values that are right but not as they should be."""

    values: tuple[LimitRule, ...] = ()
    tanks: tuple[TankRule, ...] = ()


@dataclass(frozen=True)
class CopyRule:
    """The newest reading, its values as the page shows them, and which share of them an entry may repeat."""

    values: Mapping[str, float]
    shown: Mapping[str, float]
    least: int
    share: float


NO_LIMITS = Limits()


@dataclass(frozen=True)
class RuleBook:
    """All rules of one train at one moment. Times in seconds since 1970 in UTC."""

    fields: tuple[FieldRule, ...]
    paths: tuple[PathRule, ...]
    balances: tuple[BalanceRule, ...]
    limits: Limits
    copied: CopyRule
    newest_s: float | None
    clock_s: float
    long_ago_s: float
    words: Mapping[str, str]

    def table(self) -> dict[str, Any]:
        """The same as plain lists and dictionaries."""
        return dataclasses.asdict(self)


def rule_book(
    plant: Plant,
    recent: Recent,
    units: Mapping[str, str],
    symbols: Mapping[str, str] | None = None,
    *,
    limits: Limits = NO_LIMITS,
    shown: Mapping[str, float] | None = None,
) -> RuleBook:
    """Put the rules of a train together.

    Parameters
    ----------
    plant : Plant
    recent : Recent
        Its last readings.
    units : dict
        The columns that can be entered and the units of their gauges.
    symbols : dict, optional
        How units are written for people.
    limits : Limits, optional
        What is to be said of values that are right but not as they should be.
    shown : dict, optional
        The values of the newest reading as they are shown beside the fields, in canonical units.
    """
    expected = expected_ranges(plant)
    written = symbols or {}
    usual_share = max(SHARE_COPIED, recent.alike + ABOVE_USUAL)
    return RuleBook(
        fields=tuple(_field(name, unit, expected[name], recent, written) for name, unit in units.items()),
        paths=tuple(path for path in _paths(plant) if not _usually_broken(path, recent)),
        balances=tuple(_balances(plant, recent)),
        limits=limits,
        copied=CopyRule(dict(recent.reading), dict(shown or {}), LEAST_COPIED, usual_share),
        newest_s=recent.reading_at,
        clock_s=CLOCK_S,
        long_ago_s=LONG_AGO_S,
        words=WORDS,
    )


def _field(
    name: str, unit: str, expected: tuple[float, float], recent: Recent, symbols: Mapping[str, str]
) -> FieldRule:
    quantity, gauge, level = COLUMNS[name], unit_of(unit), recent.levels.get(name)
    return FieldRule(
        column=name,
        label=quantity.label,
        unit=symbols.get(gauge.name, gauge.name),
        factor=gauge.factor,
        offset=gauge.offset,
        possible=quantity.possible,
        usual=expected,
        recent=(level.low, level.middle, level.high) if level else None,
        meant=_believed(level) if level else expected,
        counter=_counter(name, recent),
        others=tuple((symbols.get(m.unit, m.unit), m.power, m.factor, m.offset) for m in meanings(unit)),
    )


def _believed(level: Level) -> tuple[float, float]:
    """Where another meaning is believed: in what is usual, and of its size."""
    nearer, farther = sorted((level.middle / MEANT_WITHIN, level.middle * MEANT_WITHIN))
    return (max(level.low, nearer), min(level.high, farther))


def _counter(name: str, recent: Recent) -> tuple[float, float, float] | None:
    """Last value of a counter, when that was, and how fast it may run an hour."""
    if name not in FASTEST or name not in recent.last:
        return None
    beside = recent.last.get(RATE_OF[name], float("inf")) if name in RATE_OF else 1.0
    rate = FASTEST[name] * beside
    return (recent.last[name], recent.last_at[name], rate if np.isfinite(rate) and rate > 0 else 1e12)


def _paths(plant: Plant) -> list[PathRule]:
    """The ways of the water along which pressure falls, and the order of the waters by salt."""
    tolerance = plant.train.screening.pressure_tolerance_bar
    stages = plant.train.stages
    paths = [
        ["media_filter_inlet_pressure_bar", "media_filter_outlet_pressure_bar", "cartridge_inlet_pressure_bar",
         "cartridge_outlet_pressure_bar", "pump_suction_pressure_bar"],
        ["pump_discharge_pressure_bar", "pump_suction_pressure_bar"],
        ["feed_pressure_bar", "pump_suction_pressure_bar"],
    ]  # fmt: skip
    along = ["pump_discharge_pressure_bar", "feed_pressure_bar"]
    for number, stage in enumerate(stages, start=1):
        if stage.booster:
            paths.append([*along, "permeate_pressure_bar"])
            along = []
        if number > 1:
            along.append(f"stage{number}_feed_pressure_bar")
        along.append("concentrate_pressure_bar" if number == len(stages) else f"stage{number}_concentrate_pressure_bar")
    paths.append([*along, "permeate_pressure_bar"])
    salt = ("concentrate_conductivity_us_cm", "feed_conductivity_us_cm", "permeate_conductivity_us_cm")
    order = [PathRule("pressure order", tuple(path), tolerance) for path in paths]
    return [*order, PathRule("salt order", salt, 0.0)]


def _usually_broken(path: PathRule, recent: Recent) -> bool:
    known = [name for name in path.columns if name in recent.frame.columns]
    if len(known) < 2 or not len(recent.frame):
        return False
    values = recent.frame[known].to_numpy(dtype=np.float64)
    broken = (values[:, 1:] > values[:, :-1] + path.tolerance).any(axis=1)
    return bool(broken.mean() > USUALLY_BROKEN)


def _balances(plant: Plant, recent: Recent) -> list[BalanceRule]:
    """Balances of flow and salt: around what is usual here, or around zero within the tolerance of the screen."""
    settings, stages = plant.train.screening, range(1, len(plant.train.stages) + 1)
    flow, salt = settings.flow_balance_tolerance, settings.salt_balance_tolerance
    feed, permeate, concentrate = "feed_flow_m3h", "permeate_flow_m3h", "concentrate_flow_m3h"
    ec = {water: f"{water}_conductivity_us_cm" for water in ("feed", "permeate", "concentrate")}
    out: Sides = ((concentrate, ec["concentrate"]), (permeate, ec["permeate"]))
    own = tuple((f"stage{number}_permeate_flow_m3h",) for number in stages)
    found = [
        _balance("flow balance", ((feed,),), ((permeate,), (concentrate,)), flow, recent),
        _balance("salt balance", ((feed, ec["feed"]),), out, salt, recent),
        _balance("salt balance", ((permeate, ec["feed"]), (concentrate, ec["feed"])), out, salt, recent),
    ]
    if not {permeate, concentrate} <= recent.levels.keys():
        low, high = (1 - share for share in reversed(RECOVERY))
        found.append(BalanceRule("recovery", ((permeate,), (concentrate,)), ((permeate,),), low, high))
    if len(own) > 1:
        found.append(_balance("flow balance", ((permeate,),), own, flow, recent))
    return found


def _balance(words: str, whole: Sides, parts: Sides, tolerance: float, recent: Recent) -> BalanceRule:
    rule = BalanceRule(words, whole, parts, -tolerance, tolerance)
    level = _usual_balance(rule, recent)
    if level is None:
        return rule
    width = min(level.width, tolerance)
    return dataclasses.replace(rule, low=level.middle - width, high=level.middle + width)


def _usual_balance(rule: BalanceRule, recent: Recent) -> Level | None:
    if any(name not in recent.frame.columns for name in rule.columns):
        return None
    values = {name: recent.frame[name].to_numpy(dtype=np.float64) for name in rule.columns}
    whole, parts = (
        np.sum([np.prod([values[name] for name in term], axis=0) for term in terms], axis=0)
        for terms in (rule.whole, rule.parts)
    )
    with np.errstate(invalid="ignore", divide="ignore"):
        off = (whole - parts) / whole
    return level_of(off[np.isfinite(off)], (BALANCES_WITHIN, 0.0))
