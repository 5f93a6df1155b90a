"""Meters held against each other: weighted reconciliation of linear balances, with its tests.

The closed form of weighted least squares under linear balances (Romagnoli and Sanchez, Data Processing and
Reconciliation for Chemical Process Operations, from memory): adjusted values, a test of all balances together, and a
test of each measurement.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Reconciled:
    """What reconciliation makes of measured values.

    Attributes
    ----------
    adjusted : array
        Values by which all balances close. [as measured]
    statistic : float
        r' (A V A')^-1 r; chi-square with `balances` degrees of freedom where only chance is at work. [-]
    balances : int
    tests : array
        Adjustment of each value over its standard deviation; NaN where no balance holds it. [-]
    """

    adjusted: Array
    statistic: float
    balances: int
    tests: Array

    @property
    def global_test(self) -> float:
        """Root of the statistic over the number of balances: |z| for a single one. [-]"""
        return float(np.sqrt(self.statistic / max(self.balances, 1)))

    @property
    def gross_error(self) -> bool:
        """Whether the balances miss by more than chance: then nothing should be adjusted."""
        return bool(self.statistic > self.balances + 2.0 * np.sqrt(2.0 * self.balances))


def reconcile(measured: Sequence[float], errors: Sequence[float], balances: Sequence[Sequence[float]]) -> Reconciled:
    """Adjust measured values so that linear balances close.

    Parameters
    ----------
    measured, errors : sequence of float
        Values and their standard deviations. [same unit]
    balances : sequence of sequences
        One row of coefficients a balance; each sums to zero for true values. [-]

    Notes
    -----
    .. math:: \\hat x = x - V A^T (A V A^T)^{-1} A x

    Examples
    --------
    Feed 20.9, permeate 15.0, concentrate 5.0 m3/h, each good to 2 %:

    >>> found = reconcile([20.9, 15.0, 5.0], [0.418, 0.3, 0.1], [[1, -1, -1]])
    >>> round(found.global_test, 2), [round(float(value), 2) for value in found.adjusted]
    (1.72, [20.33, 15.29, 5.03])
    """
    x, a = np.asarray(measured, dtype=np.float64), np.atleast_2d(np.asarray(balances, dtype=np.float64))
    v = np.diag(np.asarray(errors, dtype=np.float64) ** 2)
    inverse = np.linalg.pinv(a @ v @ a.T)
    gain = v @ a.T @ inverse
    residual = a @ x
    change = gain @ residual
    spread = np.sqrt(np.clip(np.diag(gain @ a @ v), 0.0, None))
    with np.errstate(invalid="ignore", divide="ignore"):
        tests = np.where(spread > 0, change / spread, np.nan)
    return Reconciled(x - change, float(residual @ inverse @ residual), len(a), tests)
