"""Fields of a cleaning's record and of the prices: names, labels, units, what is possible. There is no other list."""

from dataclasses import dataclass
from typing import Literal

from analytics.decisions.cleaning_solution import PROGRAMMES
from analytics.units import display_unit
from server.display import unit_symbol

Kind = Literal["number", "text", "long text", "choice", "tick"]
Options = tuple[tuple[str, str], ...]
LONGEST_TEXT, LONGEST_LONG_TEXT = 200, 4_000
MOST_STEPS = 5
CONVERTED = {"degC", "bar", "m3/h", "L", "kg"}
"""Units that a reader may have as others."""


@dataclass(frozen=True)
class RecordField:
    """One field; `low` and `high` are what is possible at all, in the canonical unit. `group` is its heading."""

    name: str
    label: str
    kind: Kind = "number"
    unit: str = ""
    low: float = 0.0
    high: float = 1e6
    hint: str = ""
    options: Options = ()
    group: str = ""

    def symbol(self, units: str, currency: str) -> str:
        """Its unit as a reader sees it; empty for what has none."""
        unit = display_unit(self.unit, units) if self.unit in CONVERTED else self.unit
        return unit_symbol(unit.replace("money", currency or "money")) if unit else ""


FOULANTS: Options = (
    *((key, p.name) for key, p in PROGRAMMES.items() if key != "unknown"),
    ("unknown", PROGRAMMES["unknown"].name),
)
MAKE_UP: Options = (
    ("", "Not written down"), ("permeate", "Permeate"), ("softened", "Softened water"), ("other", "Other water"),
)  # fmt: skip
FOAM: Options = (("", "Not looked at"), ("no", "No foam"), ("yes", "It still foamed"))
SUGGESTED = (
    "Sodium hydroxide", "Sodium hydroxide with anionic surfactant", "Sodium hydroxide with EDTA", "Citric acid",
    "Hydrochloric acid", "Sodium hydrosulfite", "Non-oxidising biocide",
)  # fmt: skip
"""Names that the field of a chemical suggests; any other can be written."""

HEAD: tuple[RecordField, ...] = (
    RecordField("reason", "Why now", "text", hint="Which indicator, and where it stood.", group="Before"),
    RecordField("foulant", "What was suspected", "choice", options=FOULANTS, group="Before"),
    RecordField("vessels", "Which vessels", "text", hint="All of the stage, or their numbers.", group="Before"),
    RecordField("people", "Who did it", "text", group="Before"),
    RecordField("make_up", "Make-up water", "choice", options=MAKE_UP, group="Before"),
    RecordField("make_up_chlorine_mg_l", "Chlorine in it", unit="mg/L", high=100, hint="0 when the test showed none.",
                group="Before"),
    RecordField("rinse_ph", "pH at the end of the rinse", unit="-", high=14, group="Afterwards"),
    RecordField("rinse_conductivity_us_cm", "Conductivity at the end of the rinse", unit="uS/cm", high=200_000,
                group="Afterwards"),
    RecordField("rinse_foam", "Foam at the end", "choice", options=FOAM, group="Afterwards"),
    RecordField("waste_volume_l", "Volume drained", unit="L", high=1e7, group="Afterwards"),
    RecordField("waste_ph", "Its pH when it left", unit="-", high=14, group="Afterwards"),
    RecordField("waste_route", "Where it went", "text", group="Afterwards"),
    RecordField("chemicals_cost", "Chemicals", unit="money", high=1e9, group="Cost"),
    RecordField("labour_hours", "Labour", unit="h", high=10_000, group="Cost"),
    RecordField("downtime_hours", "Not producing", unit="h", high=10_000, group="Cost"),
    RecordField("energy_kwh", "Heat and pumping", unit="kWh", high=1e6, group="Cost"),
    RecordField("waste_cost", "Waste", unit="money", high=1e9, group="Cost"),
    RecordField("remarks", "What else was seen", "long text", group="Words"),
    RecordField("next_action", "What comes next", "text", group="Words"),
)  # fmt: skip
STEP: tuple[RecordField, ...] = (
    RecordField("chemical", "Chemical", "text", hint="One solution a bath; name what is in it."),
    RecordField("lot", "Lot", "text"),
    RecordField("mass_kg", "Amount", unit="kg", high=100_000),
    RecordField("share_percent", "Strength by weight", unit="%", high=100),
    RecordField("volume_l", "Volume mixed", unit="L", high=1e6),
    RecordField("ph_start", "pH at the start", unit="-", high=14),
    RecordField("ph_end", "pH at the end", unit="-", high=14),
    RecordField("temperature_start_c", "Temperature at the start", unit="degC", low=0, high=100),
    RecordField("temperature_end_c", "Temperature at the end", unit="degC", low=0, high=100),
    RecordField("flow_per_vessel_m3h", "Flow per vessel", unit="m3/h", high=100),
    RecordField("pressure_in_bar", "Pressure in", unit="bar", high=100),
    RecordField("pressure_out_bar", "Pressure out", unit="bar", high=100),
    RecordField("minutes", "Circulated", unit="min", high=10_000),
    RecordField("soak_minutes", "Soaked", unit="min", high=10_000),
    RecordField("observations", "Colour, turbidity, foam", "text"),
    RecordField("renewed", "The solution was made up anew", "tick"),
)
FROM_BUDGET: tuple[tuple[str, str, str, str], ...] = (
    ("energy_price", "energy_price", "Electricity", "money/kWh"),
    ("efficiency", "pump_efficiency", "Efficiency of pump and motor", "-"),
    ("labour_rate", "labour_rate", "One hour of labour", "money/h"),
    ("water_value", "water_value", "Permeate that is not made", "money/m3"),
    ("element_price", "element_price", "One element", "money"),
)
"""Prices that the budget of the site already holds: its name there, here, label and unit. They are changed there."""
PRICES: tuple[RecordField, ...] = (
    RecordField("chemicals_cost", "Chemicals of one cleaning", unit="money", high=1e9),
    RecordField("labour_hours", "Labour of one cleaning", unit="h", high=10_000),
    RecordField("downtime_hours", "Time without permeate", unit="h", high=10_000),
    RecordField("waste_price", "Waste and rinse water", unit="money/m3", high=1e6),
    RecordField("cleanings_in_life", "Cleanings that an element stands", unit="-", low=1, high=1_000,
                hint="Each uses up a part of its life; 30 to 60 is common practice, no source."),
    RecordField("spare_pressure_bar", "Pressure that the pump can still add", unit="bar", high=200,
                hint="From a clean train to its limit; empty where it never gets there."),
    RecordField("late_cost", "What a day past the limit costs for good", unit="money/d", high=1e6,
                hint="Elements that age faster; empty where it is not counted."),
)  # fmt: skip
HEAD_BY_NAME = {f.name: f for f in HEAD}
STEP_BY_NAME = {f.name: f for f in STEP}
