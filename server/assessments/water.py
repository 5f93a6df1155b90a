"""The way of the water as shapes: pipes, vessels, pumps, and the instruments after ISA-5.1 where they stand.

A drawing is made from what the plant is and from which values there are: what is not metered is not drawn. There are
two of each train, a level one for wide pages (`water_level`) and an upright one for phones (`water_upright`).
All lengths in pixels of the drawing.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Protocol

from analytics.plant import Train
from analytics.quantities import QUANTITIES, Quantity
from server.display import in_reader_units, reader_unit

RADIUS = 15
MOST_VESSELS = 6
"""More vessels than these are not drawn; their number stands beside them."""

Listed = tuple[tuple[str, str], ...]
RAW: Listed = (("raw_pressure", "raw"), ("raw_free_chlorine", "free chlorine"))
MEDIA: Listed = (("media_filter_inlet_pressure", "in"), ("media_filter_outlet_pressure", "out"))
CARTRIDGE: Listed = (("cartridge_inlet_pressure", "in"), ("cartridge_outlet_pressure", "out"))
ANALYSIS: Listed = (
    ("feed_temperature", "temperature"), ("feed_conductivity", "conductivity"), ("feed_tds", "TDS"), ("feed_ph", "pH"),
    ("feed_orp", "ORP"), ("feed_free_chlorine", "free chlorine"), ("feed_turbidity", "turbidity"), ("feed_sdi", "SDI"),
)  # fmt: skip
PUMP: Listed = (
    ("pump_suction_pressure", "suction"), ("pump_discharge_pressure", "discharge"), ("pump_power", "power"),
    ("pump_frequency", "speed"), ("pump_current", "current"),
)  # fmt: skip
FEED: Listed = (("feed_flow", "flow"), ("feed_pressure", "pressure"))
CONCENTRATE: Listed = (
    ("concentrate_pressure", "pressure"), ("concentrate_flow", "flow"), ("concentrate_conductivity", "conductivity"),
    ("concentrate_tds", "TDS"), ("concentrate_ph", "pH"),
)  # fmt: skip
PERMEATE: Listed = (
    ("permeate_flow", "flow"), ("permeate_conductivity", "conductivity"), ("permeate_tds", "TDS"),
    ("permeate_pressure", "pressure"), ("permeate_ph", "pH"),
)  # fmt: skip
RECYCLE: Listed = (("recycle_flow", "recycle"),)
STAGE_PERMEATE: Listed = (
    ("permeate_flow", "flow"), ("permeate_conductivity", "conductivity"), ("permeate_pressure", "pressure"),
)  # fmt: skip
STAGE_OUT: Listed = (("concentrate_pressure", "pressure"), ("concentrate_conductivity", "conductivity"))


@dataclass(frozen=True)
class Gauge:
    """One instrument with its latest value, in the reader's units."""

    letters: str
    value: str
    unit: str
    label: str
    water: str


@dataclass(frozen=True)
class Pipe:
    path: str
    look: str


@dataclass(frozen=True)
class Bubble:
    x: float
    y: float
    gauge: Gauge
    text_x: float
    anchor: str


@dataclass(frozen=True)
class Vessel:
    x: float
    y: float
    width: float
    height: float
    seams: tuple[str, ...]


@dataclass(frozen=True)
class Machine:
    """A pump, a booster or a filter; `turned` by so many degrees."""

    kind: str
    x: float
    y: float
    turned: int = 0


@dataclass(frozen=True)
class Words:
    x: float
    y: float
    text: str
    look: str


@dataclass
class Drawing:
    """Shapes in the order in which they are drawn; `words` and `bubbles` last."""

    width: float = 0
    height: float = 0
    pipes: list[Pipe] = field(default_factory=list)
    leads: list[str] = field(default_factory=list)
    vessels: list[Vessel] = field(default_factory=list)
    machines: list[Machine] = field(default_factory=list)
    attention: list[str] = field(default_factory=list)
    taps: list[tuple[float, float]] = field(default_factory=list)
    bubbles: list[Bubble] = field(default_factory=list)
    words: list[Words] = field(default_factory=list)


@dataclass(frozen=True)
class WaterScene:
    """What is drawn: the train, its latest values (canonical, by column), the reader's units, and stages to mark."""

    train: Train
    latest: Mapping[str, float]
    units: str
    attention: Mapping[int, str]

    @property
    def last_stage(self) -> int:
        return len(self.train.stages)

    def gauges(self, listed: Listed, prefix: str = "") -> list[Gauge]:
        """Gauges of a list that have a value."""
        found = []
        for name, label in listed:
            quantity = QUANTITIES.get(prefix + name)
            if quantity and quantity.column in self.latest:
                found.append(_gauge(quantity, label, self.latest[quantity.column], self.units))
        return found

    def stage_gauges(self, stage: int, listed: Listed) -> list[Gauge]:
        return self.gauges(listed, f"stage{stage}_")

    def concentrate_gauges(self) -> list[Gauge]:
        """Gauges of what leaves the train; those that are named after the last stage stand in where needed."""
        found = self.gauges(CONCENTRATE)
        there = {gauge.label for gauge in found}
        return found + [g for g in self.stage_gauges(self.last_stage, STAGE_OUT) if g.label not in there]

    def after_stage(self, stage: int) -> str:
        """Look of the water that leaves a stage, between feed and concentrate."""
        if stage == self.last_stage:
            return "concentrate"
        return f"pass-{pass_number(stage + 0.5, self.last_stage)}"


def pass_number(stage: float, stages: int) -> int:
    """Which of the four shades from feed to concentrate belongs to a stage.

    Examples
    --------
    >>> [pass_number(n, 2) for n in (1, 2)], [pass_number(n, 3) for n in (1, 2, 3)]
    ([0, 3], [0, 2, 3])
    """
    return 0 if stages == 1 else min(3, int(3 * (stage - 1) / (stages - 1) + 0.5))


def _gauge(quantity: Quantity, label: str, value: float, units: str) -> Gauge:
    text = in_reader_units(value, quantity, units)
    return Gauge(quantity.instrument, text, reader_unit(quantity, units), label, quantity.water)


def stage_title(stage: int, vessels: int, elements: int) -> str:
    """Such as "stage 1 · 2 × 6"."""
    return f"stage {stage} · {vessels} × {elements}"


class Pen(Protocol):
    """Draws what the water comes to, one after the other, along a main line of its own."""

    def group(self, gauges: list[Gauge]) -> None:
        """Gauges on the line."""

    def machine(self, kind: str, title: str, gauges: list[Gauge]) -> None:
        """A filter or a pump, and its gauges."""

    def stage(self, number: int) -> None:
        """The vessels of a stage, and its permeate."""


def draw_way(scene: WaterScene, pen: Pen) -> None:
    """Lead a pen along the water: pretreatment, pump, stages."""
    pen.group(scene.gauges(RAW))
    for listed, kind, title in ((MEDIA, "media", "media filter"), (CARTRIDGE, "cartridge", "cartridge")):
        if gauges := scene.gauges(listed):
            pen.machine(kind, title, gauges)
    pen.group(scene.gauges(ANALYSIS))
    pen.machine("pump", "pump", scene.gauges(PUMP))
    pen.group(scene.gauges(FEED))
    for number, stage in enumerate(scene.train.stages, start=1):
        if number > 1 and stage.booster:
            pen.machine("pump", "booster", [])
        if number > 1:
            pen.group(scene.stage_gauges(number, (("feed_pressure", "pressure"),)))
        pen.stage(number)
        if number < scene.last_stage:
            pen.group(scene.stage_gauges(number, STAGE_OUT))
