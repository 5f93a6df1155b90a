"""A plant from the plain dictionary of its file (design of the file: docs/files.md).

What is missing, unknown or of the wrong kind raises `InvalidSettings` with the path of its key, such as
`train.stage[2].vessels`.
"""

import dataclasses
from collections.abc import Mapping
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from analytics.errors import InvalidSettings
from analytics.plant import (
    Assumed,
    CleaningSystem,
    DosingSystem,
    Limits,
    Membrane,
    Meters,
    Method,
    Plant,
    Reference,
    Screening,
    Site,
    Stage,
    Train,
)
from analytics.quantities import MAX_STAGES
from analytics.typed_tables import build, only_keys, table


def plant_from_dict(data: Mapping[str, Any]) -> Plant:
    """Build a plant from the dictionary of its file.

    Raises
    ------
    InvalidSettings
        A key that is missing, unknown or of the wrong kind, named by its path.
    """
    only_keys(data, {"site", "train", "membrane"}, "")
    site = build(Site, table(data, "site", ""), "site")
    _check_timezone(site.timezone)
    train = dict(table(data, "train", ""))
    membranes = {
        name: _membrane(table(table(data, "membrane", ""), name, "membrane"), f"membrane.{name}")
        for name in table(data, "membrane", "")
    }
    stages = train.pop("stage", None)
    if not isinstance(stages, list) or not stages:
        raise InvalidSettings("train.stage: at least one [[train.stage]] is needed")
    if len(stages) > MAX_STAGES:
        raise InvalidSettings(f"train.stage: at most {MAX_STAGES} stages are handled, {len(stages)} were given")
    nested = {
        "reference": Reference,
        "assumed": Assumed,
        "limits": Limits,
        "method": Method,
        "screening": Screening,
        "meters": Meters,
        "cleaning": CleaningSystem,
        "dosing": DosingSystem,
    }
    settings: dict[str, Any] = {
        key: build(kind, table(train, key, "train"), f"train.{key}") for key, kind in nested.items() if key in train
    }
    settings |= {key: value for key, value in train.items() if key not in nested}
    settings["stages"] = tuple(
        _stage(stage, membranes, f"train.stage[{number}]") for number, stage in enumerate(stages, start=1)
    )
    result = Plant(site, build(Train, settings, "train"))
    _check_ranges(result.train)
    return result


def _stage(data: Any, membranes: Mapping[str, Membrane], path: str) -> Stage:
    if not isinstance(data, Mapping):
        raise InvalidSettings(f"{path}: expected a table")
    values = dict(data)
    name = values.pop("membrane", None)
    if name not in membranes:
        known = ", ".join(sorted(membranes)) or "none"
        raise InvalidSettings(f'{path}.membrane: "{name}" has no [membrane.{name}] table (there are: {known})')
    stage: Stage = build(Stage, values | {"membrane": membranes[name], "membrane_name": name}, path)
    for key in ("vessels", "elements_per_vessel"):
        if getattr(stage, key) < 1:
            raise InvalidSettings(f"{path}.{key}: at least 1 is needed")
    return stage


def _membrane(data: Mapping[str, Any], path: str) -> Membrane:
    membrane: Membrane = build(Membrane, data, path)
    needs = {"exponential": "slope_k", "percent": "percent_per_degc"}.get(membrane.temperature_correction)
    if needs and getattr(membrane, needs) is None:
        raise InvalidSettings(
            f'{path}.{needs}: needed with temperature_correction = "{membrane.temperature_correction}"'
        )
    if membrane.salt_temperature_correction == "exponential" and membrane.salt_slope_k is None:
        raise InvalidSettings(f'{path}.salt_slope_k: needed with salt_temperature_correction = "exponential"')
    for entry in dataclasses.fields(membrane):
        value = getattr(membrane, entry.name)
        if isinstance(value, float) and value <= 0:
            raise InvalidSettings(f"{path}.{entry.name}: must be above zero, found {value:g}")
    if not membrane.cleaning_max_ph_25c >= membrane.cleaning_max_ph_35c >= membrane.cleaning_max_ph_45c:
        raise InvalidSettings(f"{path}.cleaning_max_ph_35c: the highest pH must not rise with temperature")
    return membrane


def _check_timezone(name: str) -> None:
    try:
        ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError) as error:
        raise InvalidSettings(
            f'site.timezone: "{name}" is not a time zone; expected a name like Europe/Lisbon'
        ) from error


def _check_ranges(train: Train) -> None:
    reference, limits = train.reference, train.limits
    if reference and reference.end < reference.start:
        raise InvalidSettings("train.reference.end: lies before train.reference.start")
    if not limits.permeate_flow_too_late <= limits.permeate_flow_clean <= limits.permeate_flow_warn:
        raise InvalidSettings("train.limits: permeate_flow must fall from warn over clean to too_late")
    if not limits.salt_passage_warn <= limits.salt_passage_clean <= limits.salt_passage_too_late:
        raise InvalidSettings("train.limits: salt_passage must rise from warn over clean to too_late")
    if not limits.pressure_drop_warn <= limits.pressure_drop_clean <= limits.pressure_drop_too_late:
        raise InvalidSettings("train.limits: pressure_drop must rise from warn over clean to too_late")
    for entry in dataclasses.fields(Meters):
        if getattr(train.meters, entry.name) < 0:
            raise InvalidSettings(f"train.meters.{entry.name}: must not be below zero")
    _check_equipment(train)
    _check_assumed(train.assumed)


def _check_assumed(assumed: Assumed) -> None:
    osmotic, factor = assumed.osmotic_factor, assumed.tds_per_conductivity
    if osmotic is not None and not 0.5 <= osmotic <= 1.3:
        raise InvalidSettings(f"train.assumed.osmotic_factor: expected 0.5 to 1.3 of the law, found {osmotic:g}")
    if factor is not None and not 0.3 <= factor <= 1.0:
        raise InvalidSettings(
            f"train.assumed.tds_per_conductivity: expected 0.3 to 1.0 mg/L per uS/cm, found {factor:g}"
        )


def _check_equipment(train: Train) -> None:
    """What is built around the vessels has a size, or is not known."""
    for key in ("cleaning", "dosing"):
        for name, value in vars(getattr(train, key)).items():
            if value is not None and value <= 0:
                raise InvalidSettings(f"train.{key}.{name}: must be above zero, found {value:g}")
    if (train.dosing.antiscalant_tank_share or 0.0) > 1:
        raise InvalidSettings("train.dosing.antiscalant_tank_share: a fraction is at most 1")
