"""An old verdict can be worked out again from what was kept, whatever has happened since."""

import pytest
from pandas.testing import assert_frame_equal
from sqlalchemy import Engine, select

from analytics.assess import assess
from analytics.quantities import COLUMNS
from server.assessments.actions import refresh_assessment
from server.assessments.document import assessment_document
from server.assessments.models import TrainSettings
from server.assessments.past import past_assessments, past_or_404, settings_then, work_out_again
from server.assessments.queries import latest_assessment
from server.db import transaction
from server.errors import NotFound
from server.events.actions import amend_event, void_event
from server.events.models import Event
from server.events.queries import events_of
from server.intake.actions import Upload, import_readings, undo_import
from server.plants.models import Limit, Train
from server.plants.queries import plant_of
from server.readings.actions import amend_reading, void_reading
from server.readings.models import Reading
from server.readings.queries import readings_frame, readings_frame_then
from tests.server.assessments.test_actions import train_id  # noqa: F401  # the same train
from tests.server.demo_trains import ANY_TIME


def _change_everything(engine: Engine, train: int) -> None:
    """Amend, void, bring back, withdraw, correct, add a column, and set another limit."""
    with transaction(engine) as session:
        ids = session.scalars(select(Reading.id).order_by(Reading.taken_at)).all()
        for reading_id in ids[5:400:3]:
            amend_reading(session, reading_id, {"feed_pressure_bar": 30.0, "feed_ph": 6.5}, reason="test")
        for reading_id in ids[6:300:3]:
            void_reading(session, reading_id, reason="test")
        first, *_, last = session.scalars(select(Event).order_by(Event.id)).all()
        void_event(session, first.id, reason="test")
        (event,) = [e for e in events_of(session, train) if e.time == last.happened_at and e.kind == last.kind][:1]
        amend_event(session, last.id, type(event)(event.time, "note", None, "never happened"), reason="test")
        session.add(Limit(train_id=train, name="permeate_flow_warn", value=0.99, author="Ana", reason="stricter"))


def test_an_old_verdict_can_be_worked_out_again(engine: Engine, train_id: int) -> None:  # noqa: F811
    with transaction(engine) as session:
        record = latest_assessment(session, train_id, series=True)
        assert record is not None
        then = record.document | {"series": record.series}
        frame, events = readings_frame(session, train_id), events_of(session, train_id)
        (past,) = past_assessments(session, train_id)
    _change_everything(engine, train_id)
    with transaction(engine) as session:
        refresh_assessment(session, train_id)
    with transaction(engine) as session:
        assert events_of(session, train_id) != events
        assert events_of(session, train_id, at_version=past.inputs_version) == events
        assert_frame_equal(readings_frame_then(session, train_id, past.inputs_version, past.columns), frame)
        found = work_out_again(session, past_or_404(session, train_id, past.id))
        assert found.agrees
        assert assessment_document(found.again, series=True) == then
        now = assess(plant_of(session, train_id), readings_frame(session, train_id), events_of(session, train_id))
        assert assessment_document(now, series=True) != then


def test_settings_are_kept_once_and_a_verdict_only_when_something_changed(
    engine: Engine,
    train_id: int,  # noqa: F811
) -> None:
    with transaction(engine) as session:
        refresh_assessment(session, train_id)
        assert len(past_assessments(session, train_id)) == 1
        session.add(Limit(train_id=train_id, name="permeate_flow_warn", value=0.99, author="Ana", reason="stricter"))
        session.flush()
        refresh_assessment(session, train_id)
        new, old = past_assessments(session, train_id)
        assert settings_then(session, new).content["train"]["limits"]["permeate_flow_warn"] == 0.99
        assert "permeate_flow_warn" not in settings_then(session, old).content["train"].get("limits", {})
        assert len(session.scalars(select(TrainSettings)).all()) == 2
        assert old.figures["train permeate_flow"][0] == new.figures["train permeate_flow"][0]


def test_a_verdict_that_is_gone_is_noted_once(engine: Engine, train_id: int) -> None:  # noqa: F811
    with transaction(engine) as session:
        undo_import(session, 1, reason="wrong train")
        refresh_assessment(session, train_id)
        gone, past = past_assessments(session, train_id)
        assert (gone.level, gone.as_of, past.as_of is None) == ("not enough data", None, False)
        with pytest.raises(NotFound, match="no reading was in use"):
            work_out_again(session, gone)
        assert work_out_again(session, past).agrees
        with pytest.raises(NotFound):
            past_or_404(session, train_id + 1, past.id)


def test_readings_brought_back_stand_at_both_versions(engine: Engine, train_id: int) -> None:  # noqa: F811
    text = b"time,feed_pressure [bar],feed_ph\n2027-01-01T06:00,9,7.1\n"
    upload = Upload("late.csv", text, latest=ANY_TIME)
    with transaction(engine) as session:
        train = readings_frame(session, train_id)
        with_late = session.get_one(Train, train_id).inputs_version + 1
        first = import_readings(session, train_id, upload)
        undo_import(session, first.id, reason="too early")
        import_readings(session, train_id, upload)
        columns = [name for name in train.columns if name in COLUMNS]
        lengths = [len(readings_frame_then(session, train_id, with_late + n, columns)) for n in (-1, 0, 1, 2)]
        assert lengths == [len(train), len(train) + 1, len(train), len(train) + 1]
