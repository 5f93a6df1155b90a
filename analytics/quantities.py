"""The glossary: every measured quantity, its unit, symbol and plausible range. There is no other list.

A column is named quantity + unit suffix (`feed_pressure_bar`); that one name is the form field, the database
column, the frame column and the argument. Quantities of one stage are written `stage2_feed_pressure`.

Ranges are common practice for brackish water, no source unless `meaning` names one: outside `possible` a value
cannot be true and is set aside; outside `usual` it is worth a question. `usual` may be narrowed per plant.
"""

import difflib
import re
from dataclasses import dataclass, replace
from typing import Literal

from analytics.errors import InvalidSettings

Water = Literal["raw", "feed", "permeate", "concentrate", "plant"]
MAX_STAGES = 4

SUFFIXES = {
    "degC": "c", "m3/h": "m3h", "bar": "bar", "uS/cm": "us_cm", "mg/L": "mg_l", "-": "", "mV": "mv", "NTU": "ntu",
    "kW": "kw", "kWh": "kwh", "h": "h", "m3": "m3", "Hz": "hz", "A": "a", "L": "l", "kg": "kg",
}  # fmt: skip


@dataclass(frozen=True)
class Quantity:
    """One measured quantity.

    `instrument` holds the letters of its bubble on a drawing after ISA-5.1 (P pressure, F flow, T temperature,
    C conductivity by user's choice, A analysis, J power, I indicator).
    """

    name: str
    unit: str
    label: str
    meaning: str
    water: Water
    instrument: str
    possible: tuple[float, float]
    usual: tuple[float, float]
    stage: int | None = None

    @property
    def column(self) -> str:
        """Name in frames, forms and tables: `feed_pressure_bar`."""
        suffix = SUFFIXES[self.unit]
        return f"{self.name}_{suffix}" if suffix else self.name


def _flow(name: str, label: str, water: Water, meaning: str) -> Quantity:
    return Quantity(name, "m3/h", label, meaning, water, "FI", (0, 20_000), (0.05, 5_000))


def _pressure(name: str, label: str, water: Water, meaning: str, possible: tuple[float, float]) -> Quantity:
    usual = (max(possible[0], 0.0), possible[1] / 2)
    return Quantity(name, "bar", label, f"{meaning} Gauge pressure.", water, "PI", possible, usual)


def _conductivity(name: str, label: str, water: Water, meaning: str) -> Quantity:
    possible = (0.05, 200_000.0) if water != "permeate" else (0.05, 20_000.0)
    usual = (50.0, 60_000.0) if water != "permeate" else (0.5, 2_000.0)
    return Quantity(name, "uS/cm", label, f"{meaning} Compensated to 25 degC.", water, "CI", possible, usual)


_TRAIN: tuple[Quantity, ...] = (
    Quantity("feed_temperature", "degC", "Feed temperature", "Temperature of the feed water.",
             "feed", "TI", (0.1, 50), (4, 40)),
    _flow("feed_flow", "Feed flow", "feed", "Feed to the train, before any recycle joins it."),
    _flow("permeate_flow", "Permeate flow", "permeate", "Permeate of all stages together."),
    _flow("concentrate_flow", "Concentrate flow", "concentrate", "Concentrate leaving the train."),
    _flow("recycle_flow", "Recycle flow", "concentrate", "Concentrate led back to the feed of stage 1."),
    _pressure("feed_pressure", "Feed pressure", "feed", "Into the membranes of stage 1.", (-1, 90)),
    _pressure("concentrate_pressure", "Concentrate pressure", "concentrate", "Leaving the last stage.", (-1, 90)),
    _pressure("permeate_pressure", "Permeate pressure", "permeate", "In the common permeate header.", (-1, 20)),
    _conductivity("feed_conductivity", "Feed conductivity", "feed", "Feed, before any recycle joins it."),
    _conductivity("permeate_conductivity", "Permeate conductivity", "permeate", "Permeate of all stages together."),
    _conductivity("concentrate_conductivity", "Concentrate conductivity", "concentrate",
                  "Concentrate leaving the train."),
    Quantity("feed_tds", "mg/L", "Feed TDS", "Dissolved solids, measured or known.", "feed", "AI",
             (1, 120_000), (50, 45_000)),
    Quantity("permeate_tds", "mg/L", "Permeate TDS", "Dissolved solids, measured or known.", "permeate", "AI",
             (0, 20_000), (0.2, 1_000)),
    Quantity("concentrate_tds", "mg/L", "Concentrate TDS", "Dissolved solids, measured or known.", "concentrate",
             "AI", (1, 200_000), (100, 90_000)),
    Quantity("feed_ph", "-", "Feed pH", "After any acid.", "feed", "AI", (0, 14), (5, 9)),
    Quantity("permeate_ph", "-", "Permeate pH", "Before any correction.", "permeate", "AI", (0, 14), (4, 9)),
    Quantity("concentrate_ph", "-", "Concentrate pH", "Leaving the train.", "concentrate", "AI", (0, 14), (5, 9.5)),
    Quantity("feed_orp", "mV", "Feed ORP", "Oxidation-reduction potential after dechlorination.", "feed", "AI",
             (-1_000, 1_200), (-300, 350)),
    Quantity("raw_free_chlorine", "mg/L", "Raw water free chlorine", "Before dechlorination.", "raw", "AI",
             (0, 20), (0, 2)),
    Quantity("feed_free_chlorine", "mg/L", "Feed free chlorine", "After dechlorination.", "feed", "AI",
             (0, 20), (0, 0.1)),
    Quantity("feed_turbidity", "NTU", "Feed turbidity", "After the filters.", "feed", "AI", (0, 1_000), (0, 1)),
    Quantity("feed_sdi", "-", "Feed SDI", "Silt density index over 15 minutes (ASTM D4189); 6.67 is its largest value.",
             "feed", "AI", (0, 6.67), (0, 5)),
    _pressure("raw_pressure", "Raw water pressure", "raw", "Raw water supply.", (-1, 25)),
    _pressure("media_filter_inlet_pressure", "Media filter inlet pressure", "raw", "Before the filter.", (-1, 25)),
    _pressure("media_filter_outlet_pressure", "Media filter outlet pressure", "raw", "After the filter.", (-1, 25)),
    _pressure("cartridge_inlet_pressure", "Cartridge inlet pressure", "raw", "Before the filter.", (-1, 25)),
    _pressure("cartridge_outlet_pressure", "Cartridge outlet pressure", "feed", "After the filter.", (-1, 25)),
    _pressure("pump_suction_pressure", "Pump suction pressure", "feed", "Before the high-pressure pump.", (-1, 25)),
    _pressure("pump_discharge_pressure", "Pump discharge pressure", "feed", "After the high-pressure pump.", (-1, 90)),
    Quantity("pump_power", "kW", "Pump power", "Electrical power of the high-pressure pump.", "plant", "JI",
             (0, 20_000), (0.1, 5_000)),
    Quantity("energy_counter", "kWh", "Energy counter", "Reading of the energy meter.", "plant", "JQI",
             (0, 1e12), (0, 1e11)),
    Quantity("hours_counter", "h", "Hours counter", "Hours run.", "plant", "KQI", (0, 1e6), (0, 3e5)),
    Quantity("permeate_counter", "m3", "Permeate counter", "Total permeate made.", "permeate", "FQI",
             (0, 1e12), (0, 1e11)),
    Quantity("pump_frequency", "Hz", "Pump frequency", "Of the drive of the high-pressure pump.", "plant", "SI",
             (0, 400), (10, 75)),
    Quantity("pump_current", "A", "Pump current", "Of the motor of the high-pressure pump.", "plant", "II",
             (0, 5_000), (0.1, 1_000)),
    Quantity("antiscalant_dose", "mg/L", "Antiscalant dose", "Product as delivered, into the feed.", "feed", "AI",
             (0, 100), (0.5, 10)),
    Quantity("bisulfite_dose", "mg/L", "Bisulfite dose", "Into the feed.", "feed", "AI", (0, 500), (0, 20)),
    Quantity("acid_dose", "mg/L", "Acid dose", "Into the feed.", "feed", "AI", (0, 2_000), (0, 300)),
    Quantity("antiscalant_tank_level", "L", "Antiscalant tank level", "In the dosing tank.", "plant", "LI",
             (0, 100_000), (0, 5_000)),
    Quantity("bisulfite_tank_level", "L", "Bisulfite tank level", "In the dosing tank.", "plant", "LI",
             (0, 100_000), (0, 5_000)),
)  # fmt: skip

_STAGE: tuple[Quantity, ...] = (
    _flow("permeate_flow", "permeate flow", "permeate", "Permeate of this stage alone."),
    _pressure("feed_pressure", "feed pressure", "feed",
              "Into this stage, where a booster or valve makes it differ from the stage before.", (-1, 90)),
    _pressure("concentrate_pressure", "concentrate pressure", "concentrate", "Leaving this stage.", (-1, 90)),
    _pressure("permeate_pressure", "permeate pressure", "permeate", "Permeate of this stage.", (-1, 40)),
    _conductivity("permeate_conductivity", "permeate conductivity", "permeate", "Permeate of this stage alone."),
    _conductivity("concentrate_conductivity", "concentrate conductivity", "concentrate", "Leaving this stage."),
)  # fmt: skip


def _of_stage(template: Quantity, stage: int) -> Quantity:
    return replace(template, name=f"stage{stage}_{template.name}", label=f"Stage {stage} {template.label}", stage=stage)


_STAGED = tuple(
    _of_stage(template, stage)
    for stage in range(1, MAX_STAGES + 1)
    for template in _STAGE
    if not (stage == 1 and template.name == "feed_pressure")  # that one is `feed_pressure`
)

QUANTITIES: dict[str, Quantity] = {q.name: q for q in (*_TRAIN, *_STAGED)}
COLUMNS: dict[str, Quantity] = {q.column: q for q in QUANTITIES.values()}

STATES = ("running", "starting", "stopped")
"""What the operator says the plant was doing; only `running` readings enter trends. No entry means running."""


def quantity(name: str) -> Quantity:
    """Look a quantity up by its name.

    Raises
    ------
    InvalidSettings
        With the nearest known names, when there is none of that name.

    Examples
    --------
    >>> quantity("stage2_feed_pressure").column
    'stage2_feed_pressure_bar'
    """
    found = QUANTITIES.get(name.strip().lower())
    if found is None:
        raise InvalidSettings(f'"{name}" is not a quantity known here{nearest_names(name)}')
    return found


def nearest_names(name: str) -> str:
    """Return a "did you mean" clause for a name that is not known, or nothing when none is near."""

    wanted = re.sub(r"[^a-z0-9]+", "_", name.strip().lower())
    near = difflib.get_close_matches(wanted, QUANTITIES, n=2, cutoff=0.75)
    return f"; did you mean {' or '.join(near)}?" if near else ""
