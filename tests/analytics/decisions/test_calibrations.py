"""Reminders of calibrations, by hand."""

from datetime import UTC, date, datetime

import pytest

from analytics.decisions.calibrations import Calibration, calibrations_of, meters_named, reminders
from analytics.errors import InvalidSettings
from analytics.events import Event
from analytics.plant import Meters
from analytics.plant_file import plant_from_dict
from analytics.quantities import QUANTITIES

METERED = ("permeate_flow", "stage1_permeate_flow", "permeate_conductivity", "feed_temperature", "feed_ph", "feed_orp")
SINCE, TODAY = date(2025, 1, 1), date(2026, 3, 1)


def event(day: date, detail: str, kind: str = "meter-calibration") -> Event:
    return Event(datetime(day.year, day.month, day.day, 23, 30, tzinfo=UTC), kind, None, detail)


def found(*events: Event, meters: Meters = Meters(), since: date = SINCE) -> dict[str, Calibration]:  # noqa: B008
    given = calibrations_of(METERED, events, meters, since=since, today=TODAY, timezone="Asia/Kolkata")
    return {one.quantity: one for one in given}


def test_the_last_entry_counts_and_its_day_is_that_of_the_site() -> None:
    """23:30 UTC is the next morning in Kolkata; 90 days after 2 December 2025 is 2 March 2026."""
    entries = (event(date(2025, 5, 1), "Permeate conductivity"), event(date(2025, 12, 1), "permeate_conductivity: 4 %"))
    cell = found(*entries)["permeate_conductivity"]
    assert (cell.last, cell.due_on, cell.due) == (date(2025, 12, 2), date(2026, 3, 2), False)
    assert cell.state == "last calibrated on 2 December 2025, 89 days ago; due on 2 March 2026"


def test_what_is_due_says_how_to_check_it() -> None:
    cell = found(event(date(2025, 5, 1), "Permeate conductivity"), meters=Meters(conductivity_calibration_days=30))
    assert cell["permeate_conductivity"].due
    assert cell["permeate_conductivity"].state == (
        "last calibrated on 2 May 2025, 303 days ago; every 30 days is set: compare it with a portable cell, or a"
        " standard solution"
    )


def test_meters_of_which_the_same_is_due_share_a_reminder() -> None:
    told = [line for line in reminders(tuple(found().values())) if "portable meter" in line]
    assert told == [
        "Permeate flow and stage 1 permeate flow: no calibration is on record since 1 January 2025; every 365 days is"
        " set: compare it with a portable meter, or a bucket and a watch."
    ]
    young = found(since=date(2026, 2, 1))
    assert reminders(tuple(young.values())) == ()


def test_without_an_entry_the_log_counts_from_its_first_day() -> None:
    assert found()["feed_temperature"].state.startswith(
        "no calibration is on record since 1 January 2025; every 365 days is set"
    )
    young = found(since=date(2026, 2, 1))
    assert not young["feed_temperature"].due and not young["feed_ph"].due and young["feed_temperature"].last is None


def test_the_longest_overdue_comes_first_and_another_meter_is_as_good() -> None:
    new = event(date(2026, 2, 20), "Feed pH: new probe", "meter-replacement")
    assert not found(new)["feed_ph"].due
    assert list(found(new))[:2] == ["feed_orp", "permeate_conductivity"]
    assert not found(event(date(2026, 2, 20), "Feed pH", "note"))["feed_ph"].last


def test_an_interval_of_nothing_reminds_nobody() -> None:
    assert "permeate_flow" not in found(meters=Meters(flow_calibration_days=0))


def test_a_text_names_meters_by_their_whole_name() -> None:
    assert meters_named("stage 1 permeate flow, feed ph", METERED) == ("stage1_permeate_flow", "feed_ph")
    assert meters_named("all were fine", METERED) == ()
    assert meters_named("Conductivity meters checked against the hand meter", METERED) == ("permeate_conductivity",)
    assert meters_named("permeate flow and thermometer", METERED) == ("permeate_flow", "feed_temperature")
    assert meters_named("Gauges checked, all within 1 psi", ("feed_pressure", "feed_flow")) == ("feed_pressure",)
    assert meters_named("All instruments checked", METERED) == METERED
    assert meters_named("Level gauges cleaned, sample cells rinsed", METERED) == ()
    assert set(meters_named(", ".join(one.label for one in QUANTITIES.values()), tuple(QUANTITIES))) == set(QUANTITIES)


def test_intervals_are_settings_of_the_plant_file() -> None:
    def plant_with(days: int) -> Meters:
        stage = {"vessels": 2, "elements_per_vessel": 6, "membrane": "m"}
        train = {"name": "T", "stage": [stage], "meters": {"flow_calibration_days": days}}
        given = {"site": {"name": "S"}, "train": train, "membrane": {"m": {"area_m2": 37.2}}}
        return plant_from_dict(given).train.meters

    assert plant_with(180).flow_calibration_days == 180
    with pytest.raises(InvalidSettings, match="flow_calibration_days"):
        plant_with(-1)
