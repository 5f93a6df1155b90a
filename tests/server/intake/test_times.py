"""Times of a file become instants; the two odd nights of local clocks among them."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.intake.times import localize, read_times

LISBON = ZoneInfo("Europe/Lisbon")
# Portugal 2026: clocks go forward on 29 March at 01:00 UTC (01:00 becomes 02:00), back on 25 October at 01:00 UTC
# (02:00 becomes 01:00): EU directive 2000/84/EC, last Sundays of March and October.


def _read(
    *cells: str | None, zone: ZoneInfo = LISBON, time_format: str = ""
) -> tuple[list[str | None], tuple[str, ...]]:
    found = read_times(pd.Series(cells, dtype="str"), zone, time_format)
    return [None if pd.isna(t) else t.strftime("%Y-%m-%dT%H:%M:%SZ") for t in found.utc], found.notes


@pytest.mark.parametrize(
    ("cell", "utc"),
    [
        ("2026-01-05 06:10", "2026-01-05T06:10:00Z"),
        ("2026-01-05T06:10", "2026-01-05T06:10:00Z"),
        ("2026-07-05T06:10:30", "2026-07-05T05:10:30Z"),
        ("2026-07-05T06:10Z", "2026-07-05T06:10:00Z"),
        ("2026-07-05T06:10+02:00", "2026-07-05T04:10:00Z"),
        ("2026-07-05T06:10-0330", "2026-07-05T09:40:00Z"),
        ("20260105T0610", "2026-01-05T06:10:00Z"),
        ("  2026-01-05 06:10  ", "2026-01-05T06:10:00Z"),
    ],
)
def test_iso_8601_is_local_without_an_offset(cell: str, utc: str) -> None:
    assert _read(cell) == ([utc], ())


@pytest.mark.parametrize(
    "cell", ["now", "today", "2026", "2026-01", "46027", "06:10", "5/1/2026", "2026-13-01 06:00", "2026-02-30", "x"]
)
def test_what_is_no_time_is_not_guessed_at(cell: str) -> None:
    assert _read(cell, "2026-01-05 06:10")[0] == [None, "2026-01-05T06:10:00Z"]


def test_times_with_and_without_offset_may_be_mixed() -> None:
    times, _ = _read("2026-07-05T06:10Z", "2026-07-05T06:10", None, "2026-07-05T06:10-07:00", "2026-07-05T06:10+01:00")
    assert times == [
        "2026-07-05T06:10:00Z", "2026-07-05T05:10:00Z", None, "2026-07-05T13:10:00Z", "2026-07-05T05:10:00Z",
    ]  # fmt: skip


def test_a_date_alone_means_noon_of_that_day_and_is_told() -> None:
    times, notes = _read("2026-07-05", "2026-01-05 06:10", "20260106")
    assert times == ["2026-07-05T11:00:00Z", "2026-01-05T06:10:00Z", "2026-01-06T12:00:00Z"]
    assert notes == ("2 dates without a time were taken as 12:00 local.",)


def test_a_given_format_is_used_and_nothing_else() -> None:
    times, _ = _read("05.01.2026 06:10", "2026-01-05 06:10", time_format="%d.%m.%Y %H:%M")
    assert times == ["2026-01-05T06:10:00Z", None]


def test_a_given_format_without_a_clock_means_noon() -> None:
    times, notes = _read("2/7/2019", zone=ZoneInfo("America/Los_Angeles"), time_format="%m/%d/%Y")
    assert times == ["2019-02-07T20:00:00Z"]
    assert notes == ("1 date without a time was taken as 12:00 local.",)


def test_a_given_format_with_an_offset() -> None:
    assert _read("05.07.2026 06:10 +0200", time_format="%d.%m.%Y %H:%M %z")[0] == ["2026-07-05T04:10:00Z"]


def test_the_repeated_hour_shown_once_is_the_first_time_round() -> None:
    times, notes = _read("2026-10-25 00:30", "2026-10-25 01:30", "2026-10-25 02:30")
    assert times == ["2026-10-24T23:30:00Z", "2026-10-25T00:30:00Z", "2026-10-25T02:30:00Z"]
    assert notes == (
        "1 time in an hour that the clocks showed twice: 1 taken as the first time round, 0 as the second.",
    )


def test_the_repeated_hour_shown_twice_is_the_first_and_the_second_time_round() -> None:
    local = ["00:45", "01:00", "01:15", "01:30", "01:45", "01:00", "01:15", "01:30", "01:45", "02:00"]
    times, notes = _read(*(f"2026-10-25 {clock}" for clock in local))
    quarters = pd.date_range("2026-10-24T23:45Z", "2026-10-25T02:00Z", freq="15min")
    assert times == quarters.strftime("%Y-%m-%dT%H:%M:%SZ").tolist()
    assert "4 taken as the first time round, 4 as the second" in notes[0]


def test_a_file_with_the_newest_first_is_read_backwards() -> None:
    local = ["02:30", "01:30", "01:00", "01:30", "01:00", "00:30"]
    times, _ = _read(*(f"2026-10-25 {clock}" for clock in local))
    assert times == [
        "2026-10-25T02:30:00Z", "2026-10-25T01:30:00Z", "2026-10-25T01:00:00Z", "2026-10-25T00:30:00Z",
        "2026-10-25T00:00:00Z", "2026-10-24T23:30:00Z",
    ]  # fmt: skip


def test_each_autumn_has_a_second_hour_of_its_own() -> None:
    times, _ = _read("2025-10-26 01:30", "2025-10-26 01:30", "2026-10-25 01:30")
    assert times == ["2025-10-26T00:30:00Z", "2025-10-26T01:30:00Z", "2026-10-25T00:30:00Z"]


def test_the_hour_that_clocks_skip_moves_forward_by_the_gap() -> None:
    times, notes = _read("2026-03-29 00:30", "2026-03-29 01:30", "2026-03-29 02:45")
    assert times == ["2026-03-29T00:30:00Z", "2026-03-29T01:30:00Z", "2026-03-29T01:45:00Z"]
    assert notes == ("1 time in an hour that the clocks skipped: moved forward by the gap.",)


def test_a_gap_of_half_an_hour_is_half_an_hour() -> None:
    """Lord Howe Island puts its clocks forward by 30 minutes: IANA time zone database, file australasia."""
    times, _ = _read("2026-10-04 02:10", zone=ZoneInfo("Australia/Lord_Howe"))
    assert times == ["2026-10-03T15:40:00Z"]


@given(
    st.lists(st.integers(min_value=0, max_value=4 * 24 * 60), min_size=1, max_size=60, unique=True).map(sorted),
    st.sampled_from(["2026-10-24T00:00", "2026-03-28T00:00", "2026-06-01T00:00"]),
)
def test_instants_in_order_keep_their_order_and_their_clock(minutes: list[int], start: str) -> None:
    """Written down by a local clock and read again, times are at most one turn of the clock away, and in order."""
    origin = datetime.fromisoformat(start).replace(tzinfo=UTC)
    instants = [origin + timedelta(minutes=minute) for minute in minutes]
    local = pd.DatetimeIndex([instant.astimezone(LISBON).replace(tzinfo=None) for instant in instants])
    found = localize(local, LISBON).utc
    away = np.abs((found - pd.DatetimeIndex(instants)).total_seconds())
    assert set(away) <= {0.0, 3600.0}
    assert [t.astimezone(LISBON).replace(tzinfo=None) for t in found.to_pydatetime()] == local.to_pydatetime().tolist()
