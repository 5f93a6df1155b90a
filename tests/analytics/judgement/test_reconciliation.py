"""Reconciliation against the closed form of a single balance: z = r / sqrt(A V A')."""

import numpy as np
import pytest

from analytics.judgement.reconciliation import reconcile

BALANCE = [[1.0, -1.0, -1.0]]


def test_row_15_a_miss_by_chance() -> None:
    """20.9 / 15.0 / 5.0 m3/h at 2 %: r = 0.9, z = 1.717; hand calculation."""
    measured = np.array([20.9, 15.0, 5.0])
    found = reconcile(measured, 0.02 * measured, BALANCE)
    assert found.global_test == pytest.approx(1.717, abs=0.005)
    assert found.adjusted == pytest.approx([20.328, 15.295, 5.033], abs=0.005)
    assert not found.gross_error


def test_row_16_a_gross_error() -> None:
    """23.0 / 15.0 / 5.0 m3/h at 2 %: z = 5.374; hand calculation."""
    measured = np.array([23.0, 15.0, 5.0])
    found = reconcile(measured, 0.02 * measured, BALANCE)
    assert found.global_test == pytest.approx(5.374, abs=0.01)
    assert found.gross_error


def test_two_balances_tell_which_meter_is_wrong() -> None:
    """The permeate of two stages is metered apart as well: the sum accuses the meter that both balances hold."""
    balances = [[1.0, -1.0, -1.0, 0.0, 0.0], [0.0, 1.0, 0.0, -1.0, -1.0]]
    true = np.array([20.0, 15.0, 5.0, 10.0, 5.0])
    wrong = true * np.array([1.0, 1.1, 1.0, 1.0, 1.0])
    found = reconcile(wrong, 0.02 * true, balances)
    assert int(np.argmax(np.abs(found.tests))) == 1
    assert reconcile(true, 0.02 * true, balances).statistic == pytest.approx(0.0, abs=1e-12)
    assert found.adjusted[1] == pytest.approx(found.adjusted[3] + found.adjusted[4])


def test_a_value_that_no_balance_holds_is_left_alone() -> None:
    found = reconcile([20.9, 15.0, 5.0, 7.0], [0.4, 0.3, 0.1, 0.1], [[1.0, -1.0, -1.0, 0.0]])
    assert found.adjusted[3] == 7.0 and np.isnan(found.tests[3])


@pytest.mark.parametrize(("z", "gross"), [(1.90, False), (2.00, True)])
def test_a_gross_error_lies_two_deviations_beyond_what_chance_does(z: float, gross: bool) -> None:
    """The square of z has mean 1 and deviation sqrt 2: beyond 1 + 2 sqrt 2 = 3.83, which z = 1.957 reaches; by hand."""
    found = reconcile([10.0 + z, 10.0], [1.0, 0.0], [[1.0, -1.0]])
    assert found.global_test == pytest.approx(z)
    assert found.gross_error == gross
