"""The indices of calcium carbonate against a worked example and the forms they are printed in."""

import numpy as np
import pytest

from analytics.physics.carbonate_indices import CALCIUM_CARBONATE_PER_CALCIUM, langelier_index, stiff_davis_index


def arrays(*values: float) -> list[np.ndarray]:
    return [np.array([value]) for value in values]


def test_langelier_of_a_worked_example() -> None:
    """*Water Treatment Plant Design*, Fig. 13.13: 1.91 from the nomograph; 1.81 from the formula."""
    found = langelier_index(*arrays(8.19, 800 / CALCIUM_CARBONATE_PER_CALCIUM, 774.8, 7853.6, 20.0))
    assert found[0] == pytest.approx(1.81, abs=0.005)
    assert found[0] == pytest.approx(1.91, abs=0.15)


def test_langelier_is_silent_outside_the_salinities_of_its_standard() -> None:
    assert np.isnan(langelier_index(*arrays(8.0, 300.0, 300.0, 10_001.0, 25.0))[0])
    assert np.isnan(langelier_index(*arrays(8.0, 300.0, 0.0, 1_000.0, 25.0))[0])


def test_stiff_and_davis_of_standard_seawater() -> None:
    """pCa 1.978, pAlk 2.624, K 3.489 at ionic strength 0.675 give +0.13 (the fit, worked by hand)."""
    found = stiff_davis_index(*arrays(8.22, 10**-1.978 * 40_080, 10**-2.624 * 50_045, 0.675, 25.0, 35_000.0))
    assert found[0] == pytest.approx(0.13, abs=0.005)
    assert np.isnan(stiff_davis_index(*arrays(8.22, 400.0, 100.0, 0.1, 25.0, 9_000.0))[0])
