"""What the rest of the log says about causes."""

import numpy as np

from analytics.judgement.context import context_of

RECENT = np.array([False] * 5 + [True] * 10)
REFERENCE = ~RECENT


def filled(before: float, now: float) -> np.ndarray:
    return np.where(RECENT, now, before)


def test_chlorine_that_reached_the_membranes_speaks_for_oxidation() -> None:
    factor, reason = context_of(
        {"feed_free_chlorine_mg_l": filled(0.0, 0.3)}, None, recent=RECENT, reference=REFERENCE
    ).factors["oxidation"]
    assert factor > 1
    assert "0.30 mg/L" in reason


def test_no_chlorine_measured_speaks_against_it() -> None:
    context = context_of({"feed_free_chlorine_mg_l": filled(0.3, 0.0)}, None, recent=RECENT, reference=REFERENCE)
    assert context.factors["oxidation"][0] < 1


def test_a_short_antiscalant_dose_speaks_for_scaling() -> None:
    context = context_of({"antiscalant_dose_mg_l": filled(3.0, 2.0)}, None, recent=RECENT, reference=REFERENCE)
    assert context.factors["scaling"][0] > 1
    same = context_of({"antiscalant_dose_mg_l": filled(3.0, 2.9)}, None, recent=RECENT, reference=REFERENCE)
    assert "scaling" not in same.factors


def test_sdi_and_turbidity_speak_for_colloids() -> None:
    for name, value in (("feed_sdi", 4.6), ("feed_turbidity_ntu", 1.4)):
        context = context_of({name: filled(1.0, value)}, None, recent=RECENT, reference=REFERENCE)
        assert context.factors["colloidal"][0] > 1, name


def test_salinity_is_compared_with_the_reference() -> None:
    context = context_of({}, filled(1000.0, 1300.0), recent=RECENT, reference=REFERENCE)
    assert np.isclose(context.feed_salinity_change, 0.3)


def test_what_is_not_logged_says_nothing() -> None:
    context = context_of({}, None, recent=RECENT, reference=REFERENCE)
    assert (dict(context.factors), context.feed_salinity_change) == ({}, 0.0)
