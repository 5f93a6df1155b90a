"""Trains go into the records and come out as the plants that their files describe."""

import dataclasses
from pathlib import Path

import pytest
from sqlalchemy import Engine, func, select

from analytics.plant import Plant
from server.db import transaction
from server.errors import Conflict, NotFound
from server.plants.actions import add_plant, inputs_changed
from server.plants.models import ElementModel, Limit, Reference, Site, Train
from server.plants.plant_file import plant_from_text
from server.plants.queries import find_train, limits, list_trains, plant_of, references, train_or_404

EVERYTHING = """
[site]
name = "Quay"
timezone = "America/Denver"
currency = "USD"
location = "North quay"
units = "US"
[train]
name = "B"
water = "seawater"
[[train.stage]]
vessels = 3
elements_per_vessel = 7
membrane = "first"
[[train.stage]]
vessels = 2
elements_per_vessel = 6
membrane = "second"
booster = true
[membrane.first]
area_m2 = 37.2
[membrane.second]
area_m2 = 40.9
diameter_inch = 8.0
temperature_correction = "exponential"
slope_k = 2640.0
salt_temperature_correction = "exponential"
salt_slope_k = 2100.0
water_permeability_lmh_bar = 3.1
salt_permeability_lmh = 0.2
max_dp_element_bar = 0.9
[train.reference]
start = "2026-01-05"
end = "2026-01-19"
[train.assumed]
feed_temperature = 18.5
tds_per_conductivity = 0.55
[train.limits]
permeate_flow_clean = 0.88
[train.method]
pressure_drop_viscosity = true
[train.screening]
settling_minutes = 20.0
"""


@pytest.fixture
def plant(plant_text: str) -> Plant:
    return plant_from_text(plant_text, file="plant.toml")


@pytest.mark.parametrize("text", [EVERYTHING, None])
def test_what_comes_out_is_what_the_file_says(engine: Engine, plant_text: str, text: str | None) -> None:
    source = text or plant_text
    given = plant_from_text(source, file="plant.toml")
    with transaction(engine) as session:
        train_id = add_plant(session, given, source).id
    with transaction(engine) as session:
        assert plant_of(session, train_id) == given
        assert train_or_404(session, train_id).plant_file == source


@pytest.mark.parametrize(
    "path",
    sorted((Path(__file__).parents[3] / "demo_data" / "fleet").glob("*/plant.toml")),
    ids=lambda p: p.parent.name,
)
def test_every_plant_of_the_demo_fleet(sqlite_engine: Engine, path: Path) -> None:
    given = plant_from_text(path.read_text(encoding="utf-8"), file=path.name)
    with transaction(sqlite_engine) as session:
        train_id = add_plant(session, given).id
        assert plant_of(session, train_id) == given


def test_a_train_is_added_once(engine: Engine, plant: Plant) -> None:
    with transaction(engine) as session:
        add_plant(session, plant)
    with pytest.raises(Conflict, match='"Quay Laundry" already has a train "RO 1"'), transaction(engine) as session:
        add_plant(session, plant)
    with transaction(engine) as session:
        assert session.scalar(select(func.count()).select_from(Train)) == 1


def test_a_second_train_shares_its_site_and_its_elements(engine: Engine, plant: Plant) -> None:
    with transaction(engine) as session:
        add_plant(session, plant)
        add_plant(session, dataclasses.replace(plant, train=dataclasses.replace(plant.train, name="RO 2")))
        assert session.scalar(select(func.count()).select_from(Site)) == 1
        assert session.scalar(select(func.count()).select_from(ElementModel)) == 1


def test_elements_of_one_name_with_other_figures_stay_apart(engine: Engine, plant: Plant, plant_text: str) -> None:
    text = plant_text.replace("37.2", "40.9").replace('"RO 1"', '"RO 2"')
    with transaction(engine) as session:
        first = add_plant(session, plant).id
        second = add_plant(session, plant_from_text(text, file="x")).id
        areas = [plant_of(session, train).train.stages[0].membrane.area_m2 for train in (first, second)]
    assert areas == [37.2, 40.9]


def test_a_site_has_one_clock(engine: Engine, plant: Plant) -> None:
    other = dataclasses.replace(
        plant,
        site=dataclasses.replace(plant.site, timezone="Europe/Madrid"),
        train=dataclasses.replace(plant.train, name="RO 2"),
    )
    with transaction(engine) as session:
        add_plant(session, plant)
    with pytest.raises(Conflict, match='known with timezone "Europe/Lisbon"'), transaction(engine) as session:
        add_plant(session, other)


def test_the_newest_reference_and_limit_count_and_the_older_stay(engine: Engine, plant: Plant) -> None:
    with transaction(engine) as session:
        train_id = add_plant(session, plant, author="Ana").id
        newer = references(session, train_id)[0].end.replace(month=2)
        session.add(Reference(train_id=train_id, start=newer, end=newer, author="Bo", reason="after the cleaning"))
        session.add(Limit(train_id=train_id, name="salt_passage_warn", value=1.08, author="Bo", reason="agreed"))
    with transaction(engine) as session:
        found = plant_of(session, train_id).train
        assert found.reference is not None
        assert (found.reference.end, found.limits.salt_passage_warn) == (newer, 1.08)
        assert [(row.author, row.reason) for row in references(session, train_id)] == [
            ("Bo", "after the cleaning"),
            ("Ana", "plant file"),
        ]
        assert [row.value for row in limits(session, train_id)] == [1.08, 1.05]


def test_a_train_is_found_by_number_and_by_name(engine: Engine, plant: Plant) -> None:
    with transaction(engine) as session:
        train_id = add_plant(session, plant).id
        for name in (str(train_id), "RO 1", " ro 1 ", "Quay Laundry / RO 1"):
            assert find_train(session, name).id == train_id
        with pytest.raises(NotFound, match=r'no train "RO 7"; there are: \d+ \("Quay Laundry / RO 1"\)'):
            find_train(session, "RO 7")
        other = dataclasses.replace(plant, site=dataclasses.replace(plant.site, name="Dock"))
        add_plant(session, other)
        with pytest.raises(Conflict, match="more than one train; give its number"):
            find_train(session, "RO 1")
        assert find_train(session, "dock / ro 1").id != train_id
        assert [train.site.name for train in list_trains(session)] == ["Dock", "Quay Laundry"]


def test_an_empty_logbook_says_how_to_begin(engine: Engine) -> None:
    with transaction(engine) as session:
        with pytest.raises(NotFound, match="skidbook plant add"):
            find_train(session, "RO 1")
        with pytest.raises(NotFound, match="no train with the number 1"):
            train_or_404(session, 1)


def test_changed_inputs_are_counted(engine: Engine, plant: Plant) -> None:
    with transaction(engine) as session:
        train = add_plant(session, plant)
        inputs_changed(session, train.id)
        inputs_changed(session, train.id)
        assert train.inputs_version == 3
