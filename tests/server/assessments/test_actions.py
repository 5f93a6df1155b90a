"""Assessments are kept with their days and with what was set aside, and replaced as a whole."""

import pytest
from sqlalchemy import Engine, func, select
from sqlalchemy.exc import InvalidRequestError

from analytics.assess import assess
from analytics.condition.day_table import RAW
from server.assessments.actions import refresh_assessment
from server.assessments.document import assessment_document
from server.assessments.models import AssessmentRecord, Daily
from server.assessments.queries import daily_frame, fleet_lines, latest_assessment
from server.db import transaction
from server.events.queries import events_of
from server.intake.actions import undo_import
from server.plants.actions import add_plant
from server.plants.models import Train
from server.plants.plant_file import plant_from_text
from server.plants.queries import plant_of
from server.readings.queries import count_set_aside, list_readings, readings_frame
from tests.server.demo_trains import GLASSHOUSES, add_demo_train


@pytest.fixture
def train_id(engine: Engine) -> int:
    """The glasshouses of the demo fleet."""
    with transaction(engine) as session:
        return add_demo_train(session, GLASSHOUSES)


def test_what_is_kept_is_what_the_science_says_of_the_records(engine: Engine, train_id: int) -> None:
    with transaction(engine) as session:
        record = latest_assessment(session, train_id, series=True)
        plant, readings, events = (
            plant_of(session, train_id),
            readings_frame(session, train_id),
            events_of(session, train_id),
        )
        assert record is not None
        expected = assessment_document(assess(plant, readings, events), series=True)
        assert record.series == expected.pop("series")
        assert record.document == expected
        assert (record.level, record.headline) == (expected["verdict"]["level"], expected["verdict"]["headline"])
        assert record.as_of == readings.index[-1]
        assert record.inputs_version == session.get_one(Train, train_id).inputs_version


def test_set_aside_readings_can_be_found_and_add_up(engine: Engine, train_id: int) -> None:
    with transaction(engine) as session:
        record = latest_assessment(session, train_id)
        assert record is not None
        counts = record.document["readings"]
        by_reason = count_set_aside(session, train_id)
        assert by_reason == counts["set_aside"]
        assert sum(by_reason.values()) == counts["total"] - counts["used"] > 0
        assert list_readings(session, train_id, only_set_aside=True).total == sum(by_reason.values())
        for reason, count in by_reason.items():
            page = list_readings(session, train_id, reason=reason, limit=count)
            assert {line.reason for line in page.lines} == {reason}
            assert page.total == count


def test_days_hold_indicators_and_what_was_measured(engine: Engine, train_id: int) -> None:
    with transaction(engine) as session:
        daily = daily_frame(session, train_id)
        readings = readings_frame(session, train_id)
    day = readings.index[-1].tz_convert("Europe/Madrid").strftime("%Y-%m-%d")
    last = readings.tz_convert("Europe/Madrid").loc[day]
    assert daily.index[-1].strftime("%Y-%m-%d") == day
    assert daily[f"{RAW}feed_pressure_bar"].iloc[-1] == pytest.approx(last["feed_pressure_bar"].median(), rel=1e-6)
    assert daily["train_permeate_flow"].notna().any()


def test_a_new_assessment_takes_the_place_of_the_old(engine: Engine, train_id: int) -> None:
    with transaction(engine) as session:
        days = session.scalar(select(func.count()).select_from(Daily))
        refresh_assessment(session, train_id)
        assert session.scalar(select(func.count()).select_from(Daily)) == days
        assert session.scalar(select(func.count()).select_from(AssessmentRecord)) == 1


def test_without_readings_there_is_no_assessment(engine: Engine, train_id: int) -> None:
    with transaction(engine) as session:
        undo_import(session, 1, reason="wrong train")
    with transaction(engine) as session:
        assert latest_assessment(session, train_id) is None
        assert daily_frame(session, train_id).empty
        assert count_set_aside(session, train_id) == {}


def test_the_series_is_read_only_when_asked_for(engine: Engine, train_id: int) -> None:
    with transaction(engine) as session:
        record = latest_assessment(session, train_id)
        assert record is not None
        with pytest.raises(InvalidRequestError, match="series"):
            _ = record.series


def test_the_fleet_lists_every_train_assessed_or_not(engine: Engine, train_id: int, plant_text: str) -> None:
    with transaction(engine) as session:
        add_plant(session, plant_from_text(plant_text, file="plant.toml"))
        first, second = fleet_lines(session)
    assert (first.site, first.train, first.level, first.as_of, first.summary) == (
        "Quay Laundry", "RO 1", "not enough data", None, None,
    )  # fmt: skip
    assert (second.site, second.timezone) == ("Tolmera Glasshouses", "Europe/Madrid")
    assert second.summary is not None and set(second.summary) == {"span", "indicators", "brief"}
    assert second.level != "not enough data"
