"""What the streams of a train and its stages are: flows, pressures and dissolved solids, and how each came about."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Missing:
    """A quantity that is not metered, and what could therefore not be known."""

    quantity: str
    effect: str


@dataclass(frozen=True)
class Streams:
    """One scope's streams, arrays over readings; None where nothing can be said. m3/h, bar, mg/L, m2.

    `mean_pressure_bar` is the mean hydraulic pressure on the feed side; `drop_flow_m3h` the mean feed-side flow that
    the pressure drop belongs to (permeate is shared by area where that of the stages is not metered).
    """

    scope: str
    area_m2: float
    elements_in_series: int
    feed_flow_m3h: Array | None
    permeate_flow_m3h: Array | None
    mean_pressure_bar: Array | None
    pressure_drop_bar: Array | None
    drop_flow_m3h: Array | None
    permeate_pressure_bar: Array | None
    feed_tds_mg_l: Array | None
    permeate_tds_mg_l: Array | None


@dataclass(frozen=True)
class Balance:
    """Streams of the train and its stages, and how they came about.

    `permeate_pressure_known` is False where it is neither metered nor stated, and stands as zero.
    """

    train: Streams
    stages: tuple[Streams, ...]
    feed_temperature_c: Array | None
    derived: tuple[str, ...] = ()
    assumed: tuple[str, ...] = ()
    missing: tuple[Missing, ...] = ()
    notes: tuple[str, ...] = ()
    permeate_pressure_known: bool = True

    @property
    def scopes(self) -> tuple[Streams, ...]:
        return (self.train, *self.stages)


def has_a_value(column: Array) -> bool:
    """A column of blanks counts as a meter that is not there."""
    return not (np.isnan(column[:1000]).all() and np.isnan(column).all())


@dataclass
class Ledger:
    """Collects what was derived, assumed and missing while the streams are completed."""

    values: Mapping[str, Array]
    rows: int
    derived: list[str] = field(default_factory=list)
    assumed: list[str] = field(default_factory=list)
    missing: list[Missing] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    def get(self, column: str) -> Array | None:
        return self.values.get(column)

    def fill(self, name: str, measured: Array | None, derived: Array | None) -> Array | None:
        """Measured where it is there, else derived; says so when the meter is absent altogether."""
        if derived is None:
            return measured
        if measured is None:
            self.derived.append(name)
            return derived
        return np.where(np.isnan(measured), derived, measured)


def say_what_is_missing(ledger: Ledger, train: Streams, stages: tuple[Streams, ...], temperature: Array | None) -> None:
    add = ledger.missing.append
    if temperature is None:
        add(Missing("feed_temperature", "flow and salt passage could not be corrected for temperature"))
    if train.permeate_flow_m3h is None:
        add(Missing("permeate_flow", "neither flow nor salt passage could be judged"))
    if ledger.get("feed_pressure_bar") is None:
        add(Missing("feed_pressure", "flow could not be judged"))
    elif train.mean_pressure_bar is None:
        effect = "with a booster, the driving pressure needs the pressures around it"
        add(Missing(_first_absent_pressure(ledger, stages), effect))
    if train.pressure_drop_bar is None and ledger.get("concentrate_pressure_bar") is None:
        add(Missing("concentrate_pressure", "pressure drop could not be judged"))
    if train.feed_flow_m3h is None and train.permeate_flow_m3h is not None:
        add(
            Missing(
                "concentrate_flow", "recovery is unknown, so the salt on the feed side was taken as that of the feed"
            )
        )
    if train.feed_tds_mg_l is None:
        add(Missing("feed_conductivity", "osmotic pressure is left out, and salt passage could not be judged"))
    if train.permeate_tds_mg_l is None:
        add(Missing("permeate_conductivity", "salt passage could not be judged"))
    _say_what_stages_miss(ledger, stages)


def _first_absent_pressure(ledger: Ledger, stages: tuple[Streams, ...]) -> str:
    """The first gauge, in the order of the water, whose absence leaves a stage without its mean pressure."""
    for number, stage in enumerate(stages, start=1):
        into = "feed_pressure" if number == 1 else f"stage{number}_feed_pressure"
        out = "concentrate_pressure" if number == len(stages) else f"stage{number}_concentrate_pressure"
        for name in (into, out) if stage.mean_pressure_bar is None else ():
            if ledger.get(f"{name}_bar") is None:
                return name
    return "feed_pressure"


def _say_what_stages_miss(ledger: Ledger, stages: tuple[Streams, ...]) -> None:
    for number, stage in enumerate(stages[:-1], start=1):
        if stage.pressure_drop_bar is None and ledger.get("feed_pressure_bar") is not None:
            quantity = f"stage{number}_concentrate_pressure"
            effect = f"the pressure drops of stages {number} and {number + 1} could not be told apart"
            ledger.missing.append(Missing(quantity, effect))
    unsplit = [s.scope for s in stages if s.permeate_flow_m3h is None]
    if unsplit:
        effect = "flow and salt passage could not be given per stage"
        ledger.missing.append(Missing(f"{unsplit[0]}_permeate_flow", effect))
