"""Numbers, units and dates as people read them. Expected texts are written by hand."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from analytics.quantities import quantity
from server import display

NOW = datetime(2026, 3, 2, 11, 0, tzinfo=UTC)


@pytest.mark.parametrize(
    ("value", "decimals", "text"),
    [
        (11640.0, 0, "11\u202f640"), (-0.004, 2, "0.00"), (-7.25, 1, "\u22127.2"),
        (1234567.891, 1, "1\u202f234\u202f567.9"),
        (None, 1, "–"), (float("nan"), 1, "–"), (float("inf"), 1, "–"),
    ],
)  # fmt: skip
def test_numbers_have_thin_spaces_and_a_true_minus(value: float | None, decimals: int, text: str) -> None:
    assert display.number(value, decimals) == text


def test_a_percentage_has_its_sign_and_zero_has_none() -> None:
    assert display.percent_change(1.13) == "+13.0\u202f%"
    assert display.percent_change(0.9) == "\u221210.0\u202f%"
    assert display.percent_change(1.0004) == "0.0\u202f%"
    assert display.percent_change(None) == "–"


def test_values_are_shown_in_the_units_of_the_reader() -> None:
    # 1 bar = 14.5038 psi, 1 m3/h = 4.40287 US gpm (NIST SP 811); 17.4 degC = 63.32 degF
    assert display.with_unit(13.62, quantity("feed_pressure"), "SI") == "13.6\u202fbar"
    assert display.with_unit(13.62, quantity("feed_pressure"), "US") == "198\u202fpsi"
    assert display.with_unit(14.1, quantity("permeate_flow"), "US") == "62.1\u202fgpm"
    assert display.with_unit(17.4, quantity("feed_temperature"), "US") == "63.3\u202f°F"
    assert display.with_unit(7.2, quantity("feed_ph"), "SI") == "7.20"
    assert display.with_unit(None, quantity("feed_pressure"), "SI") == "–"


@pytest.mark.parametrize(
    ("first", "last", "text"),
    [
        (date(2026, 4, 24), date(2026, 4, 24), "24\u00a0April 2026"),
        (date(2026, 1, 6), date(2026, 1, 20), "6 to 20\u00a0January 2026"),
        (date(2026, 4, 24), date(2026, 6, 20), "24\u00a0April to 20\u00a0June 2026"),
        (date(2026, 12, 24), date(2027, 1, 2), "24\u00a0December 2026 to 2\u00a0January 2027"),
    ],
)
def test_spans_of_days_name_month_and_year_once(first: date, last: date, text: str) -> None:
    assert display.days_between(first, last) == text


def test_an_instant_is_shown_by_the_clock_of_the_site() -> None:
    assert (
        display.moment(datetime(2026, 7, 1, 23, 30, tzinfo=UTC), ZoneInfo("Europe/Athens")) == "2\u00a0July 2026, 02:30"
    )


@pytest.mark.parametrize(
    ("before", "text"),
    [
        (timedelta(seconds=20), "just now"), (timedelta(minutes=20), "20 minutes ago"),
        (timedelta(hours=1), "1 hour ago"),
        (timedelta(hours=47), "47 hours ago"), (timedelta(days=3), "3 days ago"), (timedelta(days=70), "2 months ago"),
        (timedelta(days=900), "2 years ago"), (timedelta(hours=-1), "just now"),
    ],
)  # fmt: skip
def test_age_is_given_in_the_largest_unit_that_says_enough(before: timedelta, text: str) -> None:
    assert display.ago(NOW - before, NOW) == text


def test_words_around_numbers() -> None:
    assert display.counted(1, "reading") == "1\u00a0reading"
    assert display.counted(1246, "reading") == "1\u202f246\u00a0readings"
    assert display.in_words(2) == "two"
    assert display.in_words(13) == "13"
    assert display.file_size(64 * 1024**2) == "64\u202fMB"
    assert display.file_size(1_500_000) == "1.4\u202fMB"
