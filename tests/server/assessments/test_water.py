"""The way of the water: drawn as the train is built, with every metered value once and nothing on top of another."""

import tomllib
from dataclasses import replace
from itertools import combinations

import pytest

from analytics.plant import Plant
from analytics.plant_file import plant_from_dict
from analytics.quantities import COLUMNS
from server.assessments.water import Drawing, WaterScene, pass_number
from server.assessments.water_level import level_drawing, words_width
from server.assessments.water_upright import WIDTH, upright_drawing
from tests.server.assessments.example import LATEST, PLANT, example_plant

DRAWINGS = [level_drawing, upright_drawing]
NOT_DRAWN = {
    "energy_counter_kwh", "hours_counter_h", "permeate_counter_m3", "antiscalant_dose_mg_l", "bisulfite_dose_mg_l",
    "acid_dose_mg_l", "antiscalant_tank_level_l", "bisulfite_tank_level_l",
}  # fmt: skip


def scene(plant: Plant | None = None, latest: dict[str, float] | None = None, units: str = "SI") -> WaterScene:
    attention = {2: "flow −19\u202f%; salt passage +22\u202f%"}
    return WaterScene((plant or example_plant()).train, LATEST if latest is None else latest, units, attention)


def values(drawing: Drawing) -> list[str]:
    return sorted(bubble.gauge.value for bubble in drawing.bubbles)


@pytest.mark.parametrize("draw", DRAWINGS)
def test_every_metered_value_stands_at_its_gauge_once(draw) -> None:
    drawing = draw(scene())
    assert len(drawing.bubbles) == len(LATEST)
    assert {"13.6", "11\u202f640", "0.62", "17.4"} <= set(values(drawing))


@pytest.mark.parametrize("draw", DRAWINGS)
def test_all_quantities_of_a_fully_metered_train_are_drawn(draw) -> None:
    plant = plant_from_dict(tomllib.loads(PLANT))
    stages = (*plant.train.stages, replace(plant.train.stages[1], booster=True))
    train = replace(plant.train, stages=stages)
    full = {n: 1.0 for n, q in COLUMNS.items() if (q.stage or 1) <= 3 and n not in NOT_DRAWN}
    drawing = draw(WaterScene(train, full, "SI", {}))
    ours = {n for n in full if not (COLUMNS[n].stage == 3 and "concentrate" in n)}  # the last stage's is the train's
    assert len(drawing.bubbles) == len(ours)
    assert [machine.kind for machine in drawing.machines] == ["media", "cartridge", "pump", "pump"]


@pytest.mark.parametrize("draw", DRAWINGS)
def test_gauges_do_not_stand_on_each_other(draw) -> None:
    plant = example_plant()
    full = {n: 11_640.0 for n, q in COLUMNS.items() if (q.stage or 1) <= 2 and n not in NOT_DRAWN}
    drawing = draw(WaterScene(plant.train, full, "SI", {}))
    for one, other in combinations(drawing.bubbles, 2):
        assert abs(one.x - other.x) >= 30 or abs(one.y - other.y) >= 30
        if one.anchor == other.anchor == "start" and abs(one.y - other.y) < 28 and one.x < other.x:
            assert one.text_x + words_width(one.gauge) <= other.x - 15 + 0.5


@pytest.mark.parametrize("draw", DRAWINGS)
def test_everything_lies_inside_the_drawing(draw) -> None:
    drawing = draw(scene())
    for bubble in drawing.bubbles:
        assert 15 <= bubble.x <= drawing.width - 15 and 15 <= bubble.y <= drawing.height - 15
    for words in drawing.words:
        assert 0 <= words.x <= drawing.width and 0 < words.y <= drawing.height


def test_the_upright_drawing_fits_a_phone() -> None:
    assert upright_drawing(scene()).width == WIDTH <= 340


@pytest.mark.parametrize("draw", DRAWINGS)
def test_the_stage_that_needs_attention_is_marked_in_words(draw) -> None:
    drawing = draw(scene())
    marked = [words.text for words in drawing.words if "t-attention" in words.look]
    assert marked == ["flow −19\u202f%", "salt passage +22\u202f%"] and len(drawing.attention) == 1


@pytest.mark.parametrize("draw", DRAWINGS)
def test_a_train_without_meters_is_still_drawn(draw) -> None:
    drawing = draw(scene(latest={}))
    assert not drawing.bubbles and len(drawing.vessels) == 3
    assert {"stage 1 · 2 × 6", "stage 2 · 1 × 6"} <= {words.text for words in drawing.words}


@pytest.mark.parametrize("draw", DRAWINGS)
def test_values_are_in_the_units_of_the_reader(draw) -> None:
    drawing = draw(scene(latest={"feed_pressure_bar": 10.0}, units="US"))
    assert [(b.gauge.value, b.gauge.unit, b.gauge.letters) for b in drawing.bubbles] == [("145", "psi", "PI")]


def test_recycle_is_led_back_where_it_is_metered() -> None:
    without, with_recycle = level_drawing(scene()), level_drawing(scene(latest=LATEST | {"recycle_flow_m3h": 3.0}))
    assert len(with_recycle.bubbles) == len(without.bubbles) + 1 and with_recycle.height > without.height


def test_shades_run_from_feed_to_concentrate() -> None:
    assert [pass_number(stage, 4) for stage in (1, 2, 3, 4)] == [0, 1, 2, 3]
    assert pass_number(1, 1) == 0
