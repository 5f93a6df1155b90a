"""Four constructed cases with all intermediates (rows 19 to 21), and the bias that the standard method has (row 24).

`constructed_cases.csv` was computed for us by an independent script, not by a publisher, with 273 and 298 in the
temperature factor; our 273.15 and 298.15 may differ by 0.07 %.
"""

from pathlib import Path

import pandas as pd
import pytest

from analytics.physics.hydraulics import arithmetic_mean_concentration_factor, log_mean_concentration_factor
from analytics.physics.membrane import net_driving_pressure_bar, salt_passage
from analytics.physics.normalization import (
    normalized_permeate_concentration,
    normalized_permeate_flow,
    normalized_salt_passage,
)
from analytics.physics.temperature import water_temperature_factor
from analytics.physics.water import osmotic_pressure_bar

CASES = pd.read_csv(Path(__file__).parent / "constructed_cases.csv").set_index("case")
NAMES = ("seawater", "stage 1", "stage 2", "low pressure")


def worked_out(case: pd.DataFrame) -> pd.DataFrame:
    """All intermediates of the standard method, from the readings."""
    factor = log_mean_concentration_factor(case.recovery)
    side = case.feed_tds_mg_l * factor
    side_osmotic = osmotic_pressure_bar(side, case.temperature_c)
    permeate_osmotic = osmotic_pressure_bar(case.permeate_tds_mg_l, case.temperature_c)
    return pd.DataFrame(
        {
            "concentration_factor": factor,
            "feed_side_tds_mg_l": side,
            "feed_side_osmotic_bar": side_osmotic,
            "permeate_osmotic_bar": permeate_osmotic,
            "water_factor": water_temperature_factor(case.temperature_c, correction="two-slope"),
            "net_driving_pressure_bar": net_driving_pressure_bar(
                case.feed_pressure_bar,
                case.pressure_drop_bar,
                case.permeate_pressure_bar,
                side_osmotic,
                permeate_osmotic,
            ),
            "salt_passage_percent": 100 * salt_passage(case.permeate_tds_mg_l, case.feed_tds_mg_l),
        }
    )


OURS = worked_out(CASES)


@pytest.mark.parametrize(
    ("column", "tolerance"),
    [
        ("feed_side_tds_mg_l", 1e-5),  # printed to 0.01
        ("feed_side_osmotic_bar", 1e-5),
        ("permeate_osmotic_bar", 2e-3),  # printed to 0.00001 of some 0.004
        ("water_factor", 7e-4),  # 273 and 298 against 273.15 and 298.15
        ("net_driving_pressure_bar", 1e-5),
        ("salt_passage_percent", 1e-5),
    ],
)
def test_intermediates(column: str, tolerance: float) -> None:
    assert (OURS[column] / CASES[column] - 1).abs().max() < tolerance


@pytest.mark.parametrize("name", NAMES)
def test_results(name: str) -> None:
    reference, actual = OURS.loc[f"{name} reference"], OURS.loc[f"{name} actual"]
    then, now = CASES.loc[f"{name} reference"], CASES.loc[f"{name} actual"]
    flow = normalized_permeate_flow(
        now.permeate_flow_m3h,
        ndp=actual.net_driving_pressure_bar,
        reference_ndp=reference.net_driving_pressure_bar,
        tcf=actual.water_factor,
    )
    assert flow == pytest.approx(now.normalized_flow_m3h, rel=1e-3)
    passage = normalized_salt_passage(
        actual.salt_passage_percent,
        permeate_flow=now.permeate_flow_m3h,
        reference_permeate_flow=then.permeate_flow_m3h,
        concentration_factor=actual.concentration_factor,
        reference_concentration_factor=reference.concentration_factor,
        stcf=actual.water_factor,
    )
    assert passage == pytest.approx(now.normalized_passage_percent, rel=1e-3)
    tds = normalized_permeate_concentration(
        now.permeate_tds_mg_l,
        ndp=actual.net_driving_pressure_bar,
        reference_ndp=reference.net_driving_pressure_bar,
        feed_side_tds=actual.feed_side_tds_mg_l,
        reference_feed_side_tds=reference.feed_side_tds_mg_l,
    )
    assert tds == pytest.approx(now.normalized_permeate_tds_mg_l, rel=1e-4)


# A simulated two-stage plant (10 and 5 vessels of 7 elements, A = 3.28 L/m2/h/bar and B = 0.186 L/m2/h at 25 degC,
# element by element with polarization), feed 100 m3/h, permeate 75, 2000 mg/L, permeate pressure 0.5 bar: the
# same membrane at 25 and at 15 degC.
WARM = {"feed_pressure": 10.972, "concentrate_pressure": 8.015, "permeate": 43.605, "concentrate": 7869.2}
COLD = {"feed_pressure": 13.321, "concentrate_pressure": 10.147, "permeate": 29.537, "concentrate": 7911.4}
FEED, RECOVERY = 2000.0, 0.75


def simulated_ndp(case: dict[str, float], temperature: float, mean: float) -> float:
    return float(
        net_driving_pressure_bar(
            case["feed_pressure"],
            case["feed_pressure"] - case["concentrate_pressure"],
            0.5,
            osmotic_pressure_bar(mean, temperature),
            osmotic_pressure_bar(case["permeate"], temperature),
        )
    )


def normalized_to_warm(mean_warm: float, mean_cold: float) -> float:
    return float(
        normalized_permeate_flow(
            75.0,
            ndp=simulated_ndp(COLD, 15.0, mean_cold),
            reference_ndp=simulated_ndp(WARM, 25.0, mean_warm),
            tcf=water_temperature_factor(15.0, correction="two-slope"),
        )
        / 75.0
    )


def test_the_standard_method_sees_a_gain_in_an_unchanged_membrane() -> None:
    """The truth is 1. Ten degrees colder water looks like 4.6 % more flow with the standard's mean."""
    mean = FEED * log_mean_concentration_factor(RECOVERY)
    assert normalized_to_warm(mean, mean) == pytest.approx(1.0464, abs=0.001)
    passage = normalized_salt_passage(
        salt_passage(COLD["permeate"], FEED) / salt_passage(WARM["permeate"], FEED),
        permeate_flow=75.0,
        reference_permeate_flow=75.0,
        concentration_factor=1.0,
        reference_concentration_factor=1.0,
        stcf=water_temperature_factor(15.0, correction="two-slope"),
    )
    assert passage == pytest.approx(0.963, abs=0.001)


def test_the_arithmetic_mean_happens_to_be_nearer_here() -> None:
    measured = ((FEED + WARM["concentrate"]) / 2, (FEED + COLD["concentrate"]) / 2)
    assert normalized_to_warm(*measured) == pytest.approx(1.0035, abs=0.001)
    full_rejection = FEED * arithmetic_mean_concentration_factor(RECOVERY)
    assert measured[0] == pytest.approx(full_rejection, rel=0.02)
