"""Dose of antiscalant by drawdown and by the tank, by hand."""

import pytest

from analytics.decisions.antiscalant_dose import (
    Dosing,
    dose_from_drawdown,
    dose_from_tank,
    judge_dose,
    pump_rate_ml_min,
)

DOSING = Dosing(0.10, 1.15, 20.0)


def test_antiscalant_by_hand() -> None:
    """20 m3/h, 3 mg/L, 10 % by volume of 1.15 kg/L: 8.70 mL/min; 50 mL in 345 s: 3.00; 12.5 L in 24 h: 2.99 mg/L."""
    assert pump_rate_ml_min(DOSING, 3.0) == pytest.approx(8.70, abs=0.02)
    assert dose_from_drawdown(DOSING, 50.0, 345.0) == pytest.approx(3.00, abs=0.02)
    assert dose_from_tank(DOSING, 12.5, 24.0) == pytest.approx(2.99, abs=0.02)


def test_an_overdose_is_an_alarm_and_product_and_active_are_both_named() -> None:
    """100 mL in 115 s are 18.0 mg/L, six times what is meant."""
    dose = dose_from_drawdown(DOSING, 100.0, 115.0)
    assert dose == pytest.approx(18.0, abs=0.1)
    assert "6.0 times what is meant" in judge_dose(dose, 3.0)
    assert "1.20 mg/L of active" in judge_dose(3.0, 3.0, active_share=0.4)
    assert "33 % too little" in judge_dose(2.0, 3.0)
