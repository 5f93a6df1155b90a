"""`skidbook check` finds what was broken on purpose, and nothing in a healthy logbook."""

from pathlib import Path

import pytest
from sqlalchemy import Engine, select, text

from server.db import make_engine, transaction
from server.intake.actions import Upload, import_readings
from server.keeping.check import check_records
from server.plants.actions import add_plant
from server.plants.plant_file import plant_from_text
from server.readings.actions import amend_reading, void_reading
from server.readings.models import Reading

LOG = b"time,feed_pressure [bar]\n2026-01-05 06:10,12.0\n2026-01-06 06:10,12.1\n2026-01-07 06:10,12.2\n"


@pytest.fixture
def healthy(engine: Engine, plant_text: str) -> Engine:
    with transaction(engine) as session:
        train = add_plant(session, plant_from_text(plant_text, file="plant.toml"))
        import_readings(session, train.id, Upload("log.csv", LOG))
        first, second, _ = session.scalars(select(Reading.id).order_by(Reading.id)).all()
        amend_reading(session, first, {"feed_pressure_bar": 12.5}, reason="x")
        amend_reading(session, first, {"feed_pressure_bar": 12.6}, reason="x")
        void_reading(session, second, reason="x")
    return engine


def test_a_healthy_logbook(healthy: Engine) -> None:
    found = check_records(healthy)
    assert found.problems == ()
    assert (found.rows["readings"], found.rows["reading_revisions"]) == (3, 2)
    assert found.notes == ("trains whose verdict is out of date: number 1",)


@pytest.mark.parametrize(
    ("statement", "said"),
    [
        ("UPDATE readings SET revision = 4 WHERE id = 1", "versions that are missing or too many: number 1"),
        ("UPDATE readings SET revision = 2 WHERE id = 1", "older versions that claim to be newer: number 1"),
        ("UPDATE readings SET revision = 2 WHERE id = 3", "versions that are missing or too many: number 3"),
        ("UPDATE readings SET since_version = 99 WHERE id = 1", "claim to be newer than what their train rests on"),
        ("UPDATE readings SET void_reason = ''", "taken out of use without a reason: number 2"),
        ("UPDATE imports SET status = 'undone'", "or were undone, are in use: number 1, number 3"),
        ("UPDATE import_parts SET content = CAST('other' AS BLOB)", "the file of import 1 is not what came in"),
        ("DELETE FROM import_parts", "the file of import 1 is not what came in"),
        ("DELETE FROM stages", "trains have no stage: number 1"),
        ("DELETE FROM readings WHERE id = 3", "set aside that are not there: number 1"),
    ],
)
def test_what_is_broken_is_named(healthy: Engine, statement: str, said: str) -> None:
    if healthy.dialect.name == "postgresql":
        statement = statement.replace("BLOB", "BYTEA")
    with healthy.begin() as connection:
        connection.execute(text(statement))
    assert [problem for problem in check_records(healthy).problems if said in problem]


def test_a_table_that_lost_its_protection_is_named(healthy: Engine) -> None:
    sqlite = healthy.dialect.name == "sqlite"
    with healthy.begin() as connection:
        connection.execute(text(f"DROP TRIGGER audit_no_{'update' if sqlite else 'change ON audit'}"))
    (problem,) = check_records(healthy).problems
    assert "table audit is not protected any more" in problem


def test_a_damaged_file_and_a_lost_row_are_named(sqlite_engine: Engine, plant_text: str) -> None:
    with transaction(sqlite_engine) as session:
        add_plant(session, plant_from_text(plant_text, file="plant.toml"))
    with sqlite_engine.connect() as connection:
        connection.exec_driver_sql("COMMIT")
        connection.exec_driver_sql("PRAGMA foreign_keys = OFF")
        connection.exec_driver_sql("DELETE FROM sites")
        connection.exec_driver_sql("BEGIN")
    problems = check_records(sqlite_engine).problems
    assert any("refers to a row of sites that is not there" in problem for problem in problems)
    sqlite_engine.dispose()
    path = Path(str(sqlite_engine.url.database))
    content = bytearray(path.read_bytes())
    for page in range(2, len(content) // 4096):
        content[page * 4096 : page * 4096 + 64] = b"\xff" * 64
    path.write_bytes(content)
    assert any(problem.startswith("damaged:") for problem in check_records(sqlite_engine).problems)


def test_no_logbook_is_said_and_none_is_made(tmp_path: Path) -> None:
    path = tmp_path / "none.db"
    (problem,) = check_records(make_engine(f"sqlite:///{path}")).problems
    assert "there is no logbook" in problem and not path.exists()
