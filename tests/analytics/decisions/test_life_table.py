"""Equally likely times stand for the draws that they were taken from."""

import numpy as np
import pytest

from analytics.decisions.life_table import MOST_YEARS, LifeTable


def test_a_table_keeps_the_quantiles_of_its_draws() -> None:
    draws = np.random.default_rng(3).lognormal(1.0, 0.5, 20_000)
    table = LifeTable.of(draws)
    for share in (0.1, 0.5, 0.9):
        assert table.quantile(share) == pytest.approx(np.quantile(draws, share), rel=0.01)
    assert LifeTable.of(np.full(10, 99.0)).quantile(0.1) == MOST_YEARS
    assert table.not_before(2.0).quantile(0.01) == 2.0


def test_a_table_has_the_mean_of_its_draws() -> None:
    """Even draws from 0 to 20 years: ten years in the middle and on average, 5 at the lower quarter."""
    table = LifeTable.of(np.linspace(0.0, 20.0, 4001))
    assert np.mean(table.years) == pytest.approx(10.0, abs=1e-3)
    assert [table.quantile(share) for share in (0.25, 0.5)] == pytest.approx([5.0, 10.0], abs=1e-3)
