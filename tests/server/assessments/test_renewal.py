"""What is worked out for the touched days alone is what would be worked out for all of them."""

import re
from collections.abc import Callable, Iterator
from typing import Any

import numpy as np
import pandas as pd
import pytest
from sqlalchemy import Engine, delete, select
from sqlalchemy.orm import Session

from analytics.events import Event
from server.assessments.actions import keep_finding, refresh_assessment, work_out
from server.assessments.due import due_of, trains_due
from server.assessments.models import WorkingBasis
from server.assessments.queries import daily_frame, latest_assessment
from server.assessments.rows import MOVED
from server.db import make_engine, transaction
from server.events.actions import add_events
from server.intake.actions import Upload, import_readings
from server.intake.table import ReadingsTable
from server.plants.actions import add_plant
from server.plants.plant_file import plant_from_text
from server.readings.actions import amend_reading, store_readings, void_reading
from server.readings.models import Reading, SetAside
from server.readings.queries import readings_frame
from tests.server.demo_trains import ANY_TIME, FLEET, GLASSHOUSES

FOLDER = FLEET / GLASSHOUSES
ROUNDING = 3e-4
"""The membrane model's search starts from other readings; it is settled to a few hundred-thousandths, and a
forecast for months ahead carries those furthest. [-]"""
NUMBER = r"\d[\d.,]*"
TRAIN = 1
Change = Callable[[Session], None]


@pytest.fixture
def sqlite(demo_copy: str) -> Iterator[Engine]:
    """A logbook whose train 1, the glasshouses of the demo fleet, is assessed with all its readings."""
    engine = make_engine(demo_copy)
    yield engine
    engine.dispose()


def reading(session: Session, back: int) -> Reading:
    query = select(Reading).where(Reading.train_id == TRAIN).order_by(Reading.taken_at.desc())
    return session.scalars(query.offset(back).limit(1)).one()


def sent(session: Session, later: pd.Timedelta, count: int = 1) -> ReadingsTable:
    """The last readings of train 1 over again, some time later."""
    last = readings_frame(session, TRAIN, reading(session, count - 1).taken_at)
    frame = last.set_axis(last.index + later)
    return ReadingsTable("log", frame, np.arange(len(frame)), {}, (), (), 0, (), len(frame))


def add_last(session: Session) -> None:
    store_readings(session, TRAIN, sent(session, pd.Timedelta(hours=6)), source="api")


def amend_middle(session: Session) -> None:
    old = reading(session, 400)
    amend_reading(session, old.id, {"feed_pressure_bar": 3 * old.feed_pressure_bar}, reason="made up")  # type: ignore[attr-defined]


def stop(session: Session) -> None:
    amend_reading(session, reading(session, 0).id, {}, state="stopped", reason="it stood still")


def void_last(session: Session) -> None:
    void_reading(session, reading(session, 0).id, reason="never taken")


def clean(session: Session) -> None:
    at = reading(session, 60).taken_at
    add_events(session, TRAIN, (Event(at, "cleaning", None, "alkaline"),))


def late(session: Session) -> None:
    """A reading that comes weeks after the last one, and leaves all of that time without any."""
    store_readings(session, TRAIN, sent(session, pd.Timedelta(days=40)), source="api")


def written(session: Session) -> dict[str, Any]:
    record = latest_assessment(session, TRAIN, series=True)
    assert record is not None
    aside = session.execute(
        select(SetAside.taken_at, SetAside.reason, SetAside.content).where(SetAside.train_id == TRAIN)
    )
    return {
        "document": record.document,
        "series": record.series,
        "aside": sorted((at.isoformat(), reason, repr(content)) for at, reason, content in aside),
    }


def differences(ours: Any, theirs: Any, where: str = "") -> list[str]:
    if isinstance(ours, dict) and isinstance(theirs, dict):
        keys = [*ours, *(key for key in theirs if key not in ours)]
        return [d for key in keys for d in differences(ours.get(key), theirs.get(key), f"{where}/{key}")]
    if isinstance(ours, list) and isinstance(theirs, list) and len(ours) == len(theirs):
        pairs = enumerate(zip(ours, theirs, strict=True))
        return [d for number, (a, b) in pairs for d in differences(a, b, f"{where}/{number}")]
    if isinstance(ours, float) and isinstance(theirs, float) and abs(ours - theirs) <= ROUNDING * max(1, abs(theirs)):
        return []
    if isinstance(ours, str) and isinstance(theirs, str):
        ours, theirs = (re.sub(NUMBER, "#", text) for text in (ours, theirs))  # rounded to where they differ, perhaps
    return [] if ours == theirs else [f"{where}: {ours} {theirs}"]


def again_from_nothing(session: Session) -> dict[str, Any]:
    session.execute(delete(WorkingBasis).where(WorkingBasis.train_id == TRAIN))
    refresh_assessment(session, TRAIN)
    return written(session)


@pytest.mark.parametrize("change", [add_last, amend_middle, stop, void_last, clean, late])
def test_touched_days_alone_give_the_answer_of_all_days(sqlite: Engine, change: Change) -> None:
    with transaction(sqlite) as session:
        change(session)
        found = work_out(session, TRAIN)
        assert found.base is not None and found.assessment is not None
        assert len(found.assessment.log.days) < 0.5 * found.assessment.counts.total
        assert keep_finding(session, found)
        incremental, days = written(session), daily_frame(session, TRAIN)
        assert differences(incremental, again_from_nothing(session)) == []
        whole = daily_frame(session, TRAIN)
        pd.testing.assert_frame_equal(days[whole.columns], whole, rtol=2 * MOVED)


def test_one_after_another_they_are_built_on_each_other(engine: Engine) -> None:
    plant = plant_from_text((FOLDER / "plant.toml").read_text(encoding="utf-8"), file="plant.toml")
    with transaction(engine) as session:
        assert add_plant(session, plant).id == TRAIN
        content = (FOLDER / "readings.csv").read_bytes()
        import_readings(session, TRAIN, Upload("readings.csv", content, latest=ANY_TIME))
        before = written(session)
    for _ in range(3):
        with transaction(engine) as session:
            add_last(session)
            refresh_assessment(session, TRAIN)
    with transaction(engine) as session:
        working = session.get_one(WorkingBasis, TRAIN)
        total = before["document"]["readings"]["total"]
        assert (working.changed, working.readings) == (3, total)
        assert written(session)["document"]["readings"]["total"] == total + 3
        assert differences(written(session), again_from_nothing(session)) == []


def test_everything_is_worked_out_again_where_the_rest_would_move(sqlite: Engine) -> None:
    with transaction(sqlite) as session:
        in_reference = session.scalars(
            select(Reading).where(Reading.train_id == TRAIN).order_by(Reading.taken_at).offset(30).limit(1)
        ).one()
        amend_reading(session, in_reference.id, {"feed_temperature_c": 11.0}, reason="made up")
        assert work_out(session, TRAIN).base is None
        refresh_assessment(session, TRAIN)
        amend_reading(session, reading(session, 0).id, {"feed_sdi": 3.0}, reason="a new meter")
        assert work_out(session, TRAIN).base is None
        refresh_assessment(session, TRAIN)
        store_readings(session, TRAIN, sent(session, pd.Timedelta(days=40), count=20), source="api")
        assert work_out(session, TRAIN).base is None


def test_a_change_is_due_until_it_is_known(sqlite: Engine) -> None:
    with transaction(sqlite) as session:
        assert trains_due(session) == []
        add_last(session)
    with transaction(sqlite) as session:
        assert trains_due(session) == [TRAIN]
        assert [span.readings for span in due_of(session, TRAIN).spans] == [1]
        refresh_assessment(session, TRAIN)
        assert trains_due(session) == []


def test_what_is_older_than_what_is_kept_is_not_kept(sqlite: Engine) -> None:
    with transaction(sqlite) as session:
        add_last(session)
        old = work_out(session, TRAIN)
        void_last(session)
        refresh_assessment(session, TRAIN)
        kept = written(session)
        assert not keep_finding(session, old)
        assert written(session) == kept
