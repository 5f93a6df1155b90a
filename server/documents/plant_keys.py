"""What each key of a plant file means, for docs/files.md. Defaults and kinds come from the dataclasses themselves."""

import dataclasses
import types
import typing
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Literal

from analytics import plant

MEANINGS = {
    "site.name": "Name of the site.",
    "site.timezone": (
        "IANA name of its clock, such as `Europe/Lisbon`. Times without an offset are meant by it, and "
        "days begin and end by it."
    ),
    "site.currency": "Money of the site, such as `EUR`.",
    "site.location": "Where it is, in words.",
    "site.units": "Units in which pages show values.",
    "train.name": "Name of the train.",
    "train.water": "How osmotic pressure and dissolved salts follow from conductivity.",
    "train.stage.vessels": "Pressure vessels in parallel.",
    "train.stage.elements_per_vessel": "Elements in series in each vessel.",
    "train.stage.membrane": "Name of a `[membrane.NAME]` table.",
    "train.stage.booster": "A pump feeds this stage; then `stageN_feed_pressure` belongs into the log.",
    "train.reference.start": "First day of the reference period.",
    "train.reference.end": "Last day of it, included.",
    "train.assumed.feed_temperature": (
        "Feed temperature in degC where it is not measured. Without it the answer says that it is not "
        "corrected for temperature."
    ),
    "train.assumed.permeate_pressure": (
        "Permeate pressure in bar where it is not measured. Without it the standard method takes 0, and the membrane"
        " model looks for it."
    ),
    "train.assumed.tds_per_conductivity": (
        "Dissolved solids over conductivity, mg/L per uS/cm, in place of the curve of `water`."
    ),
    "train.assumed.osmotic_factor": (
        "Osmotic pressure of this water over that of the law, 0.5 to 1.3; the membrane model finds it where it must."
    ),
    "train.limits.permeate_flow_warn": "Normalized permeate flow, ratio to the reference: watch.",
    "train.limits.permeate_flow_clean": "The same: plan a cleaning.",
    "train.limits.permeate_flow_too_late": "The same: cleaning may no longer bring it back.",
    "train.limits.salt_passage_warn": "Normalized salt passage, ratio to the reference: watch.",
    "train.limits.salt_passage_clean": "The same: act.",
    "train.limits.salt_passage_too_late": "The same: too late.",
    "train.limits.pressure_drop_warn": "Normalized pressure drop of a stage, ratio to the reference: watch.",
    "train.limits.pressure_drop_clean": "The same: plan a cleaning.",
    "train.limits.pressure_drop_too_late": "The same: elements may be harmed.",
    "train.limits.min_suction_pressure_bar": "Suction pressure of the high-pressure pump below which to act, in bar.",
    "train.limits.max_free_chlorine_mg_l": "Free chlorine in the feed of a day above which to act, in mg/L.",
    "train.limits.max_chlorine_exposure_ppm_h": (
        "Free chlorine that elements may have seen since they were new, concentration times hours: watch."
    ),
    "train.limits.max_orp_rise_mv": "Feed ORP above the site's own without chlorine from which to watch, in mV.",
    "train.method.pressure_drop_exponent": "Pressure drop grows with flow to this power.",
    "train.method.pressure_drop_viscosity": "Correct the pressure drop for the viscosity of the water.",
    "train.screening.running_permeate_flow_m3h": (
        "The train runs when it makes at least this, in m3/h. Without it, a share of the usual flow is asked for."
    ),
    "train.screening.running_share_of_usual_flow": "That share.",
    "train.screening.settling_minutes": "Minutes after a start that are set aside.",
    "train.screening.flow_balance_tolerance": (
        "How far feed may differ from permeate and concentrate together, as a fraction."
    ),
    "train.screening.salt_balance_tolerance": "The same for the salt in them.",
    "train.screening.pressure_tolerance_bar": "How far pressures may be out of the order of the water, in bar.",
    "train.screening.spike_ratio": ("A reading is a spike beyond this many times the usual scatter between neighbours"),
    "train.screening.spike_least_change": "It is also at least this fraction of the level away.",
    "train.screening.frozen_readings": "This many readings with the very same value mean a frozen meter.",
    "train.screening.clipped_readings": (
        "This many readings of a conductivity at a value that none passes may mean the end of its scale."
    ),
    "train.meters.pressure_accuracy_bar": (
        "How exact the pressure gauges are, in bar. Sets how little the days may be taken to scatter in the membrane "
        "model, and how far a pressure drop may be off on all days alike."
    ),
    "train.meters.flow_accuracy": "The same for flow meters, as a fraction.",
    "train.meters.conductivity_accuracy": "The same for conductivity cells, as a fraction.",
    "train.meters.temperature_accuracy_c": "The same for thermometers, in degC.",
    "train.meters.pressure_calibration_days": "Days after which a pressure gauge is to be compared; 0 reminds nobody.",
    "train.meters.flow_calibration_days": "The same for flow meters.",
    "train.meters.conductivity_calibration_days": "The same for conductivity cells.",
    "train.meters.temperature_calibration_days": "The same for thermometers.",
    "train.meters.ph_calibration_days": "The same for pH and ORP.",
    "train.cleaning.pipe_length_m": "Length of all pipes and hoses of the cleaning circuit, in m.",
    "train.cleaning.pipe_diameter_mm": "Inside diameter of these pipes, in mm.",
    "train.cleaning.filter_length_m": "Length of the housing of the cleaning circuit's cartridge filter, in m.",
    "train.cleaning.filter_diameter_mm": "Inside diameter of that housing, in mm.",
    "train.cleaning.vessel_fill": "Share of a bare vessel that the elements leave to the solution.",
    "train.cleaning.tank_heel": "What the tank must hold on top of the circuit, as a fraction of it.",
    "train.cleaning.tank_volume_m3": "Volume of the cleaning tank that can be used, in m3.",
    "train.cleaning.pump_flow_m3h": "Largest flow of the cleaning pump, in m3/h; says how many vessels go together.",
    "train.cleaning.heater_kw": "Power of the heater of the cleaning tank, in kW.",
    "train.dosing.antiscalant_mg_l": "Antiscalant that is meant: product as delivered, in mg to a litre of feed.",
    "train.dosing.antiscalant_tank_share": "Volume fraction of product in its dosing tank, 1 where it is undiluted.",
    "train.dosing.antiscalant_density_kg_l": "Density of what is in that tank, in kg/L.",
    "membrane.NAME.area_m2": "Membrane area of one element, in m2.",
    "membrane.NAME.diameter_inch": "Diameter of the element, in inches.",
    "membrane.NAME.temperature_correction": "How water permeability follows temperature.",
    "membrane.NAME.slope_k": "Slope for `exponential`, in K.",
    "membrane.NAME.percent_per_degc": "For `percent`, percent per degC.",
    "membrane.NAME.salt_temperature_correction": (
        "How salt permeability follows temperature: like water, not at all, or with a slope of its own."
    ),
    "membrane.NAME.salt_slope_k": "That slope, in K.",
    "membrane.NAME.water_permeability_lmh_bar": "Water permeability at 25 degC from the data sheet, in L/(m2 h bar).",
    "membrane.NAME.salt_permeability_lmh": "Salt permeability at 25 degC from the data sheet, in L/(m2 h).",
    "membrane.NAME.max_dp_element_bar": "Largest pressure drop of one element, in bar.",
    "membrane.NAME.max_dp_vessel_bar": "Largest pressure drop of one vessel, in bar.",
    "membrane.NAME.max_pressure_bar": "Largest feed pressure, in bar.",
    "membrane.NAME.max_temperature_c": "Highest temperature, in degC.",
    "membrane.NAME.element_length_m": "Length of one element, in m (40 inches for the usual ones).",
    "membrane.NAME.cleaning_min_ph": "Lowest pH in a cleaning.",
    "membrane.NAME.cleaning_max_ph_25c": "Highest pH in a cleaning up to 25 degC.",
    "membrane.NAME.cleaning_max_ph_35c": "The same up to 35 degC.",
    "membrane.NAME.cleaning_max_ph_45c": "The same up to 45 degC.",
    "membrane.NAME.cleaning_max_temperature_c": "Highest temperature in a cleaning, in degC.",
    "membrane.NAME.cleaning_max_pressure_bar": "Highest pressure in a cleaning, in bar.",
}

_TABLES: tuple[tuple[str, type], ...] = (
    ("site", plant.Site),
    ("train", plant.Train),
    ("train.stage", plant.Stage),
    ("train.reference", plant.Reference),
    ("train.assumed", plant.Assumed),
    ("train.limits", plant.Limits),
    ("train.method", plant.Method),
    ("train.screening", plant.Screening),
    ("train.meters", plant.Meters),
    ("train.cleaning", plant.CleaningSystem),
    ("train.dosing", plant.DosingSystem),
    ("membrane.NAME", plant.Membrane),
)
_INSIDE = {
    "membrane_name",
    "stages",
    "reference",
    "assumed",
    "limits",
    "method",
    "screening",
    "meters",
    "cleaning",
    "dosing",
}
"""Fields that are tables of their own in the file, or not in it."""


@dataclass(frozen=True)
class Key:
    """One key of a plant file; `default` is empty where it must be given."""

    table: str
    path: str
    kind: str
    default: str


def plant_keys() -> Iterator[Key]:
    """Every key of a plant file, in the order of the file."""
    for table, kind in _TABLES:
        hints = typing.get_type_hints(kind)
        for field in dataclasses.fields(kind):
            if field.name not in _INSIDE:
                yield Key(table, f"{table}.{field.name}", _kind(hints[field.name]), _default(field))


def _kind(hint: Any) -> str:
    options = typing.get_args(hint) if isinstance(hint, types.UnionType) else (hint,)
    if typing.get_origin(hint) is Literal:
        return ", ".join(f'"{value}"' for value in typing.get_args(hint))
    names = {float: "number", int: "whole number", str: "text", bool: "true or false", plant.Membrane: "text"}
    return " or ".join(names.get(o, o.__name__) for o in options if o is not type(None))


def _default(field: "dataclasses.Field[Any]") -> str:
    if field.default is dataclasses.MISSING:
        return ""
    value = field.default
    if isinstance(value, bool):
        return str(value).lower()
    return "none" if value is None else f'"{value}"' if isinstance(value, str) else f"{value:g}"
