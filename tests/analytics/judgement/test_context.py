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


def test_a_dose_under_what_is_meant_speaks_for_scaling_also_where_it_was_always_so() -> None:
    columns = {"antiscalant_dose_mg_l": filled(2.0, 2.0)}
    meant = context_of(columns, None, recent=RECENT, reference=REFERENCE, antiscalant_mg_l=3.0)
    assert meant.factors["scaling"] == (2.5, "Antiscalant dose is 2.0 mg/L, 3 mg/L are meant.")
    assert "scaling" not in context_of(columns, None, recent=RECENT, reference=REFERENCE).factors


def test_too_little_bisulfite_speaks_for_oxidation_unless_chlorine_was_measured_and_is_none() -> None:
    # By hand: 1 mg/L of sulfite on 1 mg/L of chlorine; by the molar masses metabisulfite, the strongest, takes 1.34.
    columns = {"bisulfite_dose_mg_l": filled(3.0, 1.0), "raw_free_chlorine_mg_l": filled(1.0, 1.0)}
    factor, reason = context_of(columns, None, recent=RECENT, reference=REFERENCE).factors["oxidation"]
    assert factor > 1 and reason == "Bisulfite is 1.0 times the chlorine before it; the reaction takes 1.3."
    measured = columns | {"feed_free_chlorine_mg_l": filled(0.0, 0.0)}
    assert context_of(measured, None, recent=RECENT, reference=REFERENCE).factors["oxidation"][0] < 1
    enough = columns | {"bisulfite_dose_mg_l": filled(1.0, 2.0)}
    assert "oxidation" not in context_of(enough, None, recent=RECENT, reference=REFERENCE).factors
