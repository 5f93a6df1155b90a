"""A round of the vessels makes the verdict due, changes its causes, and an old verdict still knows what it knew."""

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from sqlalchemy import Engine

from server.assessments.actions import refresh_assessment
from server.assessments.due import trains_due
from server.assessments.past import past_assessments, work_out_again
from server.assessments.queries import latest_assessment
from server.db import transaction
from server.elements.actions import add_round, withdraw_round
from server.elements.models import VesselRound
from server.elements.queries import rounds_of
from tests.server.demo_trains import HOSPITAL, add_demo_train


@pytest.fixture
def train_id(engine: Engine) -> int:
    """The hospital of the demo fleet: oxidized, with three vessels in its first stage."""
    with transaction(engine) as session:
        return add_demo_train(session, HOSPITAL)


def _causes(engine: Engine, train: int) -> Any:
    with transaction(engine) as session:
        refresh_assessment(session, train)
        record = latest_assessment(session, train)
        assert record is not None
        return record.document["causes"]


def test_a_round_changes_the_causes_until_it_is_withdrawn(engine: Engine, train_id: int) -> None:
    before = _causes(engine, train_id)
    with transaction(engine) as session:
        assert trains_due(session) == []
        record = latest_assessment(session, train_id)
        assert record is not None
        measured = record.as_of - timedelta(days=3)
        values = {"1": {"1": 44.0, "2": 45.0, "3": 99.0}}
        found = add_round(session, VesselRound(train_id=train_id, measured_at=measured, conductivities=values))
        round_id = found.id
        assert trains_due(session) == [train_id]
    after = _causes(engine, train_id)
    told = "vessel 3 of stage 1 reads 99 µS/cm where the others read 44 to 45"
    assert after[0]["cause"] == before[0]["cause"] == "oxidation"
    assert any(told in text for text in after[0]["evidence"])
    assert after[0]["probability"] < before[0]["probability"]
    with transaction(engine) as session:
        (past,) = past_assessments(session, train_id)
        assert rounds_of(session, train_id, at_version=past.inputs_version) == ()
        assert list(work_out_again(session, past).again.causes[0].evidence) == before[0]["evidence"]
        withdraw_round(session, round_id, reason="Wrong probe.")
        assert trains_due(session) == [train_id]
        assert rounds_of(session, train_id) == ()
    assert _causes(engine, train_id) == before


def test_a_round_is_known_from_its_version_until_it_is_withdrawn(engine: Engine, train_id: int) -> None:
    with transaction(engine) as session:
        measured = datetime(2026, 10, 1, tzinfo=UTC)
        found = add_round(
            session, VesselRound(train_id=train_id, measured_at=measured, conductivities={"1": {"1": 4.0}})
        )
        withdraw_round(session, found.id, reason="test")
        since, until = found.since_version, found.voided_version
        assert until == since + 1
        known = [len(rounds_of(session, train_id, at_version=since + n)) for n in (-1, 0, 1)]
        assert known == [0, 1, 0]
