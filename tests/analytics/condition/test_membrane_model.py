"""The model by day on exact readings: what it finds, what it learns, what it leaves open, and when it stays silent."""

import numpy as np
import pandas as pd
import pytest

from analytics.assess import STANDARD_METHOD, assess
from analytics.condition.membrane_model import _mostly_known
from analytics.condition.metered_train import (
    FRICTION_EXPONENT,
    SALT_PERMEABILITY,
    USUAL_FRICTION_BAR,
    WATER_PERMEABILITY,
)
from analytics.condition.stage_parameters import LEAST_DAYS, Learned
from analytics.decisions.train_model import Duty, TrainModel
from analytics.physics.train import StageSetup, run_at_concentrate_flow
from analytics.physics.vessel import Channel, Elements, Water
from tests.analytics.condition.modelled_train import TRAIN_ONLY, VESSELS, plant, readings

DAYS = 160
SCATTER = 5e-4
SEASON = 20 + 8 * np.cos(2 * np.pi * np.arange(DAYS) / 160)
FALL = 1 - 0.10 * np.arange(DAYS) / DAYS


def _learned(found: tuple[Learned, ...], what: str) -> list[Learned]:
    return [one for one in found if one.what == what]


class TestLevel:
    def test_a_slow_fall_is_found_through_a_season_and_another_recovery(self) -> None:
        recovery = np.where(np.arange(DAYS) < 80, 0.76, 0.70)
        frame = readings(DAYS, scatter=SCATTER, water=(FALL, FALL), temperature_c=SEASON, recovery=recovery)
        model = assess(plant(), frame).model
        assert model is not None
        water = model.parameters[0].water
        assert water is not None
        assert np.exp(water.level[-1]) == pytest.approx(0.9, abs=0.006)
        drop = model.level["stage2_pressure_drop"]
        assert drop.to_numpy() == pytest.approx(1.0, abs=0.005)

    def test_every_indicator_that_the_meters_carry_is_given(self) -> None:
        model = assess(plant(), readings(40, scatter=SCATTER)).model
        assert model is not None
        scopes = ("train", "stage1", "stage2")
        names = {f"{scope}_{name}" for scope in scopes for name in ("permeate_flow", "salt_passage", "pressure_drop")}
        assert set(model.level.columns) == names
        assert model.notes == ()


class TestLearned:
    def test_a_flow_exponent_is_learned_where_flow_varied(self) -> None:
        """Readings of 1.50 under a usual 1.65; flow between 22 and 32 m3/h, gauges that are hardly off."""
        flow = 27 + 5 * np.sin(np.arange(DAYS) / 6)
        table = plant(meters={"pressure_accuracy_bar": 0.01})
        model = assess(table, readings(DAYS, scatter=SCATTER, permeate_m3h=flow, friction_exponent=1.5)).model
        assert model is not None
        for one in _learned(model.learned, "flow exponent of pressure drop"):
            assert (one.before, one.unit) == (1.65, "-")
            assert one.after == pytest.approx(1.5, abs=0.03)
        assert len(_learned(model.learned, "flow exponent of pressure drop")) == 2

    def test_a_gauge_that_is_off_is_told_from_the_exponent_and_from_a_channel_that_clogs(self) -> None:
        """A quarter of a bar on a drop of 1.1 to 2.0, by flows that come and go; friction rises by a fifth. Taken as
        shown, the last day would be 16 % up."""
        flow = 27 + 5 * np.sin(np.arange(DAYS) / 6)
        rise = 1 + 0.2 * np.clip(np.arange(DAYS) - 14, 0, None) / (DAYS - 14)
        frame = readings(DAYS, scatter=SCATTER, permeate_m3h=flow, friction=(rise, 1.0))
        frame["feed_pressure_bar"] += 0.25
        model = assess(plant(meters={"pressure_accuracy_bar": 0.4}), frame).model
        assert model is not None
        told = _learned(model.learned, "gauge error in the pressure drop")
        assert [one.scope for one in told] == ["stage1"]
        assert told[0].unit == "bar"
        (note,) = model.notes
        assert note.startswith("As it goes with flow, the pressure drop of stage 1 is shown 0.2")
        assert "bar too large, give or take" in note
        assert told[0].after == pytest.approx(0.25, abs=1.645 * told[0].error)
        assert model.level["stage1_pressure_drop"].iloc[-1] == pytest.approx(1.2, abs=0.02)

    def test_an_offset_that_nothing_tells_is_in_the_interval(self) -> None:
        """Steady flow and a drop that has doubled: 0.2 bar of accuracy are as many per cent as they are of it."""
        rise = 1 + 1.0 * np.clip(np.arange(DAYS) - 14, 0, None) / (DAYS - 14)
        errors = []
        for accuracy in (0.02, 0.2):
            table = plant(meters={"pressure_accuracy_bar": accuracy})
            model = assess(table, readings(DAYS, scatter=SCATTER, friction=(rise, 1.0))).model
            assert model is not None
            errors.append(model.error["stage1_pressure_drop"].iloc[-1])
        drop = readings(20)["feed_pressure_bar"].iloc[0] - readings(20)["stage1_concentrate_pressure_bar"].iloc[0]
        unknown = 0.2 / np.sqrt(3) * (1 / drop - 1 / (2 * drop))
        assert np.sqrt(errors[1] ** 2 - errors[0] ** 2) == pytest.approx(unknown, rel=0.15)

    def test_where_nothing_varied_nothing_is_learned(self) -> None:
        model = assess(plant(), readings(DAYS, scatter=SCATTER)).model
        assert model is not None
        assert model.learned == ()

    def test_slopes_with_temperature_are_told_before_and_after(self) -> None:
        """Membranes of the two-slope form (3020 K below 25 degC) under a data sheet of 2600 K."""
        table = plant()
        sheet = table.train.stages[0].membrane
        assert sheet.temperature_correction == "two-slope"
        model = assess(
            plant(),
            readings(
                DAYS, scatter=SCATTER, temperature_c=SEASON - 8, water=_slope(SEASON - 8), salt=_slope(SEASON - 8)
            ),
        ).model
        assert model is not None
        (first, *_) = _learned(model.learned, "water temperature slope")
        assert first.before == pytest.approx(3020, abs=1)
        assert first.after == pytest.approx(3020 + 400, abs=120)
        assert first.error < 450

    def test_the_osmotic_pressure_of_the_water_is_learned_from_its_changes(self) -> None:
        salinity = 1400 + 600 * np.sin(np.arange(DAYS) / 9)
        model = assess(plant(), readings(DAYS, scatter=SCATTER, feed_tds_mg_l=salinity, osmotic=0.85)).model
        assert model is not None
        (found,) = _learned(model.learned, "osmotic pressure over that of the law chosen")
        assert found.before == 1.0
        assert found.after == pytest.approx(0.85, abs=0.06)

    def test_a_permeate_pressure_that_is_not_metered_is_learned_and_told(self) -> None:
        """1 bar behind the membranes, a flow that varies by a third: nearer to it than what was held before."""
        flow = 26 + 5 * np.sin(np.arange(DAYS) / 9)
        frame = readings(DAYS, scatter=SCATTER, water=(FALL, FALL), permeate_m3h=flow, permeate_pressure_bar=1.0)
        by_meter, without = assess(plant(), frame), assess(plant(), frame.drop(columns="permeate_pressure_bar"))
        assert by_meter.model is not None and without.model is not None
        assert 0.45 < without.model.train.stages[0].permeate_pressure_bar < 1.0
        flows = [one.level["train_permeate_flow"].to_numpy() for one in (by_meter.model, without.model)]
        assert flows[1] == pytest.approx(flows[0], abs=0.004)
        assert not any("ermeate pressure" in note for note in by_meter.notes)
        assert any(note.startswith("The membrane model takes the permeate pressure") for note in without.notes)
        assert any(note.startswith("Permeate pressure is not metered: the standard") for note in without.notes)


def _slope(temperature_c: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """What 400 K more do, 1 at 25 degC."""
    factor = np.exp(400 * (1 / 298.15 - 1 / (temperature_c + 273.15)))
    return factor, factor


class TestSilence:
    def test_what_is_not_metered_apart_is_said(self) -> None:
        without = (*TRAIN_ONLY, "stage1_concentrate_pressure")
        found = assess(plant(), readings(40, scatter=SCATTER, without=without))
        assert found.model is not None
        assert len(found.model.notes) == 3
        assert "The permeate of stages 1 and 2 is not metered apart" in found.model.notes[0]
        assert set(found.model.notes) <= set(found.notes)
        assert not [name for name in found.model.level.columns if name.startswith("stage")]

    def test_a_short_log_is_left_to_the_standard_method(self) -> None:
        found = assess(plant(), readings(LEAST_DAYS - 1))
        assert found.model is None
        assert found.method == STANDARD_METHOD

    def test_where_the_model_has_no_answer_it_says_so(self) -> None:
        """Made with a third of the osmotic pressure of the law: by the law, the last elements could make no water."""
        frame = readings(40, scatter=SCATTER, feed_tds_mg_l=5500.0, osmotic=0.3, recovery=0.82, permeate_m3h=20.0)
        found = assess(plant(), frame)
        assert found.model is None
        assert any("has no answer for most days" in note for note in found.notes)

    def test_an_indicator_known_long_ago_alone_has_no_answer(self) -> None:
        days = np.arange(100)
        known = np.where(days < 70, 1.0, np.nan)
        assert not _mostly_known(known, np.ones(100))
        assert not _mostly_known(np.ones(100), np.where(days > 50, 1.0, np.nan))
        assert _mostly_known(np.where(days % 4 == 0, np.nan, 1.0), np.ones(100))


class TestOsmoticPressureLearned:
    """A plant whose water has more osmotic pressure than the law chosen, and whose last stage loses a fifth."""

    LOSS = 1 - 0.2 * np.clip((np.arange(DAYS) - 30) / (DAYS - 30), 0, 1)

    @pytest.mark.parametrize("osmotic", [1.05, 1.08, 1.11])
    def test_the_loss_of_the_last_stage_shows_as_it_is(self, osmotic: float) -> None:
        """Sought: what the plant itself, with its own osmotic pressure, loses at the reference conditions. By the law's
        osmotic pressure, 105 to 115 % of that loss of stage 2 showed."""
        salinity = 2600 + 300 * np.sin(np.arange(DAYS) / 9)
        frame = readings(
            DAYS, scatter=SCATTER, water=(1.0, self.LOSS), feed_tds_mg_l=salinity, osmotic=osmotic, permeate_m3h=25.0
        )
        model = assess(plant(), frame).model
        assert model is not None
        assert model.train.closures.osmotic == pytest.approx(osmotic, abs=0.03)
        for name, stages in (("train_permeate_flow", (0, 1)), ("stage2_permeate_flow", (1,))):
            true = _loss_of_the_plant(stages, osmotic, frame[:14].median())
            shown = np.log(model.level[name].iloc[-5:].mean()) / np.log(true)
            assert shown == pytest.approx(1.0, abs=0.04), name

    def test_the_train_that_is_asked_for_its_life_has_it_too(self) -> None:
        salinity = 2600 + 300 * np.sin(np.arange(DAYS) / 9)
        frame = readings(DAYS, scatter=SCATTER, feed_tds_mg_l=salinity, osmotic=1.1, permeate_m3h=25.0)
        model = assess(plant(), frame).model
        assert model is not None
        asked = TrainModel.of(model.train, plant())
        assert asked.osmotic_factor == pytest.approx(1.1, abs=0.03)
        same = np.ones((len(asked.parts), 1))
        duty = Duty(asked.permeate_flow_m3h, asked.recovery, asked.temperature_c)
        needed = asked.needs(duty, same, same, same).feed_pressure_bar
        assert needed == pytest.approx(asked.feed_pressure_bar, rel=0.003)


def _loss_of_the_plant(stages: tuple[int, ...], osmotic: float, at: pd.Series) -> float:
    """Permeate flow of some stages of the plant of `modelled_train` after and before stage 2 has lost a fifth, at the
    feed pressure and concentrate flow of the reference."""
    outlets = (at["feed_flow_m3h"] - at["stage1_permeate_flow_m3h"], at["concentrate_flow_m3h"])
    first = stages[0] == 0
    feed = Channel(
        np.array([at["feed_flow_m3h"] if first else outlets[0]]),
        np.array([at["feed_tds_mg_l"] if first else _left_by_first(at)]),
        np.array([at["feed_pressure_bar"] if first else at["stage1_concentrate_pressure_bar"]]),
    )

    def made(factor: float) -> float:
        setups = [
            StageSetup(
                VESSELS[n],
                Elements(
                    37.0,
                    6,
                    np.array([WATER_PERMEABILITY * (factor if n == 1 else 1.0)]),
                    np.array([SALT_PERMEABILITY]),
                    np.array([USUAL_FRICTION_BAR]),
                    FRICTION_EXPONENT,
                ),
                np.array([0.3]),
            )
            for n in stages
        ]
        water = Water(np.full(1, 25.0), osmotic_factor=osmotic)
        return float(run_at_concentrate_flow(setups, np.array([outlets[1]]), feed, water).permeate_flow_m3h[0])

    return made(0.8) / made(1.0)


def _left_by_first(at: pd.Series) -> float:
    """Salinity of the concentrate of stage 1, from its balance. [mg/L]"""
    flow, made = at["feed_flow_m3h"], at["stage1_permeate_flow_m3h"]
    return float((flow * at["feed_tds_mg_l"] - made * at["stage1_permeate_tds_mg_l"]) / (flow - made))


def test_stages_are_told_apart_where_only_the_pressure_between_them_is_not_metered() -> None:
    """The standard method has no flow of a stage then; the model has, by channels that it takes as alike."""
    found = assess(plant(), readings(40, scatter=SCATTER, without=("stage1_concentrate_pressure",)))
    flows = {"stage1_permeate_flow", "stage2_permeate_flow"}
    assert flows <= set(found.modelled)
    assert flows <= {f"{one.scope}_{one.name}" for one in found.indicators}
    assert not flows & {f"{one.scope}_{one.name}" for one in found.by_standard.indicators}
