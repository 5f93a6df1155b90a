"""The model by day on exact readings: what it finds, what it learns, what it leaves open, and when it stays silent."""

import numpy as np
import pytest

from analytics.assess import STANDARD_METHOD, assess
from analytics.condition.stage_parameters import LEAST_DAYS, Learned
from tests.analytics.condition.modelled_train import TRAIN_ONLY, plant, readings

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
        assert set(model.level.columns) == names - {"train_pressure_drop"}
        assert model.shared == ()


class TestLearned:
    def test_a_flow_exponent_is_learned_where_flow_varied(self) -> None:
        """Readings of 1.50 under a usual 1.65; flow between 22 and 32 m3/h."""
        flow = 27 + 5 * np.sin(np.arange(DAYS) / 6)
        model = assess(plant(), readings(DAYS, scatter=SCATTER, permeate_m3h=flow, friction_exponent=1.5)).model
        assert model is not None
        for one in _learned(model.learned, "flow exponent of pressure drop"):
            assert (one.before, one.unit) == (1.65, "-")
            assert one.after == pytest.approx(1.5, abs=0.03)
        assert len(_learned(model.learned, "flow exponent of pressure drop")) == 2

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


def _slope(temperature_c: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """What 400 K more do, 1 at 25 degC."""
    factor = np.exp(400 * (1 / 298.15 - 1 / (temperature_c + 273.15)))
    return factor, factor


class TestSilence:
    def test_what_is_not_metered_apart_is_said(self) -> None:
        without = (*TRAIN_ONLY, "stage1_concentrate_pressure")
        found = assess(plant(), readings(40, scatter=SCATTER, without=without))
        assert found.model is not None
        assert len(found.model.shared) == 3
        assert "The permeate of stages 1 and 2 is not metered apart" in found.model.shared[0]
        assert set(found.model.shared) <= set(found.notes)
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
