"""What a wrong closure does to the parameters found, told by the model before anything is learned."""

import numpy as np
import pandas as pd
import pytest

from analytics.condition.balance import complete_streams
from analytics.condition.closure_courses import FRICTION_EXPONENT, OSMOTIC, closure_slopes, split_name
from analytics.condition.fit import fit_membranes
from analytics.condition.metered_train import MeteredReadings, metered_readings
from tests.analytics.condition.modelled_train import TRAIN_ONLY, plant, readings

DAYS = 40
SALINITY = 1500 + 40.0 * np.arange(DAYS)


def _metered(frame: pd.DataFrame) -> MeteredReadings:
    return metered_readings(complete_streams(frame, plant()), plant(), np.arange(len(frame)))


def _slopes(**more: object) -> dict[tuple[str, int], dict[str, np.ndarray]]:
    frame = readings(DAYS, **more)  # type: ignore[arg-type]
    found = closure_slopes(_metered(frame), plant())
    return {key: dict(value) for key, value in found.items()}


def test_the_slopes_foretell_what_another_osmotic_law_does() -> None:
    """Readings made with 8 % more osmotic pressure, fitted as if there were none."""
    frame = readings(DAYS, feed_tds_mg_l=SALINITY, osmotic=1.08)
    fits = fit_membranes(complete_streams(frame, plant()), plant())
    slopes = closure_slopes(_metered(frame), plant())
    for number, fit in enumerate(fits):
        assert fit.water_permeability_lmh_bar is not None
        moved = np.log(fit.water_permeability_lmh_bar / 3.2)
        assert moved == pytest.approx(slopes["water", number][OSMOTIC] * np.log(1.08), rel=0.12)


def test_friction_goes_with_the_logarithm_of_the_flow() -> None:
    """A steeper law over 8 m3/h: what is found at 1 m3/h rises by ln of the mean flow of the elements, 4 to 10 m3/h."""
    slopes = _slopes()["friction", 0][FRICTION_EXPONENT]
    assert np.exp(slopes) == pytest.approx(7.6, rel=0.15)


def test_stages_with_meters_of_their_own_do_not_know_the_split() -> None:
    own, together = _slopes(), _slopes(without=TRAIN_ONLY)
    assert own["friction", 1][split_name(1)] == pytest.approx(0.0, abs=1e-6)
    assert np.abs(together["friction", 1][split_name(1)]).min() > 0.05


def test_stages_that_share_stand_under_the_first_of_them() -> None:
    together = _slopes(without=TRAIN_ONLY)
    assert ("water", 0) in together
    assert ("water", 1) not in together
    assert ("friction", 1) in together


def test_a_day_comes_out_alike_whatever_days_stand_beside_it() -> None:
    frame = readings(DAYS, feed_tds_mg_l=SALINITY, osmotic=1.08)
    whole, part = closure_slopes(_metered(frame), plant()), closure_slopes(_metered(frame.iloc[30:33]), plant())
    for key, by_closure in whole.items():
        for name, slopes in by_closure.items():
            assert part[key][name] == pytest.approx(slopes[30:33], abs=2e-3)


def test_a_day_without_one_meter_tells_what_the_others_show() -> None:
    frame = readings(DAYS)
    whole = closure_slopes(_metered(frame), plant())
    frame.iloc[7, frame.columns.get_indexer(["stage2_permeate_tds_mg_l", "permeate_tds_mg_l"])] = np.nan
    gap = closure_slopes(_metered(frame), plant())
    assert np.isnan(gap["salt", 1][OSMOTIC][7])
    assert gap["water", 0][OSMOTIC] == pytest.approx(whole["water", 0][OSMOTIC], abs=0.01)
