"""Plant file: what it becomes, and how it is refused."""

import tomllib
from datetime import date
from typing import Any

import pytest

from analytics.errors import InvalidSettings
from analytics.plant import Limits, Meters, Method, Screening
from analytics.plant_file import plant_from_dict

PLANT = """
[site]
name = "Alder Quay"
timezone = "Europe/Lisbon"
units = "US"

[train]
name = "Train 1"
water = "seawater"

[[train.stage]]
vessels = 2
elements_per_vessel = 6
membrane = "wide"

[[train.stage]]
vessels = 1
elements_per_vessel = 6
membrane = "narrow"
booster = true

[membrane.wide]
area_m2 = 37.2

[membrane.narrow]
area_m2 = 30
temperature_correction = "exponential"
slope_k = 2700

[train.reference]
start = "2026-01-05"
end = 2026-01-19

[train.assumed]
feed_temperature = 18
tds_per_conductivity = 0.65

[train.limits]
permeate_flow_clean = 0.88
"""


def plant_data() -> dict[str, Any]:
    return tomllib.loads(PLANT)


def test_a_plant_file_becomes_a_plant() -> None:
    plant = plant_from_dict(plant_data())
    train = plant.train
    assert (plant.site.name, plant.site.timezone, plant.site.units) == ("Alder Quay", "Europe/Lisbon", "US")
    assert train.water == "seawater"
    assert [(stage.vessels, stage.elements_per_vessel) for stage in train.stages] == [(2, 6), (1, 6)]
    assert [stage.booster for stage in train.stages] == [False, True]
    assert [stage.membrane_name for stage in train.stages] == ["wide", "narrow"]
    assert train.stages[1].membrane.slope_k == 2700.0
    assert train.reference is not None
    assert (train.reference.start, train.reference.end) == (date(2026, 1, 5), date(2026, 1, 19))
    assert (train.assumed.feed_temperature, train.assumed.permeate_pressure) == (18.0, None)
    assert train.limits.permeate_flow_clean == 0.88


def test_what_is_not_said_has_its_default() -> None:
    data = plant_data()
    for key in ("reference", "assumed", "limits", "water"):
        del data["train"][key]
    train = plant_from_dict(data).train
    assert train.water == "natural-brackish"
    assert train.reference is None
    assert (train.limits, train.method, train.screening) == (Limits(), Method(), Screening())
    assert train.meters == Meters()
    membrane = train.stages[0].membrane
    assert (membrane.temperature_correction, membrane.salt_temperature_correction) == ("two-slope", "same")


def test_whole_numbers_are_read_as_numbers() -> None:
    plant = plant_from_dict(plant_data())
    assert isinstance(plant.train.stages[1].membrane.area_m2, float)
    assert isinstance(plant.train.assumed.feed_temperature, float)


def _set(data: dict[str, Any], path: str, value: Any) -> None:
    *way, last = path.split(".")
    place: Any = data
    for step in way:
        place = place[int(step)] if step.isdigit() else place.setdefault(step, {})
    key = int(last) if last.isdigit() else last
    if value is None:
        del place[key]
    else:
        place[key] = value


@pytest.mark.parametrize(
    ("path", "value", "message"),
    [
        ("site.name", None, r"^site\.name: missing$"),
        ("site.timezone", "Mars/Base", r'^site\.timezone: "Mars/Base" is not a time zone; expected a name like'),
        ("site.timezone", "/etc/passwd", r"^site\.timezone: "),
        ("site.units", "metric", r'^site\.units: "metric" is not one of SI, US'),
        ("site.colour", "blue", r"^site\.colour: not a key known here \(known: "),
        ("train.nam", "x", r'^train\.nam: not a key known here; did you mean "name"\?'),
        ("sight", {}, r'^sight: not a key known here; did you mean "site"\?'),
        ("train.stage", None, r"^train\.stage: at least one"),
        ("train.stage", [], r"^train\.stage: at least one"),
        ("train.stage", 3, r"^train\.stage: at least one"),
        ("train.stage.1.vessels", 0, r"^train\.stage\[2\]\.vessels: at least 1"),
        ("train.stage.1.vessels", 1.5, r"^train\.stage\[2\]\.vessels: expected a whole number, found 1\.5"),
        ("train.stage.0.vessels", True, r"^train\.stage\[1\]\.vessels: expected a whole number, found True"),
        ("train.stage.0.vessels", None, r"^train\.stage\[1\]\.vessels: missing"),
        (
            "train.stage.0.membrane",
            "thin",
            r'membrane: "thin" has no \[membrane\.thin\] table \(there are: narrow, wide',
        ),
        ("train.stage.0", "x", r"^train\.stage\[1\]: expected a table"),
        ("membrane", None, r"^membrane: the table \[membrane\] is missing"),
        ("membrane.wide.area_m2", -1, r"^membrane\.wide\.area_m2: must be above zero, found -1"),
        ("membrane.wide.area_m2", float("nan"), r"^membrane\.wide\.area_m2: expected a number, found nan"),
        ("membrane.wide.area_m2", "37", r"^membrane\.wide\.area_m2: expected a number, found '37'"),
        ("membrane.wide.temperature_correction", "percent", r"^membrane\.wide\.percent_per_degc: needed with"),
        ("membrane.narrow.slope_k", None, r"^membrane\.narrow\.slope_k: needed with"),
        ("membrane.wide.salt_temperature_correction", "exponential", r"^membrane\.wide\.salt_slope_k: needed with"),
        ("train.reference.end", "2026-01-01", r"^train\.reference\.end: lies before"),
        ("train.reference.end", "January", r"^train\.reference\.end: expected a date like"),
        ("train.reference", 5, r"^train\.reference: expected a table"),
        ("train.assumed.tds_per_conductivity", 650, r"^train\.assumed\.tds_per_conductivity: expected 0\.3 to 1"),
        ("train.limits.permeate_flow_clean", 0.95, r"^train\.limits: permeate_flow must fall"),
        ("train.limits.salt_passage_warn", 1.4, r"^train\.limits: salt_passage must rise"),
        ("train.limits.pressure_drop_clean", 1.9, r"^train\.limits: pressure_drop must rise"),
        ("train.meters", {"flow_accuracy": -0.1}, r"^train\.meters\.flow_accuracy: must not be below zero"),
        ("train.water", "wine", r'^train\.water: "wine" is not one of natural-brackish, sodium-chloride, seawater'),
        ("train.method.pressure_drop_viscosity", 1, r"pressure_drop_viscosity: expected true or false, found 1"),
    ],
)
def test_a_bad_entry_is_named_by_its_path(path: str, value: Any, message: str) -> None:
    data = plant_data()
    _set(data, path, value)
    with pytest.raises(InvalidSettings, match=message):
        plant_from_dict(data)


def test_more_stages_than_can_be_handled_are_refused() -> None:
    data = plant_data()
    data["train"]["stage"] = data["train"]["stage"] * 3
    with pytest.raises(InvalidSettings, match="at most 4 stages are handled, 6 were given"):
        plant_from_dict(data)


def test_the_dictionary_given_is_not_changed() -> None:
    data = plant_data()
    plant_from_dict(data)
    assert data == plant_data()
