"""The standard method from readings to normalized values, against cases worked out outside this code.

"Row n" is a row of our tables of check values (see tests/published/README.md). Constructed cases use 273 and 298 in the
temperature factor where the code has 273.15 and 298.15, which moves results by up to 0.07 %.
"""

import math
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from analytics.condition.balance import complete_streams
from analytics.condition.forces import ScopeForces, driving_forces, forces_columns
from analytics.condition.standard import Conditions, normalize, ratios, reference_conditions
from analytics.plant import Plant
from tests.analytics.condition.steady_train import STEADY, plant, readings, row, rows

CASES = pd.read_csv(Path(__file__).parents[2] / "published" / "constructed_cases.csv").set_index("case")
SINGLE = plant(stages=((6, 6),))
TWO = plant()
REFERENCE_ROW = np.array([True, False])


def case(name: str) -> dict[str, float]:
    """A constructed case as the gauges of a single stage would show it."""
    given = CASES.loc[name]
    return {
        "feed_temperature_c": given.temperature_c,
        "feed_pressure_bar": given.feed_pressure_bar,
        "concentrate_pressure_bar": given.feed_pressure_bar - given.pressure_drop_bar,
        "permeate_pressure_bar": given.permeate_pressure_bar,
        "feed_flow_m3h": given.permeate_flow_m3h / given.recovery,
        "permeate_flow_m3h": given.permeate_flow_m3h,
        "feed_tds_mg_l": given.feed_tds_mg_l,
        "permeate_tds_mg_l": given.permeate_tds_mg_l,
    }


def forces_of(frame: pd.DataFrame, of: Plant) -> dict[str, ScopeForces]:
    return {one.scope: one for one in driving_forces(complete_streams(frame, of), of)}


def against_first(frame: pd.DataFrame, of: Plant, scope: str = "train") -> dict[str, np.ndarray]:
    """Normalized values of every reading, with the first one as the reference."""
    forces = forces_of(frame, of)[scope]
    within = np.arange(len(frame)) == 0
    exponent = of.train.method.pressure_drop_exponent
    return normalize(forces, reference_conditions(forces, within), pressure_drop_exponent=exponent)


class TestConstructedCases:
    """Rows 19 to 21: four references and what was read later, with every intermediate."""

    @pytest.mark.parametrize("name", ["seawater", "stage 1", "stage 2", "low pressure"])
    def test_intermediates(self, name: str) -> None:
        frame = rows(case(f"{name} reference"), case(f"{name} actual"))
        forces = forces_of(frame, SINGLE)["train"]
        expected = CASES.loc[[f"{name} reference", f"{name} actual"]]
        np.testing.assert_allclose(forces.feed_side_tds_mg_l, expected.feed_side_tds_mg_l, rtol=1e-5)
        np.testing.assert_allclose(forces.feed_side_osmotic_bar, expected.feed_side_osmotic_bar, rtol=1e-5)
        np.testing.assert_allclose(forces.permeate_osmotic_bar, expected.permeate_osmotic_bar, rtol=2e-3)
        np.testing.assert_allclose(forces.net_driving_pressure_bar, expected.net_driving_pressure_bar, rtol=1e-5)
        np.testing.assert_allclose(forces.water_temperature_factor, expected.water_factor, rtol=7e-4)
        np.testing.assert_allclose(100 * forces.salt_passage, expected.salt_passage_percent, rtol=1e-5)

    @pytest.mark.parametrize("name", ["seawater", "stage 1", "stage 2", "low pressure"])
    def test_results(self, name: str) -> None:
        normalized = against_first(rows(case(f"{name} reference"), case(f"{name} actual")), SINGLE)
        expected = CASES.loc[f"{name} actual"]
        flow, passage = normalized["normalized_permeate_flow_m3h"][1], normalized["normalized_salt_passage"][1]
        assert flow == pytest.approx(expected.normalized_flow_m3h, rel=1e-3)
        assert 100 * passage == pytest.approx(expected.normalized_passage_percent, rel=1e-3)
        # Row 22: the handbook's form is this passage times reference feed and reference over normalized flow.
        then = CASES.loc[f"{name} reference"]
        handbook = normalized["normalized_permeate_tds_mg_l"][1] * then.permeate_flow_m3h / flow
        assert handbook == pytest.approx(expected.normalized_permeate_tds_mg_l, rel=1e-4)

    def test_stages_of_one_train_are_the_same_cases(self) -> None:
        """Stages 1 and 2 of the table are one train at its reference: 100 m3/h, 50 and 25 of permeate."""
        first, second = case("stage 1 reference"), case("stage 2 reference")
        later = case("stage 1 actual")
        frame = rows(
            first
            | {
                "permeate_flow_m3h": 75.0,
                "permeate_tds_mg_l": (50 * 18 + 25 * 48) / 75,
                "stage1_permeate_flow_m3h": 50.0,
                "stage1_permeate_conductivity_us_cm": 36.0,
                "stage1_concentrate_pressure_bar": first["concentrate_pressure_bar"],
                "stage2_feed_pressure_bar": second["feed_pressure_bar"],
                "concentrate_pressure_bar": second["concentrate_pressure_bar"],
            },
            later
            | {
                "permeate_flow_m3h": 69.0,
                "stage1_permeate_flow_m3h": 47.0,
                "stage1_permeate_conductivity_us_cm": 33.0,
                "stage1_concentrate_pressure_bar": later["concentrate_pressure_bar"],
                "stage2_feed_pressure_bar": 11.4,
                "concentrate_pressure_bar": 9.5,
            },
        )
        forces = forces_of(frame, TWO)
        assert forces["stage1"].net_driving_pressure_bar[0] == pytest.approx(8.95153, rel=1e-5)
        assert forces["stage2"].net_driving_pressure_bar[0] == pytest.approx(5.82903, rel=1e-5)
        normalized = against_first(frame, TWO, "stage1")
        assert normalized["normalized_permeate_flow_m3h"][1] == pytest.approx(49.496, rel=1e-3)
        assert 100 * normalized["normalized_salt_passage"][1] == pytest.approx(1.13711, rel=1e-3)


class TestPublishedExample:
    """Rows 14 and 15: a two-stage plant in a membrane maker's technical manual (from memory), taken as one."""

    def test_four_percent_were_lost(self) -> None:
        start_up = {
            "feed_temperature_c": 15.0, "feed_pressure_bar": 25.0, "concentrate_pressure_bar": 22.0,
            "permeate_pressure_bar": 1.0, "feed_flow_m3h": 200.0, "permeate_flow_m3h": 150.0,
            "feed_tds_mg_l": 1986.0, "permeate_tds_mg_l": 83.0,
        }  # fmt: skip
        later = {
            "feed_temperature_c": 10.0, "feed_pressure_bar": 28.0, "concentrate_pressure_bar": 24.0,
            "permeate_pressure_bar": 2.0, "feed_flow_m3h": 127 / 0.72, "permeate_flow_m3h": 127.0,
            "feed_tds_mg_l": 2292.0, "permeate_tds_mg_l": 80.0,
        }  # fmt: skip
        normalized = against_first(rows(start_up, later), SINGLE)
        flow = normalized["normalized_permeate_flow_m3h"][1]
        assert flow == pytest.approx(144.0, abs=0.5)  # printed; 143.69 unrounded with the permeate's osmotic pressure
        handbook = normalized["normalized_permeate_tds_mg_l"][1] * 150.0 / flow
        assert handbook == pytest.approx(77.0, abs=0.3)


class TestIdentity:
    """Row 23: where nothing differs from the reference, the reference comes out to 1e-12."""

    @pytest.mark.parametrize("name", ["seawater", "stage 1", "stage 2", "low pressure"])
    def test_single_stage(self, name: str) -> None:
        then = case(f"{name} actual")
        normalized = against_first(rows(then, then, then), SINGLE)
        passage = then["permeate_tds_mg_l"] / then["feed_tds_mg_l"]
        drop = then["feed_pressure_bar"] - then["concentrate_pressure_bar"]
        np.testing.assert_allclose(normalized["normalized_permeate_flow_m3h"], then["permeate_flow_m3h"], rtol=1e-12)
        np.testing.assert_allclose(normalized["normalized_salt_passage"], passage, rtol=1e-12)
        np.testing.assert_allclose(normalized["normalized_permeate_tds_mg_l"], then["permeate_tds_mg_l"], rtol=1e-12)
        np.testing.assert_allclose(normalized["normalized_pressure_drop_bar"], drop, rtol=1e-12)

    @pytest.mark.parametrize("boosters", [(), (2,)])
    @pytest.mark.parametrize("viscosity", [False, True])
    def test_every_scope_of_a_staged_train(self, boosters: tuple[int, ...], viscosity: bool) -> None:
        of = plant(boosters=boosters, method={"pressure_drop_viscosity": viscosity})
        frame = readings(3, feed_temperature_c=11.7, stage2_feed_pressure_bar=10.55)
        for scope, flow, passage in (("train", 30.0, 0.018), ("stage1", 22.0, 0.01), ("stage2", 8.0, 40 / 2210)):
            normalized = against_first(frame, of, scope)
            np.testing.assert_allclose(normalized["normalized_permeate_flow_m3h"], flow, rtol=1e-12)
            np.testing.assert_allclose(normalized["normalized_salt_passage"], passage, rtol=1e-12)
            for indicator in ratios(normalized, np.arange(len(frame)) == 0).values():
                np.testing.assert_allclose(indicator, 1.0, rtol=1e-12)


class TestWhatTheMethodCannotSee:
    """Row 24: unchanged membranes computed element by element at 25 and 15 degC (constructed, see tests/published)."""

    def test_its_bias_is_known(self) -> None:
        common = {
            "permeate_pressure_bar": 0.5, "feed_flow_m3h": 100.0, "permeate_flow_m3h": 75.0, "feed_tds_mg_l": 2000.0,
        }  # fmt: skip
        warm = common | {
            "feed_temperature_c": 25.0, "feed_pressure_bar": 10.972, "concentrate_pressure_bar": 8.015,
            "permeate_tds_mg_l": 43.605,
        }  # fmt: skip
        cold = common | {
            "feed_temperature_c": 15.0, "feed_pressure_bar": 13.321, "concentrate_pressure_bar": 10.147,
            "permeate_tds_mg_l": 29.537,
        }  # fmt: skip
        normalized = against_first(rows(warm, cold), plant(stages=((10, 7), (5, 7))))
        indicators = ratios(normalized, REFERENCE_ROW)
        assert indicators["permeate_flow"][1] == pytest.approx(1.0464, abs=0.001)
        assert indicators["salt_passage"][1] == pytest.approx(0.963, abs=0.001)


class TestCorrections:
    """Each correction by itself, by hand."""

    def test_cold_water_hides_salt_passage(self) -> None:
        """Row 9: raw passage rises by 9.4 %, normalized by 27.6 %, with k = 2640. Independent of the osmotic law."""
        of = plant(stages=((6, 6),), membrane={"temperature_correction": "exponential", "slope_k": 2640.0})
        base = {
            "feed_temperature_c": 25.0, "feed_flow_m3h": 20.0, "permeate_flow_m3h": 15.0, "feed_tds_mg_l": 3000.0,
            "permeate_tds_mg_l": 60.0,
        }  # fmt: skip
        later = {
            "feed_temperature_c": 20.0, "feed_flow_m3h": 20.0, "permeate_flow_m3h": 14.6, "feed_tds_mg_l": 3200.0,
            "permeate_tds_mg_l": 70.0,
        }  # fmt: skip
        frame = rows(base, later)
        raw = forces_of(frame, of)["train"].salt_passage
        assert raw[1] / raw[0] - 1 == pytest.approx(0.094, abs=0.0005)
        indicators = ratios(against_first(frame, of), REFERENCE_ROW)
        assert indicators["salt_passage"][1] - 1 == pytest.approx(0.276, abs=0.001)

    @pytest.mark.parametrize(
        ("choice", "expected"),
        [({}, 0.7036), ({"salt_temperature_correction": "none"}, 1.0),
         ({"salt_temperature_correction": "exponential", "salt_slope_k": 2640.0}, 0.7354)],
    )  # fmt: skip
    def test_the_temperature_factor_of_salt_is_a_choice(self, choice: dict[str, object], expected: float) -> None:
        """Rows 4 and 5 of temperature factors at 15 degC: k = 3020 gives 0.7036, k = 2640 gives 0.7354."""
        of = plant(stages=((6, 6),), membrane=choice)
        frame = readings(1, per_day=2, feed_temperature_c=[25.0, 15.0])
        normalized = against_first(frame, of)["normalized_salt_passage"]
        assert normalized[1] / normalized[0] == pytest.approx(1 / expected, rel=2e-4)
        flow = against_first(frame, of)["normalized_permeate_flow_m3h"]
        assert flow[1] / flow[0] == pytest.approx(1 / 0.7036, rel=0.01)  # osmotic pressure falls a little, too

    @pytest.mark.parametrize(("exponent", "expected"), [(1.5, 2.8712), (1.4, 2.8522), (1.7, 2.9094)])
    def test_pressure_drop_follows_the_chosen_exponent(self, exponent: float, expected: float) -> None:
        """Row 25: 2.6 bar at a mean flow of 58.5 m3/h, reference 62.5."""
        of = plant(stages=((6, 6),), method={"pressure_drop_exponent": exponent})
        frame = rows(
            {"feed_flow_m3h": 100, "permeate_flow_m3h": 75, "feed_pressure_bar": 12, "concentrate_pressure_bar": 9},
            {
                "feed_flow_m3h": 93.6,
                "permeate_flow_m3h": 70.2,
                "feed_pressure_bar": 12,
                "concentrate_pressure_bar": 9.4,
            },
        )
        assert against_first(frame, of)["normalized_pressure_drop_bar"][1] == pytest.approx(expected, abs=1e-3)

    def test_pressure_drop_from_permeate_and_concentrate(self) -> None:
        """Rows 11 and 12: 1.8 bar with Qp 13.5 and Qc 4.5 against 15 and 5: a sum of 22.5 against 25, 2.108 bar."""
        pressures = {"feed_pressure_bar": 12.0, "concentrate_pressure_bar": 10.2}
        frame = rows(
            {"permeate_flow_m3h": 15.0, "concentrate_flow_m3h": 5.0, **pressures},
            {"permeate_flow_m3h": 13.5, "concentrate_flow_m3h": 4.5, **pressures},
        )
        assert against_first(frame, SINGLE)["normalized_pressure_drop_bar"][1] == pytest.approx(2.108, abs=0.002)

    def test_viscosity_is_corrected_only_where_asked_for(self) -> None:
        """Row 14: 1.9 bar at (20.0 + 5.4) / 2 = 12.7 m3/h against 12.5: 1.855 bar, 3.1 % above the 1.8 of then.

        With viscosity (IAPWS: 0.8900 mPa s at 25 and 1.0016 at 20 degC) times the root of their ratio.
        """
        frame = rows(
            {"feed_temperature_c": 25.0, "feed_flow_m3h": 20.0, "permeate_flow_m3h": 15.0,
             "feed_pressure_bar": 12.0, "concentrate_pressure_bar": 10.2},
            {"feed_temperature_c": 20.0, "feed_flow_m3h": 20.0, "permeate_flow_m3h": 14.6,
             "feed_pressure_bar": 13.5, "concentrate_pressure_bar": 11.6},
        )  # fmt: skip
        off = against_first(frame, SINGLE)["normalized_pressure_drop_bar"]
        assert off[1] == pytest.approx(1.855, abs=0.002)
        assert off[1] / off[0] - 1 == pytest.approx(0.031, abs=0.001)
        with_viscosity = plant(stages=((6, 6),), method={"pressure_drop_viscosity": True})
        on = against_first(frame, with_viscosity)["normalized_pressure_drop_bar"]
        assert on[1] == pytest.approx(1.8553 * math.sqrt(0.8900 / 1.0016), rel=1e-3)

    def test_a_shift_between_stages_is_no_fouling(self) -> None:
        """Row 19: stage 1 makes 9.5 instead of 10.5 m3/h and stage 2 the rest. The channels are as clean as before:
        raw drops rise by 5.13 and 10.52 % with the flow, normalized ones do not."""
        before = {
            "feed_flow_m3h": 20.0, "permeate_flow_m3h": 15.0, "stage1_permeate_flow_m3h": 10.5,
            "feed_pressure_bar": 12.0, "stage1_concentrate_pressure_bar": 11.0, "concentrate_pressure_bar": 10.0,
        }  # fmt: skip
        after = before | {
            "stage1_permeate_flow_m3h": 9.5, "stage1_concentrate_pressure_bar": 12 - 1.0513,
            "concentrate_pressure_bar": 12 - 1.0513 - 1.1052,
        }  # fmt: skip
        frame = rows(before, after)
        for scope in ("stage1", "stage2"):
            drop = ratios(against_first(frame, TWO, scope), REFERENCE_ROW)["pressure_drop"]
            assert drop[1] == pytest.approx(1.0, abs=1e-4), scope

    def test_a_booster_drives_its_own_stage(self) -> None:
        """Stage 2 at (14.0 + 12.8) / 2 = 13.4 bar, Y = 8 / 18, by the handbook's osmotic pressure at 25 degC."""
        frame = row(**STEADY | {"stage2_feed_pressure_bar": 14.0, "concentrate_pressure_bar": 12.8})
        forces = forces_of(frame, plant(boosters=(2,)))
        recovery = 8 / 18
        side = 2210 * math.log(1 / (1 - recovery)) / recovery * 345 / 491_000
        assert forces["stage2"].net_driving_pressure_bar == pytest.approx(13.4 - 0.5 - side + 40 * 345 / 491_000)
        whole = 1000 * math.log(4) / 0.75 * 345 / 491_000
        assert forces["train"].net_driving_pressure_bar == pytest.approx(12.0 - 0.5 - whole + 18 * 345 / 491_000)

    def test_permeability_and_flux(self) -> None:
        """22 m3/h over 24 elements of 37 m2 are 24.775 L/m2/h."""
        stage = forces_of(row(**STEADY), TWO)["stage1"]
        recovery = 22 / 40
        side = 1000 * math.log(1 / (1 - recovery)) / recovery * 345 / 491_000
        driving = 11.3 - 0.5 - side + 10 * 345 / 491_000
        assert stage.flux_lmh == pytest.approx(22_000 / (24 * 37))
        assert stage.water_permeability_lmh_bar == pytest.approx(22_000 / (24 * 37) / driving)


class TestWithoutSomething:
    def test_without_temperature_nothing_is_corrected_for_it(self) -> None:
        frame = rows(
            {"permeate_flow_m3h": 30.0, "feed_pressure_bar": 10.0, "concentrate_pressure_bar": 10.0},
            {"permeate_flow_m3h": 36.0, "feed_pressure_bar": 12.0, "concentrate_pressure_bar": 12.0},
        )
        forces = forces_of(frame, SINGLE)["train"]
        assert forces.water_temperature_factor is None
        assert against_first(frame, SINGLE)["normalized_permeate_flow_m3h"] == pytest.approx([30.0, 30.0])

    def test_without_recovery_the_feed_side_is_as_salty_as_the_feed(self) -> None:
        frame = row(permeate_flow_m3h=30.0, feed_pressure_bar=10.0, concentrate_pressure_bar=10.0, feed_tds_mg_l=2000.0)
        driving = forces_of(frame, SINGLE)["train"].net_driving_pressure_bar
        assert driving == pytest.approx(10.0 - 1.4053, abs=1e-4)  # row 7: 2000 mg/L at 25 degC are 1.4053 bar

    @pytest.mark.parametrize("blank", sorted(STEADY))
    def test_a_blank_gives_a_blank_and_spoils_no_other_reading(self, blank: str) -> None:
        """Of three readings the middle one lacks a value: whatever needs it is NaN there, and right elsewhere.

        A permeate's osmotic pressure (at most 40 mg/L, 0.028 of 7 bar) is left out of the flow where it is not known.
        """
        frame = readings(1)
        frame.loc[frame.index[1], blank] = np.nan
        for scope in ("train", "stage1", "stage2"):
            for name, values in against_first(frame, TWO, scope).items():
                assert np.isfinite(values[[0, 2]]).all(), (scope, name)
                small = "permeate_conductivity" in blank and name == "normalized_permeate_flow_m3h"
                error = 0.004 if small else 1e-9
                assert np.isnan(values[1]) or values[1] == pytest.approx(values[0], rel=error), (scope, name)

    @pytest.mark.parametrize(
        ("blank", "needs"),
        [
            ("feed_temperature_c", "normalized_permeate_flow_m3h"),
            ("feed_pressure_bar", "normalized_permeate_flow_m3h"),
            ("feed_conductivity_us_cm", "normalized_salt_passage"),
            ("permeate_conductivity_us_cm", "normalized_salt_passage"),
            ("concentrate_pressure_bar", "normalized_pressure_drop_bar"),
        ],
    )
    def test_nothing_is_made_up_for_a_blank(self, blank: str, needs: str) -> None:
        frame = readings(1)
        frame.loc[frame.index[1], blank] = np.nan
        assert np.isnan(against_first(frame, TWO)[needs][1])

    def test_pressure_that_osmosis_eats_up_drives_nothing(self) -> None:
        salty = {"feed_pressure_bar": 1.6, "stage1_concentrate_pressure_bar": 1.5, "concentrate_pressure_bar": 1.4}
        frame = row(**STEADY | salty)  # 1.5 bar less 0.5 of the permeate less 1.3 of the salt
        assert np.isnan(forces_of(frame, TWO)["train"].net_driving_pressure_bar).all()

    def test_a_reference_without_a_value_gives_no_indicator(self) -> None:
        frame = readings(1)
        frame.loc[frame.index[0], "permeate_conductivity_us_cm"] = np.nan
        normalized = against_first(frame, SINGLE)
        assert "salt_passage" not in ratios(normalized, np.array([True, False, False]))

    def test_a_reference_of_zero_gives_no_indicator(self) -> None:
        """Two gauges that show the same: nothing can be related to a pressure drop of none."""
        same = {"stage1_concentrate_pressure_bar": 12.0, "concentrate_pressure_bar": 12.0}
        normalized = against_first(readings(1, **same), TWO)
        assert "pressure_drop" not in ratios(normalized, np.array([True, False, False]))


class TestReference:
    def test_medians_over_the_chosen_readings_alone(self) -> None:
        frame = readings(1, per_day=5, permeate_flow_m3h=[29.0, np.nan, 31.0, 39.0, 90.0], feed_flow_m3h=100.0)
        others = ["concentrate_flow_m3h", "stage1_permeate_flow_m3h"]
        forces = forces_of(frame.drop(columns=others), SINGLE)["train"]
        found = reference_conditions(forces, np.array([True, True, True, True, False]))
        assert found["permeate_flow_m3h"] == 31.0
        assert found["recovery"] == pytest.approx(0.31)

    def test_what_is_not_known_is_nan(self) -> None:
        assert math.isnan(Conditions("train", {})["permeate_flow_m3h"])
        forces = forces_of(row(permeate_flow_m3h=30.0), SINGLE)["train"]
        assert math.isnan(reference_conditions(forces, np.array([True]))["net_driving_pressure_bar"])


def test_no_intermediate_hides_another() -> None:
    """Each intermediate has a column of its own, and none of them takes the name of an indicator (a ratio)."""
    forces = driving_forces(complete_streams(readings(1), TWO), TWO)
    columns = forces_columns(forces)
    for scope in ("train", "stage1", "stage2"):
        assert not {f"{scope}_{name}" for name in ("permeate_flow", "salt_passage", "pressure_drop")} & set(columns)
    assert columns["train_actual_salt_passage"] == pytest.approx(0.018)
    assert columns["stage2_feed_tds_mg_l"] == pytest.approx(2210.0)
