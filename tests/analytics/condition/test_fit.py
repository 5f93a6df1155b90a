"""The fit gives back the membranes that made the readings, and says what it could not tell apart."""

import numpy as np
import pandas as pd
import pytest

from analytics.condition.balance import complete_streams
from analytics.condition.fit import StageFit, fit_membranes, fit_multipliers
from analytics.condition.metered_train import (
    SALT_PERMEABILITY,
    USUAL_FRICTION_BAR,
    WATER_PERMEABILITY,
    Closures,
    metered_readings,
)
from tests.analytics.condition.modelled_train import TRAIN_ONLY, plant, readings

DAYS = 70
WATER, SALT, FRICTION = (0.9, 1.1), (1.3, 0.8), (1.2, 1.05)
SEASON = 17 + 8 * np.sin(np.arange(DAYS) / 11)


def _fit(frame: pd.DataFrame) -> tuple[StageFit, ...]:
    return fit_membranes(complete_streams(frame, plant()), plant())


class TestRoundTrip:
    def test_every_stage_by_itself(self) -> None:
        """Through a season, so that the temperature factors are taken out as they were put in."""
        frame = readings(
            DAYS, water=WATER, salt=SALT, friction=FRICTION, temperature_c=SEASON, recovery=0.72 + SEASON / 500
        )
        for number, fit in enumerate(_fit(frame)):
            assert fit.scope == f"stage{number + 1}"
            assert not (fit.water_shared or fit.salt_shared or fit.friction_shared)
            assert fit.water_permeability_lmh_bar == pytest.approx(WATER_PERMEABILITY * WATER[number], rel=2e-4)
            assert fit.salt_permeability_lmh == pytest.approx(SALT_PERMEABILITY * SALT[number], rel=1e-3)
            assert fit.friction_bar == pytest.approx(USUAL_FRICTION_BAR * FRICTION[number], rel=2e-4)

    def test_stages_metered_together_share_what_they_have_in_common(self) -> None:
        frame = readings(DAYS, water=(0.9, 0.9), salt=(1.3, 1.3), temperature_c=SEASON, without=TRAIN_ONLY)
        for fit in _fit(frame):
            assert fit.water_shared
            assert fit.salt_shared
            assert not fit.friction_shared
            assert fit.water_permeability_lmh_bar == pytest.approx(WATER_PERMEABILITY * 0.9, rel=2e-4)
            assert fit.salt_permeability_lmh == pytest.approx(SALT_PERMEABILITY * 1.3, rel=1e-3)
            assert fit.friction_bar == pytest.approx(USUAL_FRICTION_BAR, rel=5e-4)

    def test_without_the_pressure_between_them_channels_are_alike(self) -> None:
        frame = readings(DAYS, friction=(1.2, 1.2), without=("stage1_concentrate_pressure",))
        for fit in _fit(frame):
            assert fit.friction_shared
            assert fit.friction_bar == pytest.approx(USUAL_FRICTION_BAR * 1.2, rel=1e-3)

    def test_with_the_closures_that_made_them(self) -> None:
        frame = readings(DAYS, water=WATER, osmotic=1.15, friction_exponent=1.5)
        balance = complete_streams(frame, plant())
        metered = metered_readings(balance, plant(), np.arange(DAYS))
        found = fit_multipliers(metered, plant(), Closures(osmotic=1.15, friction_exponent=1.5))
        usual = fit_multipliers(metered, plant())
        for number in (0, 1):
            assert found["water", number] == pytest.approx(WATER[number], rel=2e-4)
            assert not np.allclose(usual["water", number], WATER[number], rtol=0.01)


class TestUnknown:
    def test_without_flow_or_pressure_nothing_is_fitted(self) -> None:
        for gone in (("feed_pressure",), ("permeate_flow", "stage1_permeate_flow", "concentrate_flow")):
            assert _fit(readings(5, without=gone)) == ()

    def test_without_salinities_salt_is_not_made_up(self) -> None:
        without = ("feed_tds", "permeate_tds", "stage1_permeate_tds", "stage2_permeate_tds")
        assert all(fit.salt_permeability_lmh is None for fit in _fit(readings(5, without=without)))

    def test_readings_that_are_not_used_have_no_answer(self) -> None:
        used = np.arange(10) % 2 == 0
        fit, _ = fit_membranes(complete_streams(readings(10), plant()), plant(), used=used)
        assert fit.water_permeability_lmh_bar is not None
        assert (np.isfinite(fit.water_permeability_lmh_bar) == used).all()

    def test_a_reading_that_no_membrane_explains_has_none_and_harms_no_other(self) -> None:
        frame = readings(10)
        frame.iloc[4, frame.columns.get_indexer(["feed_pressure_bar"])[0]] = 0.1
        fit, _ = _fit(frame)
        assert fit.water_permeability_lmh_bar is not None
        assert np.isnan(fit.water_permeability_lmh_bar[4])
        rest = np.delete(fit.water_permeability_lmh_bar, 4)
        assert rest == pytest.approx(WATER_PERMEABILITY, rel=1e-3)
