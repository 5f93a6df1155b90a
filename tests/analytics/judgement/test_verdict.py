"""What goes before what, and what a sentence must and must not say."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from analytics.judgement.grounds import LEVELS, Danger, Grounds, Verdict, no_verdict
from analytics.judgement.limits import Indicator
from analytics.judgement.meters import Meter
from analytics.judgement.verdict import reach_verdict
from tests.analytics.judgement.judged_values import TODAY, drop, flow, salt

DANGER = Danger("Free chlorine is high: restore dechlorination now.", "Free chlorine 1.00 mg/L; limit 0.1 mg/L.")
METER = Meter("permeate_flow", -0.08, -0.10, -0.06, suspect=True, evidence="the flow balance has moved by +6.0 %")


def verdict(
    *indicators: Indicator,
    dangers: tuple[Danger, ...] = (),
    meters: tuple[Meter, ...] = (),
    root_cause: str = "",
    nothing: float = 0.0,
) -> Verdict:
    grounds = Grounds(TODAY, dangers=dangers, meters=meters, root_cause=root_cause, nothing=nothing)
    return reach_verdict(indicators, grounds)


def in_days(days: int) -> date:
    return TODAY + timedelta(days=days)


class TestPrecedence:
    """Each step outranks all that follow."""

    STEPS = (
        ("act now", {"dangers": (DANGER,)}, ()),
        ("check a meter", {"meters": (METER,)}, ()),
        ("act now", {}, (flow(0.79),)),
        ("plan cleaning", {}, (flow(0.89),)),
        ("watch", {}, (salt(1.20),)),
        ("plan cleaning", {}, (flow(0.95, reaches=in_days(30)),)),
        ("watch", {}, (flow(0.96, reaches=in_days(100)),)),
        ("watch", {}, (flow(0.92),)),
        ("steady", {}, (flow(0.99), salt(1.02), drop(1.03))),
    )

    @pytest.mark.parametrize("step", range(len(STEPS)))
    def test_a_step_outranks_those_after_it(self, step: int) -> None:
        level, extras, indicators = self.STEPS[step]
        rest = [one for _, _, others in self.STEPS[step + 1 :] for one in others]
        found = verdict(*indicators, *rest, **extras)  # type: ignore[arg-type]
        assert found.level == level

    def test_every_level_is_one_of_the_known(self) -> None:
        assert {level for level, _, _ in self.STEPS} | {"not enough data"} == set(LEVELS)


class TestRootCauseFirst:
    """After cleanings that did not help, no headline asks for one more of the same."""

    FIRST = "Two poor cleanings in a row: look for the root cause."

    @pytest.mark.parametrize(
        ("level", "indicators"),
        [
            ("act now", (flow(0.79),)),
            ("plan cleaning", (flow(0.89),)),
            ("plan cleaning", (flow(0.95, reaches=in_days(30)),)),
            ("plan cleaning", (flow(0.92, "stage2"), salt(1.25, "stage2"))),
        ],
    )
    def test_it_takes_the_place_of_a_cleaning(self, level: str, indicators: tuple[Indicator, ...]) -> None:
        found = verdict(*indicators, root_cause=self.FIRST)
        assert found.level == level and found.headline.startswith(self.FIRST)
        assert "clean now" not in found.headline and "lan a" not in found.headline.removeprefix(self.FIRST)
        without = verdict(*indicators)
        assert "clean now" in without.headline or "lan a" in without.headline
        assert found.reasons == without.reasons

    def test_it_says_nothing_where_no_cleaning_is_due(self) -> None:
        for one in ((flow(0.99),), (flow(0.96, reaches=in_days(100)),), (salt(1.60),)):
            assert verdict(*one, root_cause=self.FIRST) == verdict(*one)
        assert verdict(flow(0.79), dangers=(DANGER,), root_cause=self.FIRST).headline == DANGER.headline


class TestLooksAfter:
    """A danger that only asks for a look leads where nothing more urgent does, and is told first elsewhere."""

    LOOK = Danger("ORP is 60 mV above: measure free chlorine.", "Feed ORP 240 mV; limit 230 mV.", "watch")

    def test_it_lifts_a_steady_train(self) -> None:
        found = verdict(flow(0.99), dangers=(self.LOOK,))
        assert (found.level, found.headline, found.reasons[0]) == ("watch", self.LOOK.headline, self.LOOK.reason)
        assert not any("nothing needs to be done" in reason for reason in found.reasons)

    def test_it_does_not_hide_what_is_more_urgent(self) -> None:
        found = verdict(flow(0.79), dangers=(self.LOOK,))
        assert found.level == "act now" and "permeate flow" in found.headline and found.reasons[0] == self.LOOK.reason
        assert verdict(flow(0.99), dangers=(self.LOOK, DANGER)).headline == DANGER.headline
        assert verdict(flow(0.99), dangers=(self.LOOK,), meters=(METER,)).level == "check a meter"

    def test_it_does_not_hide_what_cannot_be_known(self) -> None:
        found = verdict(flow(0.99, temperature_corrected=False), dangers=(self.LOOK,))
        assert found.level == "watch" and "cannot be judged" in found.reasons[-1]

    def test_no_more_than_three_indicators_are_told(self) -> None:
        worn = (flow(0.92), salt(1.11), drop(1.12), flow(0.91, scope="stage1"))
        assert len(verdict(*worn).reasons) == 3
        assert len(verdict(flow(0.99), salt(1.02), drop(1.03), flow(0.98, scope="stage1")).reasons) == 3


class TestSaltPassage:
    """Salt passage alone never calls for a cleaning: leaks and oxidation are looked at first."""

    def test_row_53_with_more_flow_it_is_oxidation_first(self) -> None:
        """Passage up 12 %, flow up 8 %, pressure drop as it was."""
        found = verdict(salt(1.12), flow(1.08), drop(1.0))
        assert found.level == "watch"
        assert "oxidation" in found.headline
        assert "clean" not in found.headline.replace("cleaning does not mend", "")

    def test_past_its_limit_with_more_flow(self) -> None:
        found = verdict(salt(1.25), flow(1.08), drop(1.0))
        assert (found.level, "oxidation" in found.headline) == ("watch", True)

    def test_row_54_a_step_without_a_change_of_flow_is_a_leak_or_oxidation(self) -> None:
        found = verdict(salt(1.25), flow(1.0), drop(1.0))
        assert found.level == "watch"
        assert "leaks" in found.headline
        assert "cleaning does not mend that" in found.headline

    def test_far_past_its_limit_it_is_urgent_and_still_no_cleaning(self) -> None:
        found = verdict(salt(1.6), flow(1.0))
        assert found.level == "act now"
        assert "leaks" in found.headline
        assert "clean now" not in found.headline

    def test_row_55_in_the_last_stage_with_less_flow_it_is_scale(self) -> None:
        """Flow of stage 2 down 9 %, passage up (by 16 % here, past its limit), pressure drop hardly."""
        found = verdict(
            flow(0.95), flow(1.0, "stage1"), flow(0.91, "stage2"), salt(1.16, "stage2"), drop(1.02, "stage2")
        )
        assert found.level == "plan cleaning"
        assert "scale" in found.headline
        assert "antiscalant" in found.headline
        early = verdict(flow(0.91, "stage2"), salt(1.12, "stage2"), drop(1.02, "stage2"))
        assert early.level == "watch"
        assert "stage 2" in early.headline

    def test_more_salt_and_less_flow_in_the_first_stage_is_no_scale(self) -> None:
        found = verdict(flow(0.95, "stage1"), salt(1.16, "stage1"), flow(1.0, "stage2"), salt(1.0, "stage2"))
        assert "scale" not in found.headline

    def test_with_flow_down_as_well_it_is_a_cleaning(self) -> None:
        """Row 55 further on: the last stage loses flow and passes salt."""
        found = verdict(salt(1.2, "stage2"), flow(0.88, "stage2"), drop(1.02, "stage2"))
        assert found.level == "plan cleaning"
        assert "stage 2" in found.headline


class TestStages:
    def test_row_20_the_stage_that_fouls_is_named_not_the_one_that_takes_its_water(self) -> None:
        """Stage 1 lost 10 % of its flow; stage 2 takes more feed. Its normalized drop did not change (row 19)."""
        found = verdict(flow(0.93), flow(0.90, "stage1"), flow(1.0, "stage2"), drop(1.0, "stage1"), drop(1.0, "stage2"))
        assert found.level == "plan cleaning"
        assert "stage 1" in found.headline
        assert "stage 2" not in found.headline

    def test_row_56_a_pressure_drop_of_a_third_is_past_its_limit(self) -> None:
        found = verdict(flow(0.94), drop(1.30, "stage1"), drop(1.01, "stage2"), salt(1.0))
        assert found.level == "plan cleaning"
        assert "pressure drop of stage 1 is up 30.0 %" in found.headline

    def test_the_one_furthest_past_its_limit_is_named(self) -> None:
        found = verdict(flow(0.89, "stage1"), flow(0.84, "stage2"))
        assert "stage 2" in found.headline


class TestForecast:
    @pytest.mark.parametrize(("days", "level"), [(45, "plan cleaning"), (46, "watch"), (120, "watch"), (121, "steady")])
    def test_how_far_ahead_counts(self, days: int, level: str) -> None:
        assert verdict(flow(0.96, reaches=in_days(days))).level == level

    def test_the_three_dates_are_said(self) -> None:
        headline = verdict(flow(0.95, reaches=date(2026, 4, 10))).headline
        for text in ("limit of 0.90", "between 27 March and 24 April 2026", "10 April"):
            assert text in headline

    def test_the_nearest_date_is_the_one(self) -> None:
        found = verdict(flow(0.95, "stage1", reaches=in_days(40)), drop(1.12, "stage2", reaches=in_days(20)))
        assert "pressure drop of stage 2" in found.headline

    def test_salt_passage_on_its_way_is_no_cleaning(self) -> None:
        assert verdict(salt(1.05, reaches=in_days(20)), flow(1.0)).level == "steady"


class TestMeters:
    def test_a_suspect_is_named_with_its_bias(self) -> None:
        found = verdict(flow(0.85), meters=(METER,))
        assert found.headline.startswith("Check the permeate flow meter: it seems to read 8 % low")
        assert any("flow balance" in reason for reason in found.reasons)

    def test_candidates_are_named_together(self) -> None:
        pair = tuple(Meter(name, 0.1, 0.05, 0.15, False, "the balance") for name in ("feed_flow", "concentrate_flow"))
        assert "feed flow or concentrate flow" in verdict(flow(0.85), meters=pair).headline


class TestWithoutTemperature:
    """Flow and salt passage cannot be judged; what the season does must not be called a change of the membrane."""

    def test_nothing_else_is_known(self) -> None:
        found = verdict(flow(1.25, temperature_corrected=False), salt(0.8, temperature_corrected=False))
        assert found.level == "not enough data"
        assert "temperature is not measured" in found.headline
        assert "season" in " ".join(found.reasons)

    def test_pressure_drop_within_its_limits_is_not_called_steady(self) -> None:
        found = verdict(flow(1.25, temperature_corrected=False), drop(1.02))
        assert found.level == "not enough data"
        assert "Pressure drop is within its limits" in found.headline

    def test_pressure_drop_past_its_limit_counts(self) -> None:
        found = verdict(flow(1.25, temperature_corrected=False), drop(1.2))
        assert found.level == "plan cleaning"
        assert "Permeate flow cannot be judged" in found.headline

    @pytest.mark.parametrize("value", [0.6, 0.79, 1.25])
    def test_no_flow_however_far_away_is_a_verdict(self, value: float) -> None:
        found = verdict(flow(value, temperature_corrected=False), drop(1.0))
        assert found.level == "not enough data"
        assert "recover" not in found.headline.lower()

    def test_a_large_fall_is_told_in_degrees(self) -> None:
        """By hand: ln 0.6 / 0.03 is 17 degrees."""
        cold = verdict(
            flow(0.6, "stage2", temperature_corrected=False), flow(0.7, temperature_corrected=False), drop(1.0)
        )
        assert any("stage 2" in reason and "about 17 °C colder" in reason for reason in cold.reasons)
        mild = verdict(flow(0.9, temperature_corrected=False))
        assert not any("colder than" in reason for reason in mild.reasons)


class TestSeason:
    def test_what_temperature_may_explain_is_said_beside_it(self) -> None:
        found = verdict(drop(1.20, allowance=0.03))
        assert "of which water temperature alone may explain 3 points" in found.headline

    def test_less_than_a_point_is_not_worth_a_word(self) -> None:
        assert "temperature" not in verdict(drop(1.20, allowance=0.004)).headline


def test_nothing_to_judge() -> None:
    found = verdict()
    assert found.level == "not enough data"
    assert no_verdict("there are no readings").headline == "There is no answer yet: there are no readings."


@pytest.mark.parametrize("indicators", [(flow(0.79),), (flow(0.89),), (salt(1.3),), (flow(0.99), drop(1.0))])
def test_every_verdict_gives_its_numbers(indicators: tuple[Indicator, ...]) -> None:
    reasons = verdict(*indicators).reasons
    assert len(reasons) == len(indicators)
    assert all("of the reference, limit" in reason for reason in reasons)
    assert not any("-" in reason.replace("-", "") or "nan" in reason for reason in reasons)


class TestWhatIsFineIsNoReason:
    """What stands within its limits speaks for no verdict that is not good."""

    FINE = (salt(1.01), drop(1.02), flow(0.99, "stage2"))

    @pytest.mark.parametrize(
        "bad", [flow(0.79), flow(0.89), flow(0.92), drop(1.12, "stage2"), flow(0.95, reaches=in_days(30))]
    )
    def test_the_bad_one_is_the_only_reason(self, bad: Indicator) -> None:
        found = verdict(bad, *self.FINE)
        assert found.level != "steady"
        assert len(found.reasons) == 1

    def test_dangers_and_meters_stand_for_themselves(self) -> None:
        assert verdict(*self.FINE, dangers=(DANGER,)).reasons == (DANGER.reason,)
        assert verdict(*self.FINE, meters=(METER,)).reasons == ("The flow balance has moved by +6.0 %.",)

    def test_the_flow_that_the_headline_speaks_of_stays(self) -> None:
        reasons = verdict(salt(1.20), flow(1.05), drop(1.0)).reasons
        assert ["salt passage" in reasons[0], "permeate flow" in reasons[1], len(reasons)] == [True, True, 2]

    def test_nobody_is_told_that_pressure_drop_is_fine_for_a_reason(self) -> None:
        found = verdict(flow(1.25, temperature_corrected=False), drop(1.0), dangers=(TestLooksAfter.LOOK,))
        assert found.level == "watch" and len(found.reasons) == 2
        assert not any("within" in reason for reason in found.reasons)


class TestNothingHasChanged:
    """One stage past its limit while all meters together say that nothing has changed."""

    @pytest.mark.parametrize("value", [0.79, 0.89])
    def test_it_is_looked_at_and_not_cleaned(self, value: float) -> None:
        found = verdict(flow(value, "stage3"), flow(1.0), nothing=0.7)
        assert found.level == "watch" and "compare the gauges of stage 3" in found.headline
        assert "stage 3" in found.reasons[0]
        assert verdict(flow(value, "stage3"), flow(1.0), nothing=0.3).level != "watch"

    def test_dangers_stay(self) -> None:
        assert verdict(flow(0.89), nothing=0.9, dangers=(DANGER,)).level == "act now"


class TestBeyondCleaning:
    """Lost flow that no cleaning mends calls for a look; a clogged channel is cleaned whatever else there is."""

    SAID = "It looks like compaction (90 %), which no cleaning mends: compare the dates."

    def reached(self, *indicators: Indicator) -> Verdict:
        return reach_verdict(indicators, Grounds(TODAY, beyond_cleaning=self.SAID))

    @pytest.mark.parametrize(("value", "level"), [(0.88, "watch"), (0.78, "act now")])
    def test_lost_flow_is_told_with_why_no_cleaning_helps(self, value: float, level: str) -> None:
        found = self.reached(flow(value), drop(1.0))
        assert found.level == level and found.headline.endswith(self.SAID)
        assert "lan a" not in found.headline and "clean now" not in found.headline
        assert verdict(flow(value), drop(1.0)).level in ("plan cleaning", "act now")

    def test_a_pressure_drop_past_its_limit_is_cleaned(self) -> None:
        found = self.reached(flow(0.80), drop(1.25))
        assert found.level == "plan cleaning" and "pressure drop of stage 1" in found.headline

    def test_a_date_ahead_is_watched(self) -> None:
        found = self.reached(flow(0.94, reaches=in_days(20)))
        assert found.level == "watch" and found.headline.startswith("No cleaning yet")


def test_a_limit_in_sight_is_never_steady() -> None:
    """The interval of the level still reaches close to one: no cleaning is planned, but somebody looks."""
    loose = replace(flow(0.955, reaches=in_days(13)), low=0.93, high=0.98)
    found = verdict(loose)
    assert found.level == "watch" and found.headline.startswith("No cleaning yet")
    assert "nothing needs to be done" not in found.headline and len(found.reasons) == 1


def test_salt_past_its_limit_is_told_with_the_cause_that_is_likeliest() -> None:
    said = "It looks like hydrolysis (80 %), which no cleaning mends: read the record of the last cleaning."
    for value, level in ((1.25, "watch"), (1.6, "act now")):
        found = reach_verdict((salt(value), flow(1.02)), Grounds(TODAY, beyond_cleaning=said))
        assert found.level == level and found.headline.endswith(said)
        more = reach_verdict((salt(value), flow(1.08)), Grounds(TODAY, beyond_cleaning=said))
        assert more.level == level and "look for oxidation" in more.headline
        assert found.headline.startswith("Normalized salt passage of the train is up")


@pytest.mark.parametrize(("quantity", "kind"), [("feed_pressure", "gauge"), ("permeate_conductivity", "meter")])
def test_a_doubted_meter_is_compared_before_anything_is_cleaned_or_looked_for(quantity: str, kind: str) -> None:
    doubted = Meter(quantity, 0.16, 0.1, 0.2, suspect=True, evidence="a meter that reads 16 % high would look the same")
    for one in (flow(0.88), salt(1.25)):
        found = reach_verdict((one,), Grounds(TODAY, doubted=doubted))
        assert f"{kind} with another one: {doubted.evidence}." in found.headline
        assert found.reasons[0].startswith("First compare the ")
    assert "First compare" not in reach_verdict((flow(0.99),), Grounds(TODAY, doubted=doubted)).headline


def test_what_is_past_its_limit_is_never_within_the_limits() -> None:
    """Where the osmotic pressure leaves little, a large change is not sure; it is said so, and watched."""
    loose = replace(flow(0.85, "stage2"), standing="warn", closure=0.12)
    for one in (loose, replace(loose, standing="fine")):
        found = verdict(flow(0.97), one)
        assert (
            found.level == "watch"
            and "past its limit of 0.90, but that is not sure: give or take 17 points" in found.headline
        )
