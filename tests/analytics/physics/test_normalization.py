"""Normalization: nothing changed gives the reference exactly, and each correction goes the right way."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analytics.physics.membrane import salt_passage
from analytics.physics.normalization import (
    normalized_permeate_concentration,
    normalized_permeate_flow,
    normalized_pressure_drop,
    normalized_salt_passage,
)

flows = st.floats(0.1, 2000.0)
pressures = st.floats(0.2, 60.0)
factors = st.floats(0.4, 1.8)
means = st.floats(1.0, 4.0)
passages = st.floats(1e-4, 0.2)


@given(flow=flows, ndp=pressures, tcf=factors, passage=passages, mean=means, drop=st.floats(0.01, 10.0))
def test_actual_equal_to_reference_gives_exactly_the_reference(
    flow: float, ndp: float, tcf: float, passage: float, mean: float, drop: float
) -> None:
    # Row 23 of our table of check values: to 1e-12.
    same_flow = normalized_permeate_flow(flow, ndp=ndp, reference_ndp=ndp, tcf=tcf, reference_tcf=tcf)
    assert same_flow == pytest.approx(flow, rel=1e-12)
    same_passage = normalized_salt_passage(
        passage,
        permeate_flow=flow,
        reference_permeate_flow=flow,
        concentration_factor=mean,
        reference_concentration_factor=mean,
        stcf=tcf,
        reference_stcf=tcf,
    )
    assert same_passage == pytest.approx(passage, rel=1e-12)
    for exponent in (1.4, 1.5, 1.7, 2.0):
        same_drop = normalized_pressure_drop(
            drop, mean_flow_m3h=flow, reference_mean_flow_m3h=flow, exponent=exponent, viscosity_ratio=1.0
        )
        assert same_drop == pytest.approx(drop, rel=1e-12)


@given(
    flow=flows,
    ndp=pressures,
    reference_ndp=pressures,
    tcf=factors,
    reference_flow=flows,
    passage=passages,
    mean=means,
    reference_mean=means,
    feed=st.floats(50.0, 45_000.0),
    reference_feed=st.floats(50.0, 45_000.0),
)
def test_the_two_forms_for_salt_differ_by_the_normalized_flow(
    flow: float,
    ndp: float,
    reference_ndp: float,
    tcf: float,
    reference_flow: float,
    passage: float,
    mean: float,
    reference_mean: float,
    feed: float,
    reference_feed: float,
) -> None:
    # Row 22 of our table of check values: c_pn / c_fr times Q_n / Q_r is the passage of the other form, to 1e-6.
    by_flow = normalized_salt_passage(
        passage,
        permeate_flow=flow,
        reference_permeate_flow=reference_flow,
        concentration_factor=mean,
        reference_concentration_factor=reference_mean,
        stcf=tcf,
    )
    quality = normalized_permeate_concentration(
        passage * feed,
        ndp=ndp,
        reference_ndp=reference_ndp,
        feed_side_tds=feed * mean,
        reference_feed_side_tds=reference_feed * reference_mean,
    )
    normalized = normalized_permeate_flow(flow, ndp=ndp, reference_ndp=reference_ndp, tcf=tcf)
    assert salt_passage(quality, reference_feed) * normalized / reference_flow == pytest.approx(by_flow, rel=1e-6)


@given(water=st.floats(0.5, 10.0), ndp=pressures, tcf=factors, reference_ndp=pressures, reference_tcf=factors)
def test_an_unchanged_membrane_keeps_its_normalized_flow(
    water: float, ndp: float, tcf: float, reference_ndp: float, reference_tcf: float
) -> None:
    now, then = water * ndp * tcf, water * reference_ndp * reference_tcf
    result = normalized_permeate_flow(now, ndp=ndp, tcf=tcf, reference_ndp=reference_ndp, reference_tcf=reference_tcf)
    assert result == pytest.approx(then, rel=1e-12)


@given(salt=st.floats(0.01, 1.0), flow=flows, reference_flow=flows, mean=means, reference_mean=means, tcf=factors)
def test_an_unchanged_membrane_keeps_its_normalized_passage(
    salt: float, flow: float, reference_flow: float, mean: float, reference_mean: float, tcf: float
) -> None:
    """Salt flow B c STCF, permeate far purer than the feed side, per element of 37 m2 or of any size."""
    now, then = salt * mean * tcf / flow, salt * reference_mean / reference_flow
    result = normalized_salt_passage(
        now,
        permeate_flow=flow,
        reference_permeate_flow=reference_flow,
        concentration_factor=mean,
        reference_concentration_factor=reference_mean,
        stcf=tcf,
    )
    assert result == pytest.approx(then, rel=1e-12)


@given(
    drop=st.floats(0.1, 5.0),
    flow=flows,
    reference=flows,
    exponent=st.floats(1.0, 2.0),
    ratio=st.floats(0.5, 2.0),
)
def test_an_unchanged_channel_keeps_its_normalized_drop(
    drop: float, flow: float, reference: float, exponent: float, ratio: float
) -> None:
    """Drop = k Q^n mu^(2-n); `ratio` is the viscosity at reference over the one now."""
    now = drop * (flow / reference) ** exponent * (1.0 / ratio) ** (2.0 - exponent)
    result = normalized_pressure_drop(
        now, mean_flow_m3h=flow, reference_mean_flow_m3h=reference, exponent=exponent, viscosity_ratio=ratio
    )
    assert result == pytest.approx(drop, rel=1e-9)


def test_fouling_shows_in_the_flow_and_in_the_quality_but_not_in_the_passage() -> None:
    """A lost 15 %, B unchanged, everything else equal: salt flow stays, so the permeate is 1/0.85 as salty."""
    flow, passage = 0.85, 0.01 / 0.85
    assert normalized_permeate_flow(flow, ndp=8.0, reference_ndp=8.0) == pytest.approx(0.85)
    result = normalized_salt_passage(
        passage,
        permeate_flow=flow,
        reference_permeate_flow=1.0,
        concentration_factor=1.8,
        reference_concentration_factor=1.8,
    )
    assert result == pytest.approx(0.01)
    quality = normalized_permeate_concentration(
        passage * 2000.0, ndp=8.0, reference_ndp=8.0, feed_side_tds=3600.0, reference_feed_side_tds=3600.0
    )
    assert quality == pytest.approx(20.0 / 0.85)


BAD = [0.0, -1.0, np.nan]


@pytest.mark.parametrize("bad", BAD)
@pytest.mark.parametrize("name", ["ndp", "reference_ndp", "tcf", "reference_tcf"])
def test_flow_needs_every_pressure_and_factor(name: str, bad: float) -> None:
    given_values = {"ndp": 8.0, "reference_ndp": 7.0, "tcf": 1.0, "reference_tcf": 1.0} | {name: bad}
    assert np.isnan(normalized_permeate_flow(15.0, **given_values))
    assert np.isnan(normalized_permeate_flow(-15.0, ndp=8.0, reference_ndp=7.0))


@pytest.mark.parametrize("bad", BAD)
@pytest.mark.parametrize(
    "name",
    ["reference_permeate_flow", "concentration_factor", "reference_concentration_factor", "stcf", "reference_stcf"],
)
def test_passage_needs_every_factor(name: str, bad: float) -> None:
    given_values = {
        "permeate_flow": 15.0,
        "reference_permeate_flow": 14.0,
        "concentration_factor": 1.8,
        "reference_concentration_factor": 1.7,
        "stcf": 1.0,
        "reference_stcf": 1.0,
    } | {name: bad}
    assert np.isnan(normalized_salt_passage(0.01, **given_values))


@pytest.mark.parametrize("bad", BAD)
@pytest.mark.parametrize("name", ["ndp", "reference_ndp", "feed_side_tds", "reference_feed_side_tds"])
def test_quality_needs_every_condition(name: str, bad: float) -> None:
    given_values = {"ndp": 8.0, "reference_ndp": 7.0, "feed_side_tds": 5700.0, "reference_feed_side_tds": 5500.0}
    assert np.isnan(normalized_permeate_concentration(60.0, **given_values | {name: bad}))
    assert np.isnan(normalized_permeate_concentration(-60.0, **given_values))


@pytest.mark.parametrize(("drop", "flow", "reference"), [(-0.1, 11.0, 12.0), (1.8, 0.0, 12.0), (1.8, 11.0, -12.0)])
def test_a_drop_needs_flow_both_now_and_at_reference(drop: float, flow: float, reference: float) -> None:
    assert np.isnan(normalized_pressure_drop(drop, mean_flow_m3h=flow, reference_mean_flow_m3h=reference))


def test_the_usual_exponent_equals_the_general_power() -> None:
    # 1.5 is worked out by a square root; next to it the general power is used.
    quick = normalized_pressure_drop(1.8, mean_flow_m3h=11.0, reference_mean_flow_m3h=12.0)
    general = normalized_pressure_drop(1.8, mean_flow_m3h=11.0, reference_mean_flow_m3h=12.0, exponent=1.5 + 1e-12)
    assert quick == pytest.approx(general, rel=1e-11)
