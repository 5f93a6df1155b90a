"""Worked examples of manuals, to their printed digits, and hand calculations of our own."""

from dataclasses import dataclass

import numpy as np
import pytest

from analytics.physics.hydraulics import concentrate_concentration, log_mean_concentration_factor, recovery
from analytics.physics.membrane import net_driving_pressure_bar, salt_passage
from analytics.physics.normalization import (
    normalized_permeate_concentration,
    normalized_permeate_flow,
    normalized_pressure_drop,
    normalized_salt_passage,
)
from analytics.physics.temperature import water_temperature_factor
from analytics.physics.water import osmotic_pressure_bar
from analytics.units import BAR_PER_PSI, from_canonical, to_canonical

# --- published ------------------------------------------------------------------------------------------------------


def test_low_pressure_unit_normalized_by_pressure_alone() -> None:
    """Row 16. USFilter FlowMax RO manual, revision B, May 1999, appendix 6-2.

    35 gpm at 60 degF and 285 psi, base 225 psi, factor 1.44 (one that divides): 39.8 gpm. Recovery 30 of 40 gpm;
    rejection of 380 to 5 mg/L printed as 98.6 % (cut, not rounded).
    """
    flow = normalized_permeate_flow(35.0, ndp=285.0, reference_ndp=225.0, tcf=1 / 1.44)
    assert round(flow, 1) == 39.8
    assert recovery(30.0, 40.0) == 0.75
    assert np.floor(1000.0 * (1.0 - salt_passage(5.0, 380.0))) / 10.0 == 98.6


def test_point_of_use_unit() -> None:
    """Row 17. Culligan drinking-water manual, page 18: 8 gpd at 60 degF, factor 0.69, is 11.6 gpd at 77 degF.

    The same page takes 1 psi per 100 mg/L, so that of 60 psi 50 are left with 1000 mg/L.
    """
    assert round(normalized_permeate_flow(8.0, ndp=50.0, reference_ndp=50.0, tcf=0.69), 1) == 11.6
    assert net_driving_pressure_bar(60.0, 0.0, 0.0, 1000.0 / 100.0, 0.0) == 50.0


@pytest.mark.parametrize(
    ("rated", "expected"),
    [
        (1800.0, 1224.0),  # Row 18. watertreatmentguide.com/temperature_correction.htm: 59 degF, divide by 1.47
        (100.0, 68.0),  # the same factor in a second page's chart, aquasafecanada.com
    ],
)
def test_rated_flow_in_the_cold(rated: float, expected: float) -> None:
    flow = normalized_permeate_flow(rated, ndp=1.0, reference_ndp=1.0, tcf=1.47)
    assert np.floor(flow) == expected  # both pages cut the fraction off


def test_pressure_drop_with_the_exponent_of_a_manual() -> None:
    """B11 row 12. "5-4 Data normalization", pages 76-77: flows enter as 2 Qc + Qp, exponent 1.5; 1.8 bar is ours."""
    drop = normalized_pressure_drop(
        1.8, mean_flow_m3h=(2 * 4.5 + 13.5) / 2, reference_mean_flow_m3h=(2 * 5.0 + 15.0) / 2
    )
    assert drop == pytest.approx(2.108, abs=0.002)


# --- from memory ----------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Example:
    """A brackish two-stage plant of a membrane maker's manual (FilmTec, "plant performance normalization").

    All its numbers are from memory; they reproduce the manual's results.
    """

    feed_tds: float
    temperature: float
    feed_pressure: float
    permeate_flow: float
    recovery: float
    drop: float
    permeate_pressure: float
    permeate_tds: float
    stated_feed_side_tds: float
    stated_osmotic: float
    stated_factor: float

    @property
    def feed_side_tds(self) -> float:
        return float(self.feed_tds * log_mean_concentration_factor(self.recovery))

    @property
    def osmotic(self) -> float:
        return float(osmotic_pressure_bar(self.feed_side_tds, self.temperature))

    @property
    def factor(self) -> float:
        return float(water_temperature_factor(self.temperature, correction="two-slope"))

    @property
    def ndp(self) -> float:
        """The manual neglects the osmotic pressure of the permeate."""
        return float(net_driving_pressure_bar(self.feed_pressure, self.drop, self.permeate_pressure, self.osmotic, 0.0))

    @property
    def stated_ndp(self) -> float:
        return float(
            net_driving_pressure_bar(self.feed_pressure, self.drop, self.permeate_pressure, self.stated_osmotic, 0.0)
        )


START = Example(1986, 15, 25, 150, 0.75, 3, 1, 83, 3671, 2.5, 0.70)
LATER = Example(2292, 10, 28, 127, 0.72, 4, 2, 80, 4052, 2.7, 0.58)


@pytest.mark.parametrize("example", [START, LATER], ids=["start-up", "after three months"])
def test_intermediates_of_the_manual_to_the_printed_digit(example: Example) -> None:
    assert round(example.feed_side_tds) == example.stated_feed_side_tds  # Row 5
    assert round(example.osmotic, 1) == example.stated_osmotic
    assert round(example.factor, 2) == example.stated_factor


def test_results_of_the_manual_from_its_printed_intermediates() -> None:
    flow = normalized_permeate_flow(
        LATER.permeate_flow,
        ndp=LATER.stated_ndp,
        reference_ndp=START.stated_ndp,
        tcf=LATER.stated_factor,
        reference_tcf=START.stated_factor,
    )
    assert round(flow) == 144  # "144 m3/h"
    tds = normalized_permeate_concentration(
        LATER.permeate_tds,
        ndp=LATER.stated_ndp,
        reference_ndp=START.stated_ndp,
        feed_side_tds=LATER.stated_feed_side_tds,
        reference_feed_side_tds=START.stated_feed_side_tds,
    )
    assert round(tds) == 77  # "77 mg/L"


def test_results_of_the_manual_from_its_readings_alone() -> None:
    """Rows 14 and 15; unrounded 143.65 m3/h and 77.11 mg/L with the manual's 273 and 298."""
    flow = normalized_permeate_flow(
        LATER.permeate_flow,
        ndp=LATER.ndp,
        reference_ndp=START.ndp,
        tcf=LATER.factor,
        reference_tcf=START.factor,
    )
    assert round(flow) == 144
    assert flow == pytest.approx(143.65, rel=0.001)
    assert flow / START.permeate_flow == pytest.approx(0.9576, abs=0.0005)  # "about 4 % lost"
    tds = normalized_permeate_concentration(
        LATER.permeate_tds,
        ndp=LATER.ndp,
        reference_ndp=START.ndp,
        feed_side_tds=LATER.feed_side_tds,
        reference_feed_side_tds=START.feed_side_tds,
    )
    assert round(tds) == 77
    assert tds == pytest.approx(77.11, abs=0.01)


def test_the_manual_in_us_units() -> None:
    """363 and 406 psi, 559 gpm and so on give 633 gpm, which the manual rounds from its own m3/h."""
    metric = normalized_permeate_flow(
        LATER.permeate_flow,
        ndp=LATER.ndp,
        reference_ndp=START.ndp,
        tcf=LATER.factor,
        reference_tcf=START.factor,
    )
    assert float(from_canonical(metric, "m3/h", "gpm")) == pytest.approx(633.0, abs=1.0)
    for psi, bar in ((363, 25), (406, 28), (44, 3), (58, 4), (14.5, 1), (29, 2)):
        assert to_canonical(psi, "psi", "bar") == pytest.approx(bar, abs=0.05)
    for gpm, m3h in ((660, 150), (559, 127)):
        assert to_canonical(gpm, "gpm", "m3/h") == pytest.approx(m3h, abs=0.2)


# --- computed by hand -----------------------------------------------------------------------------------------------

# B11: base case B and case C, with osmotic pressure taken as 1 psi per 100 mg/L (apsscientific.com/page61.html) and
# salt passage relative to the mean of the feed side.
BASE = {
    "feed_pressure": 12.0,
    "drop": 1.8,
    "permeate_pressure": 0.5,
    "feed": 3000.0,
    "recovery": 0.75,
    "permeate": 60.0,
}
COLD = {
    "feed_pressure": 13.5,
    "drop": 1.9,
    "permeate_pressure": 0.5,
    "feed": 3200.0,
    "recovery": 0.73,
    "permeate": 70.0,
}


def feed_side(case: dict[str, float]) -> float:
    return float(case["feed"] * log_mean_concentration_factor(case["recovery"]))


def rule_of_thumb_ndp(case: dict[str, float]) -> float:
    bar_per_mg_l = BAR_PER_PSI / 100.0
    osmotic, permeate = feed_side(case) * bar_per_mg_l, case["permeate"] * bar_per_mg_l
    return float(
        net_driving_pressure_bar(case["feed_pressure"], case["drop"], case["permeate_pressure"], osmotic, permeate)
    )


def test_mean_concentration_and_driving_pressure() -> None:
    """B11 rows 1 to 3."""
    assert feed_side(BASE) == pytest.approx(5545.2, abs=0.5)
    assert feed_side(COLD) == pytest.approx(5739.5, abs=0.5)
    assert rule_of_thumb_ndp(BASE) == pytest.approx(6.818, abs=0.005)
    assert rule_of_thumb_ndp(COLD) == pytest.approx(8.141, abs=0.005)


@pytest.mark.parametrize(
    ("choice", "expected"),
    [
        ({"correction": "exponential", "slope_k": 2640.0}, 14.22),  # B11 row 6
        ({"correction": "exponential", "slope_k": 3020.0}, 14.53),  # B11 row 7
        ({"correction": "percent", "percent_per_degc": 3.0}, 14.18),  # B11 row 8
    ],
)
def test_normalized_flow_by_three_temperature_corrections(choice: dict[str, object], expected: float) -> None:
    flow = normalized_permeate_flow(
        14.6,
        ndp=rule_of_thumb_ndp(COLD),
        reference_ndp=rule_of_thumb_ndp(BASE),
        tcf=water_temperature_factor(20.0, **choice),
    )
    assert flow == pytest.approx(expected, abs=0.01)


def test_cold_water_hides_salt_passage() -> None:
    """B11 row 9: raw permeate over feed rose by 9.4 %, normalized by 27.6 %."""
    base, cold = salt_passage(60.0, feed_side(BASE)), salt_passage(70.0, feed_side(COLD))
    assert 100 * base == pytest.approx(1.082, abs=0.002)
    assert 100 * cold == pytest.approx(1.220, abs=0.002)
    normalized = normalized_salt_passage(
        cold,
        permeate_flow=14.6,
        reference_permeate_flow=15.0,
        concentration_factor=1.0,  # the passage is already relative to the mean of the feed side
        reference_concentration_factor=1.0,
        stcf=water_temperature_factor(20.0, correction="exponential", slope_k=2640.0),
    )
    assert 100 * normalized == pytest.approx(1.381, abs=0.002)
    assert normalized / base - 1 == pytest.approx(0.276, abs=0.002)
    assert salt_passage(70.0, 3200.0) / salt_passage(60.0, 3000.0) - 1 == pytest.approx(0.094, abs=0.001)


@pytest.mark.parametrize(
    ("drop", "flow", "reference", "exponent", "expected"),
    [
        # Row 25
        (2.6, 58.5, 62.5, 1.5, 2.8712),
        (2.6, 58.5, 62.5, 1.4, 2.8522),
        (2.6, 58.5, 62.5, 1.7, 2.9094),
        # B11 row 11 (exponent 1.5 as on desalwiki.che.unsw.edu.au)
        (1.8, 11.25, 12.5, 1.5, 2.108),
        (1.8, 11.25, 12.5, 1.4, 2.086),
        # B11 row 14, without a temperature term
        (1.9, 12.7, 12.5, 1.5, 1.855),
    ],
)
def test_normalized_pressure_drop(drop: float, flow: float, reference: float, exponent: float, expected: float) -> None:
    result = normalized_pressure_drop(drop, mean_flow_m3h=flow, reference_mean_flow_m3h=reference, exponent=exponent)
    assert result == pytest.approx(expected, abs=0.001)


def test_viscosity_term_of_the_pressure_drop() -> None:
    """15 to 25 degC, viscosity 1.1376 and 0.8900 mPa s (IAPWS): 0.863, 0.885 and 0.929 for 1.4, 1.5 and 1.7."""
    for exponent, expected in ((1.4, 0.863), (1.5, 0.885), (1.7, 0.929)):
        result = normalized_pressure_drop(
            1.0,
            mean_flow_m3h=10.0,
            reference_mean_flow_m3h=10.0,
            exponent=exponent,
            viscosity_ratio=0.8900 / 1.1376,
        )
        assert result == pytest.approx(expected, abs=0.0006)


def test_concentrate_from_the_salt_balance() -> None:
    """B11 row 18."""
    assert concentrate_concentration(3000.0, 60.0, 0.75) == pytest.approx(11_820.0, abs=1.0)
