"""Files of readings come in: look first, store all or none, take back as a whole."""

from datetime import UTC, datetime

import pytest
from sqlalchemy import Engine, func, select
from sqlalchemy.orm import Session

from server.db import now, transaction
from server.errors import Conflict, FileProblem, NotFound
from server.intake.actions import (
    FUTURE,
    Upload,
    confirm_import,
    discard_import,
    import_readings,
    preview_import,
    undo_import,
)
from server.intake.contents import import_content
from server.intake.guided import hand_in
from server.intake.models import DISCARDED, DONE, PENDING, UNDONE
from server.intake.queries import import_or_404, list_imports
from server.plants.actions import add_plant
from server.plants.models import Train
from server.plants.plant_file import plant_from_text
from server.readings.models import Reading
from server.readings.queries import readings_frame, revisions

HEADER = "time,feed_pressure [bar],permeate_flow [m3/h],state\n"
FIRST = HEADER + "2026-01-05 06:10,12.5,30,\n2026-01-05 14:10,12.6,30.1,running\n"
FILE = Upload("january.csv", FIRST.encode(), author="Ana")


def upload(text: str, name: str = "log.csv") -> Upload:
    return Upload(name, text.encode())


@pytest.fixture
def train_id(engine: Engine, plant_text: str) -> int:
    with transaction(engine) as session:
        return add_plant(session, plant_from_text(plant_text, file="plant.toml")).id


def _stored(session: Session) -> int:
    return session.scalar(select(func.count()).select_from(Reading).where(Reading.voided_at.is_(None))) or 0


def test_a_staged_file_is_kept_with_what_it_would_bring_and_nothing_is_stored(engine: Engine, train_id: int) -> None:
    with transaction(engine) as session:
        staged = hand_in(session, train_id, FILE).id
    with transaction(engine) as session:
        found = import_or_404(session, staged)
        assert found.status == PENDING
        assert found.counts == {"rows": 2, "problems": 0, "stored": 2, "same": 0, "different": 0}
        assert found.first_taken_at == datetime(2026, 1, 5, 6, 10, tzinfo=UTC)
        assert found.last_taken_at == datetime(2026, 1, 5, 14, 10, tzinfo=UTC)
        assert found.column_units == {"feed_pressure_bar": "bar", "permeate_flow_m3h": "m3/h"}
        assert found.preview[1] == {
            "row": 3,
            "taken_at": "2026-01-05T14:10:00+00:00",
            "values": {"feed_pressure_bar": 12.6, "permeate_flow_m3h": 30.1},
            "state": "running",
            "remark": "",
        }
        assert import_content(session, staged) == FILE.content
        assert (_stored(session), found.author) == (0, "Ana")


def test_a_confirmed_file_is_stored(engine: Engine, train_id: int) -> None:
    with transaction(engine) as session:
        staged = hand_in(session, train_id, FILE).id
    with transaction(engine) as session:
        done = confirm_import(session, staged, author="Ana")
        assert (done.status, done.counts["stored"]) == (DONE, 2)
        assert done.finished_at is not None
    with transaction(engine) as session:
        assert readings_frame(session, train_id)["permeate_flow_m3h"].tolist() == [30.0, 30.1]
        row = session.scalars(select(Reading).order_by(Reading.taken_at)).first()
        assert row is not None
        assert (row.source, row.author, row.import_id, row.revision) == ("file", "Ana", staged, 1)
        assert session.get_one(Train, train_id).columns == ["permeate_flow_m3h", "feed_pressure_bar"]


def test_a_file_is_confirmed_once(engine: Engine, train_id: int) -> None:
    with transaction(engine) as session:
        staged = hand_in(session, train_id, FILE).id
        confirm_import(session, staged)
        for again in (confirm_import, discard_import):
            with pytest.raises(Conflict, match="done already"):
                again(session, staged)


def test_a_discarded_file_stores_nothing(engine: Engine, train_id: int) -> None:
    with transaction(engine) as session:
        staged = hand_in(session, train_id, FILE).id
        assert discard_import(session, staged).status == DISCARDED
        with pytest.raises(Conflict, match="discarded already"):
            confirm_import(session, staged)
        assert _stored(session) == 0


def test_a_file_with_a_bad_cell_is_shown_but_not_stored(engine: Engine, train_id: int) -> None:
    bad = upload(FIRST + "2026-01-05 22:10,12;4,30,\n")
    with transaction(engine) as session:
        staged = hand_in(session, train_id, bad)
        assert staged.counts["problems"] == 1
        assert staged.problems[0]["text"].startswith('row 4, column "feed_pressure [bar]": "12;4" is not a number')
        staged_id = staged.id
    for attempt in (
        lambda session: confirm_import(session, staged_id),
        lambda session: import_readings(session, train_id, bad),
        lambda session: preview_import(session, train_id, bad),
    ):
        with pytest.raises(FileProblem, match="row 4"), transaction(engine) as session:
            attempt(session)
    with transaction(engine) as session:
        assert _stored(session) == 0
        assert import_or_404(session, staged_id).status == PENDING


def test_the_same_readings_are_stored_once(engine: Engine, train_id: int) -> None:
    with transaction(engine) as session:
        import_readings(session, train_id, FILE)
    with transaction(engine) as session:
        again = import_readings(session, train_id, FILE)
        assert again.counts == {"rows": 2, "problems": 0, "stored": 0, "same": 2, "different": 0}
        assert again.notes[0].startswith("This very file was brought in already")
        assert _stored(session) == 2


def test_another_value_for_the_same_time_is_listed_and_not_stored(engine: Engine, train_id: int) -> None:
    with transaction(engine) as session:
        import_readings(session, train_id, FILE)
    with transaction(engine) as session:
        other = import_readings(session, train_id, upload(HEADER + "2026-01-05 06:10,13.5,30,\n2026-01-06,12,30,\n"))
        assert (other.counts["stored"], other.counts["different"]) == (1, 1)
        assert other.differences == [
            {
                "row": 2,
                "taken_at": "2026-01-05T06:10:00+00:00",
                "column": "feed_pressure_bar",
                "stored": 12.5,
                "given": 13.5,
                "earlier_row": 0,
            }
        ]
        assert readings_frame(session, train_id)["feed_pressure_bar"].tolist() == [12.5, 12.6, 12.0]


def test_within_a_file_the_first_of_one_time_counts(engine: Engine, train_id: int) -> None:
    text = HEADER + "2026-01-05 06:10,12.5,30,\n2026-01-05 06:10,12.5,30,\n2026-01-05 06:10,12.9,30,\n"
    with transaction(engine) as session:
        counts = import_readings(session, train_id, upload(text)).counts
        assert (counts["rows"], counts["stored"], counts["same"], counts["different"]) == (3, 1, 1, 1)
        assert readings_frame(session, train_id)["feed_pressure_bar"].tolist() == [12.5]


def test_units_that_differ_do_not_make_readings_differ(engine: Engine, train_id: int) -> None:
    psi = HEADER.replace("[bar]", "[psi]") + f"2026-01-05 06:10,{12.5 / 0.06894757293168:.12g},30,\n"
    with transaction(engine) as session:
        import_readings(session, train_id, FILE)
        assert import_readings(session, train_id, upload(psi)).counts["same"] == 1


def test_an_undone_import_is_out_of_use_as_a_whole_and_readable(engine: Engine, train_id: int) -> None:
    with transaction(engine) as session:
        kept = import_readings(session, train_id, upload(HEADER + "2026-01-04 06:10,12.4,30,\n")).id
        done = import_readings(session, train_id, FILE).id
    with transaction(engine) as session:
        undone = undo_import(session, done, reason="wrong train")
        assert (undone.status, undone.counts["undone"]) == (UNDONE, 2)
    with transaction(engine) as session:
        assert readings_frame(session, train_id)["feed_pressure_bar"].tolist() == [12.4]
        voided = session.scalars(select(Reading).where(Reading.import_id == done)).all()
        assert {row.void_reason for row in voided} == {f"import {done} undone: wrong train"}
        with pytest.raises(Conflict, match="undone"):
            undo_import(session, done, reason="again")
        assert import_or_404(session, kept).status == DONE


def test_a_file_can_come_again_after_it_was_undone(engine: Engine, train_id: int) -> None:
    with transaction(engine) as session:
        first = import_readings(session, train_id, FILE).id
        undo_import(session, first, reason="tried out")
    with transaction(engine) as session:
        again = import_readings(session, train_id, upload(HEADER + "2026-01-05 06:10,13.5,31,\n"))
        assert again.counts["stored"] == 1
        again_id = again.id
    with transaction(engine) as session:
        assert readings_frame(session, train_id)["feed_pressure_bar"].tolist() == [13.5]
        row = session.scalars(select(Reading).where(Reading.voided_at.is_(None))).one()
        assert (row.revision, row.import_id, row.void_reason) == (2, again_id, "")
        older = revisions(session, row.id)
        assert [(version.revision, version.content["feed_pressure_bar"]) for version in older] == [(1, 12.5)]
        assert older[0].content["void_reason"] == f"import {first} undone: tried out"


def test_a_year_typed_wrong_is_a_problem(engine: Engine, train_id: int) -> None:
    ahead = (now() + 2 * FUTURE).strftime("%Y-%m-%dT%H:%MZ")
    with transaction(engine) as session:
        staged = hand_in(session, train_id, upload(HEADER + f"{ahead},12.5,30,\n"))
        assert "lies in the future" in staged.problems[0]["text"]


def test_times_are_those_of_the_site(engine: Engine, train_id: int) -> None:
    with transaction(engine) as session:
        import_readings(session, train_id, upload(HEADER + "2026-07-05 06:10,12.5,30,\n"))
        assert readings_frame(session, train_id).index[0].isoformat() == "2026-07-05T05:10:00+00:00"


def test_a_mapping_is_kept_with_its_file(engine: Engine, train_id: int) -> None:
    mapping = '[columns]\n"P" = "feed_pressure [bar]"\n'
    with transaction(engine) as session:
        staged = hand_in(session, train_id, Upload("x.csv", b"time,P\n2026-01-05,12\n", mapping_text=mapping)).id
        assert confirm_import(session, staged).counts["stored"] == 1
        assert import_or_404(session, staged).mapping == mapping


def test_imports_are_listed_newest_first_and_unknown_ones_are_not_there(engine: Engine, train_id: int) -> None:
    with transaction(engine) as session:
        first, second = (hand_in(session, train_id, FILE).id for _ in range(2))
        assert [found.id for found in list_imports(session, train_id)] == [second, first]
        with pytest.raises(NotFound, match="no import with the number 77"):
            import_or_404(session, 77)
