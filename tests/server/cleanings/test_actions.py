"""Records of cleanings on both engines: an event for each, versions kept, prices by site."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta

import pytest
from sqlalchemy import Engine, select
from sqlalchemy.orm import Session

from analytics.decisions.cleaning_experience import Spent
from analytics.events import Event
from server.audit.models import AuditEntry
from server.budget.actions import choose
from server.cleanings.actions import Recorded, amend_cleaning, record_cleaning, set_prices, void_cleaning
from server.cleanings.queries import latest_prices, list_cleanings, readings_around, revisions, site_prices
from server.cleanings.spent import spent_on_cleanings
from server.db import transaction
from server.errors import Conflict
from server.events.actions import add_events
from server.events.queries import events_of, list_events
from server.intake.actions import Upload, import_readings
from server.plants.actions import add_plant
from server.plants.plant_file import plant_from_text
from server.plants.queries import plant_of

BEGAN = datetime(2026, 3, 25, 7, tzinfo=UTC)
STEPS = [{"chemical": "Sodium hydroxide", "ph_start": 11.5, "temperature_start_c": 30.0}, {"chemical": "Citric acid"}]


def given(**changed: object) -> Recorded:
    plain = {"stage": 1, "started_at": BEGAN, "ended_at": BEGAN + timedelta(hours=9), "content": {"steps": STEPS}}
    return Recorded(**(plain | changed))  # type: ignore[arg-type]


@pytest.fixture
def session(engine: Engine, plant_text: str) -> Iterator[Session]:
    with transaction(engine) as found:
        add_plant(found, plant_from_text(plant_text, file="plant.toml"), plant_text)
        yield found


def test_a_recorded_cleaning_is_an_event_that_opens_a_run(session: Session) -> None:
    record_cleaning(session, 1, given(), author="ann")
    (event,) = events_of(session, 1)
    assert (event.kind, event.stage, event.time, event.ends_run) == ("cleaning", 1, BEGAN, True)
    assert event.detail == "Sodium hydroxide, pH 11.5, 30 degC; Citric acid"


def test_an_event_of_that_day_and_stage_is_taken_and_not_doubled(session: Session) -> None:
    add_events(session, 1, [Event(BEGAN + timedelta(hours=2), "cleaning", 1, "as the operator wrote it"),
                            Event(BEGAN, "cleaning", 2, "another stage")])  # fmt: skip
    first, second = record_cleaning(session, 1, given()), record_cleaning(session, 1, given(stage=2))
    assert len(events_of(session, 1)) == 2 and first.event_id != second.event_id
    assert record_cleaning(session, 1, given()).event_id not in (first.event_id, None)


def test_a_correction_keeps_the_old_version_and_moves_the_event(session: Session) -> None:
    cleaning = record_cleaning(session, 1, given(), author="ann")
    later = given(started_at=BEGAN + timedelta(days=1), ended_at=BEGAN + timedelta(days=1, hours=3))
    amend_cleaning(session, cleaning.id, later, reason="wrong day", revision=1, author="ben")
    (old,) = revisions(session, cleaning.id)
    assert (old.author, old.reason, old.replaced_by) == ("ann", "wrong day", "ben")
    assert old.content["started_at"] == BEGAN.isoformat()
    (event,) = events_of(session, 1)
    assert event.time == BEGAN + timedelta(days=1)
    kinds = session.scalars(select(AuditEntry.kind).order_by(AuditEntry.id)).all()
    assert "cleaning-recorded" in kinds and "cleaning-amended" in kinds and "event-amended" in kinds


def test_a_correction_needs_a_reason_a_change_and_the_present_version(session: Session) -> None:
    cleaning = record_cleaning(session, 1, given())
    other = given(content={"steps": STEPS, "remarks": "slow"})
    for wanted, reason, revision in ((other, " ", 1), (given(), "x", 1), (other, "x", 2)):
        with pytest.raises(Conflict):
            amend_cleaning(session, cleaning.id, wanted, reason=reason, revision=revision)


def test_a_record_out_of_use_takes_its_event_with_it(session: Session) -> None:
    cleaning = record_cleaning(session, 1, given())
    void_cleaning(session, cleaning.id, reason="was another train")
    assert events_of(session, 1) == () and list_cleanings(session, 1) == []
    assert [e.void_reason for e in list_events(session, 1, with_voided=True)] == ["was another train"]
    with pytest.raises(Conflict, match="already"):
        void_cleaning(session, cleaning.id, reason="again")


def test_prices_belong_to_the_site_and_every_change_stands_in_the_record(session: Session) -> None:
    assert set_prices(session, 1, {"chemicals_cost": 300.0}, author="ann")
    assert not set_prices(session, 1, {"chemicals_cost": 300.0})
    assert set_prices(session, 1, {"chemicals_cost": 320.0, "labour_hours": 9.0})
    found = latest_prices(session, 1)
    assert found is not None and found.content == {"chemicals_cost": 320.0, "labour_hours": 9.0}
    entries = list(session.scalars(select(AuditEntry).where(AuditEntry.kind == "cleaning-prices-changed")))
    assert [entry.before for entry in entries] == [
        {"chemicals_cost": None},
        {"chemicals_cost": 300.0, "labour_hours": None},
    ]


def test_prices_of_the_budget_are_not_asked_for_twice(session: Session) -> None:
    assert site_prices(session, 1) == {"pump_efficiency": 0.65}  # the budget's own default; no price is invented
    choose(session, {"energy_price": "0.16", "efficiency": "0.7"}, site_id=1, author="ann")
    set_prices(session, 1, {"chemicals_cost": 300.0})
    assert site_prices(session, 1) == {"chemicals_cost": 300.0, "energy_price": 0.16, "pump_efficiency": 0.7}


def test_readings_before_and_after_are_picked_from_the_log(session: Session) -> None:
    hours = {
        -30: "running",
        -2: "running",
        3: "stopped",
        9.5: "starting",
        10.2: "running",
        32: "running",
        70: "running",
    }
    rows = [
        f"{(BEGAN + timedelta(hours=hour)).isoformat()},{10 + n / 10:.1f},{0 if state == 'stopped' else 20 + n},{state}"
        for n, (hour, state) in enumerate(hours.items())
    ]
    text = "time,feed_pressure [bar],permeate_flow [m3/h],state\n" + "\n".join(rows)
    import_readings(session, 1, Upload("log.csv", text.encode()))
    cleaning = record_cleaning(session, 1, given())
    picked = readings_around(session, cleaning)
    assert [one.name for one in picked] == ["Before", "1 h", "24 h", "48 to 72 h"]
    assert [one.values.get("permeate_flow_m3h") for one in picked] == [21.0, 24.0, 25.0, 26.0]


def test_what_elements_stand_in_a_cleaning_survives_the_records(engine: Engine, plant_text: str) -> None:
    text = plant_text.replace("area_m2 = 37.2", "area_m2 = 37.2\ncleaning_max_ph_25c = 13.0")
    text += "\n[train.cleaning]\npipe_length_m = 30.0\npipe_diameter_mm = 77.9\n"
    with transaction(engine) as session:
        train = add_plant(session, plant_from_text(text, file="plant.toml"), text)
        plant = plant_of(session, train.id)
    assert plant.train.stages[0].membrane.cleaning_max_ph_25c == 13.0
    assert (plant.train.cleaning.pipe_length_m, plant.train.cleaning.tank_heel) == (30.0, 0.30)


def test_what_cleanings_took_is_told_by_train_without_those_out_of_use(session: Session) -> None:
    plant = plant_of(session, 1)
    full = {"steps": STEPS, "chemicals_cost": 365.0, "labour_hours": 15.0, "waste_cost": 40.0, "energy_kwh": 60.0}
    record_cleaning(session, 1, given(content=full))
    record_cleaning(session, 1, given(stage=None, started_at=BEGAN + timedelta(days=90)))
    gone = record_cleaning(session, 1, given(started_at=BEGAN + timedelta(days=30), content=full))
    void_cleaning(session, gone.id, reason="written twice")
    first, second = spent_on_cleanings(session)[1]
    assert first == Spent(plant.train.stages[0].elements, 365.0, 15.0, 40.0, 60.0)
    assert second == Spent(sum(stage.elements for stage in plant.train.stages))
    assert spent_on_cleanings(session, [2]) == {}
