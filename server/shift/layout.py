"""The fields of a shift log in the order of the walk along the water, as a site has laid them out."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from analytics.quantities import COLUMNS
from analytics.units import units_of

AREAS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("Raw water", ("raw_pressure_bar", "feed_temperature_c", "feed_conductivity_us_cm", "feed_tds_mg_l", "feed_ph",
                   "feed_turbidity_ntu", "raw_free_chlorine_mg_l")),
    ("Filters and dosing", ("media_filter_inlet_pressure_bar", "media_filter_outlet_pressure_bar",
                            "antiscalant_tank_level_l", "antiscalant_dose_mg_l", "bisulfite_tank_level_l",
                            "bisulfite_dose_mg_l", "feed_orp_mv", "feed_free_chlorine_mg_l", "acid_dose_mg_l",
                            "cartridge_inlet_pressure_bar", "cartridge_outlet_pressure_bar", "feed_sdi")),
    ("Pump", ("pump_suction_pressure_bar", "pump_discharge_pressure_bar", "pump_current_a", "pump_frequency_hz",
              "pump_power_kw")),
    ("Membranes", ("feed_flow_m3h", "feed_pressure_bar")),
    ("Concentrate", ("concentrate_pressure_bar", "concentrate_flow_m3h", "concentrate_conductivity_us_cm",
                     "concentrate_tds_mg_l", "concentrate_ph", "recycle_flow_m3h")),
    ("Permeate", ("permeate_flow_m3h", "permeate_conductivity_us_cm", "permeate_tds_mg_l", "permeate_pressure_bar",
                  "permeate_ph")),
    ("Counters", ("hours_counter_h", "energy_counter_kwh", "permeate_counter_m3")),
)  # fmt: skip
"""Where each gauge stands on the walk, after the order in which makers' record sheets ask for them (from memory)."""

OF_A_STAGE = ("feed_pressure_bar", "concentrate_pressure_bar", "permeate_flow_m3h", "permeate_conductivity_us_cm",
              "permeate_pressure_bar", "concentrate_conductivity_us_cm")  # fmt: skip
BASIC = ("feed_temperature_c", "feed_conductivity_us_cm", "feed_pressure_bar", "concentrate_pressure_bar",
         "concentrate_flow_m3h", "permeate_flow_m3h", "permeate_conductivity_us_cm", "stage1_concentrate_pressure_bar",
         "stage1_permeate_flow_m3h", "hours_counter_h")  # fmt: skip
"""What a train without any reading is asked for."""
LONGEST_TAG = 40


@dataclass(frozen=True)
class LogField:
    """One field: what it measures, the site's own tag, the unit of its gauge, and whether it is left out."""

    column: str
    area: str
    tag: str
    unit: str
    hidden: bool

    def stored(self) -> dict[str, Any]:
        """What of it is kept with the layout."""
        return {"column": self.column, "tag": self.tag, "unit": self.unit, "hidden": self.hidden}


def walk(stages: int) -> dict[str, str]:
    """Every column of a train with so many stages and the area where its gauge stands, in the order of the walk."""
    found: dict[str, str] = {}
    for area, names in AREAS:
        found |= dict.fromkeys(names, area)
        if area == "Membranes":
            for number in range(1, stages + 1):
                own = (f"stage{number}_{name}" for name in OF_A_STAGE)
                found |= {name: f"Stage {number}" for name in own if name in COLUMNS}
    return found


def laid_out(
    stages: int, columns: Sequence[str], kept: Iterable[Mapping[str, Any]], units: Mapping[str, str]
) -> tuple[LogField, ...]:
    """All fields of a train in order.

    Parameters
    ----------
    columns
        Those that any of its readings has.
    kept
        The layout that was chosen, perhaps with columns that are not known any more.
    units
        The unit of each column where nobody has chosen one.
    """
    areas = walk(stages)
    known = set(columns) or set(BASIC)
    standing = {
        name: LogField(name, area, "", units.get(name, COLUMNS[name].unit), name not in known)
        for name, area in areas.items()
    }
    chosen = {one["column"]: _chosen(standing[one["column"]], one) for one in kept if one.get("column") in standing}
    left = [field for name, field in standing.items() if name not in chosen]
    return (*chosen.values(), *left)


def _chosen(field: LogField, one: Mapping[str, Any]) -> LogField:
    unit = one.get("unit", "")
    fits = unit in units_of(COLUMNS[field.column].unit)
    return LogField(
        field.column, field.area, str(one.get("tag", ""))[:LONGEST_TAG], unit if fits else field.unit,
        bool(one.get("hidden")),
    )  # fmt: skip
