"""When to clean: from where indicators stand and go, and what comes before any cleaning."""

from datetime import date, timedelta

import pytest

from analytics.decisions.cleaning_window import beyond_cleaning, cleaning_window
from analytics.judgement.cause import Cause
from analytics.judgement.limits import Indicator, judge_indicator
from analytics.judgement.meters import Meter
from analytics.judgement.trend import Trend
from analytics.plant import Limits

TODAY = date(2026, 6, 1)


def trend(name: str, value: float, slope: float, scope: str = "stage1") -> Trend:
    """A trend with a slope that is known within a tenth."""
    first = TODAY - timedelta(days=60)
    return Trend(
        scope, name, value, value - 0.005, value + 0.005, slope, slope - 0.1 * abs(slope), slope + 0.1 * abs(slope),
        60, first, TODAY, (), None,
    )  # fmt: skip


def judge(*trends: Trend) -> list[Indicator]:
    return [judge_indicator(one, Limits(), temperature_corrected=True) for one in trends]


def cause(name: str, probability: float) -> Cause:
    return Cause(name, 1, probability, (), "", "")


def test_the_window_of_a_steady_loss_by_hand() -> None:
    # By hand: from 0.95 at 0.001 a day, 0.93 after 20 days and 0.90 after 50; 0.80 after 150, at the earliest, with
    # the level at its end, a growth that doubles every 60 days (g = ln 2 / 60), and one standard error of the slope
    # (0.0001 / 1.645) more: 0.001 (exp(84 g) - 1) / g + 84 x 0.0000608 = 0.147, on day 83 0.1443, and 0.145 is to go:
    # 83.3 days.
    given = trend("permeate_flow", 0.95, -0.001)
    found = cleaning_window(judge(given), [given], [cause("scaling", 0.7)], [], today=TODAY)
    assert (found.advice, found.stage, found.cause) == ("not yet", 1, "scaling")
    assert found.earliest == TODAY + timedelta(days=20)
    assert found.aim == TODAY + timedelta(days=50)
    assert found.latest == TODAY + timedelta(days=83)


def test_past_the_warning_there_is_enough_to_take_off() -> None:
    given = trend("pressure_drop", 1.12, 0.001)
    found = cleaning_window(judge(given), [given], [], [], today=TODAY)
    assert (found.advice, found.earliest) == ("plan", TODAY) and "prove it" in found.reasons[0]


@pytest.mark.parametrize(("value", "latest_is_today"), [(0.89, False), (0.79, True)])
def test_past_the_limit_it_is_now(value: float, latest_is_today: bool) -> None:
    given = trend("permeate_flow", value, -0.001)
    found = cleaning_window(judge(given), [given], [], [], today=TODAY)
    assert (found.advice, found.aim) == ("now", TODAY) and (found.latest == TODAY) is latest_is_today


def test_a_steady_train_needs_none() -> None:
    given = trend("permeate_flow", 0.99, 0.0)
    found = cleaning_window(judge(given), [given], [], [], today=TODAY)
    assert (found.advice, found.aim) == ("not yet", None) and "not in sight" in found.reasons[0]


def test_salt_passage_alone_never_calls_for_one() -> None:
    given = trend("salt_passage", 1.4, 0.002)
    assert cleaning_window(judge(given), [given], [], [], today=TODAY).advice == "unknown"


def test_what_no_cleaning_mends_comes_first() -> None:
    given = trend("permeate_flow", 0.88, -0.001)
    oxidised = cleaning_window(judge(given), [given], [cause("oxidation", 0.8)], [], today=TODAY)
    assert oxidised.advice == "look first" and "dechlorination" in oxidised.reasons[0] and oxidised.aim is None
    meter = Meter("permeate_flow", -0.08, -0.1, -0.06, True, "")
    assert cleaning_window(judge(given), [given], [], [meter], today=TODAY).advice == "look first"
    unlikely = cleaning_window(judge(given), [given], [cause("oxidation", 0.4)], [], today=TODAY)
    assert unlikely.advice == "now"


def test_the_one_that_reaches_its_limit_first_governs() -> None:
    slow, fast = trend("permeate_flow", 0.94, -0.0002), trend("pressure_drop", 1.05, 0.003, "stage2")
    found = cleaning_window(judge(slow, fast), [slow, fast], [], [], today=TODAY)
    assert (found.scope, found.name, found.stage) == ("stage2", "pressure_drop", 2)


def test_no_cause_holds_up_the_cleaning_of_a_clogged_channel() -> None:
    """What no cleaning mends leaves the pressure drop alone."""
    given = trend("pressure_drop", 1.3, 0.001)
    found = cleaning_window(judge(given), [given], [cause("oxidation", 0.8)], [], today=TODAY)
    assert found.advice == "now"


def test_where_nothing_is_to_be_cleaned_no_cause_has_to_be_looked_at_first() -> None:
    quiet, passed = trend("permeate_flow", 0.99, 0.0), trend("salt_passage", 1.3, 0.0)
    fed = [cause("feed-change", 0.8)]
    assert cleaning_window(judge(quiet), [quiet], fed, [], today=TODAY).advice == "not yet"
    assert cleaning_window(judge(quiet, passed), [quiet, passed], fed, [], today=TODAY).advice == "look first"


def test_a_date_that_is_not_worth_a_verdict_plans_nothing() -> None:
    """Little is lost yet, but fast: the date is told, and what to do is that of the verdict."""
    given = trend("permeate_flow", 0.965, -0.002)
    found = cleaning_window(judge(given), [given], [], [], today=TODAY)
    assert found.aim is not None and (found.aim - TODAY).days < 45
    assert found.advice == "not yet"


def test_what_is_beyond_cleaning_is_told_with_its_check() -> None:
    likely = Cause("compaction", None, 0.9, (), "compare with the date of the last new elements", "")
    said = beyond_cleaning([likely])
    assert (
        said
        == "It looks like compaction (90 %), which no cleaning mends: compare with the date of the last new elements."
    )
    for other in ([], [cause("compaction", 0.4)], [cause("organic", 0.9)], [cause("meter", 0.9)]):
        assert beyond_cleaning(other) == ""
