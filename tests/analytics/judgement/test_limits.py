"""Where an indicator stands: on both sides of every limit, falling and rising, with and without the season's share."""

from datetime import date

import pytest

from analytics.judgement.limits import SOURCES, judge_indicator, standing
from analytics.judgement.trend import Trend
from analytics.plant import Limits

LIMITS = Limits()


def trend(name: str, value: float, slope: float = 0.0) -> Trend:
    return Trend(
        scope="train", name=name, value=value, low=value - 0.01, high=value + 0.01, slope=slope,
        slope_low=slope - 0.0002, slope_high=slope + 0.0002, days=60, first=date(2026, 1, 1), last=date(2026, 3, 1),
        segments=(), forecast=None,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("value", "expected"),
    [(1.05, "fine"), (0.931, "fine"), (0.93, "warn"), (0.901, "warn"), (0.900, "clean"), (0.801, "clean"),
     (0.80, "too late"), (0.79, "too late")],
)  # fmt: skip
def test_falling_flow(value: float, expected: str) -> None:
    """Row 52: down 9.9, 10.0 and 21 % is a warning, a cleaning, and too late."""
    found = judge_indicator(trend("permeate_flow", value), LIMITS, temperature_corrected=True)
    assert found.standing == expected
    assert found.falling_is_bad


@pytest.mark.parametrize("name", ["salt_passage", "pressure_drop"])
@pytest.mark.parametrize(
    ("value", "expected"),
    [(0.80, "fine"), (1.099, "fine"), (1.10, "warn"), (1.149, "warn"), (1.15, "clean"), (1.499, "clean"),
     (1.50, "too late"), (3.0, "too late")],
)  # fmt: skip
def test_rising_passage_and_drop(name: str, value: float, expected: str) -> None:
    found = judge_indicator(trend(name, value), LIMITS, temperature_corrected=True)
    assert found.standing == expected
    assert not found.falling_is_bad


def test_limits_are_settings() -> None:
    found = judge_indicator(
        trend("permeate_flow", 0.88),
        Limits(permeate_flow_clean=0.85, permeate_flow_warn=0.9),
        temperature_corrected=True,
    )
    assert (found.standing, found.limit, found.warn) == ("warn", 0.85, 0.9)


def test_what_is_shown_as_the_limit_is_the_limit() -> None:
    """0.9004 is shown as 0.900 and counts as that; 0.9006 is 0.901."""
    assert standing(0.9004, warn=0.93, clean=0.90, too_late=0.80) == "clean"
    assert standing(0.9006, warn=0.93, clean=0.90, too_late=0.80) == "warn"


class TestSeason:
    def test_only_what_the_season_does_not_explain_counts(self) -> None:
        """Ten degrees colder may raise the pressure drop by eleven points: 1.16 is then no cause for a cleaning."""
        found = judge_indicator(trend("pressure_drop", 1.16), LIMITS, temperature_corrected=True, drift=0.11)
        assert found.allowance == pytest.approx(0.11)
        assert found.standing == "fine"
        assert found.value == 1.16

    def test_a_drift_the_other_way_excuses_nothing(self) -> None:
        found = judge_indicator(trend("pressure_drop", 1.16), LIMITS, temperature_corrected=True, drift=-0.11)
        assert (found.allowance, found.standing) == (0.0, "clean")

    def test_a_drift_never_excuses_more_than_the_change(self) -> None:
        found = judge_indicator(trend("permeate_flow", 0.95), LIMITS, temperature_corrected=True, drift=-0.2)
        assert found.value - found.allowance == pytest.approx(1.0)


class TestForecast:
    def test_change_and_date(self) -> None:
        """0.95 falling by 0.001 a day: 3 points in 30 days, and 0.90 after 50 days."""
        found = judge_indicator(trend("permeate_flow", 0.95, -0.001), LIMITS, temperature_corrected=True)
        assert found.change_per_30_days == pytest.approx(-0.03)
        assert (found.change_low, found.change_high) == pytest.approx((-0.036, -0.024))
        assert found.reaches_limit is not None
        assert found.reaches_limit.likely == date(2026, 4, 20)

    def test_without_temperature_neither(self) -> None:
        """A season looks like a trend: no change and no date is given."""
        found = judge_indicator(trend("permeate_flow", 0.95, -0.001), LIMITS, temperature_corrected=False)
        assert (found.change_per_30_days, found.change_low, found.change_high) == (None, None, None)
        assert found.reaches_limit is None
        assert not found.temperature_corrected

    def test_without_a_slope_neither(self) -> None:
        found = judge_indicator(trend("permeate_flow", 0.95, float("nan")), LIMITS, temperature_corrected=True)
        assert found.change_per_30_days is None
        assert found.reaches_limit is None


def test_every_default_says_where_it_comes_from() -> None:
    """Published (with a maker's manual or the cleaning criteria) or marked as common practice without a source."""
    assert {"permeate_flow", "salt_passage", "pressure_drop"} <= set(SOURCES)
    assert all("published" in text or "manual" in text or "no source" in text for text in SOURCES.values())
