"""Migrations build the schema that the models describe."""

import sqlite3
from pathlib import Path

import pytest
from alembic import command
from sqlalchemy import Engine, inspect, text

from analytics.quantities import COLUMNS
from server.db import make_engine
from server.schema import CannotOpen, NewerSchema, NoLogbook, alembic_config, migrate, require_current


def test_models_and_migrations_agree(engine: Engine) -> None:
    with engine.connect() as connection:
        command.check(alembic_config(connection))


def test_every_quantity_has_a_column(engine: Engine) -> None:
    columns = {column["name"] for column in inspect(engine).get_columns("readings")}
    assert set(COLUMNS) <= columns


def test_down_and_up_again(engine: Engine) -> None:
    with engine.begin() as connection:
        command.downgrade(alembic_config(connection), "base")
    assert inspect(engine).get_table_names() == ["alembic_version"]
    assert migrate(engine) is True
    require_current(engine)


def test_rounds_of_before_make_the_verdict_due_and_old_verdicts_do_not_know_them(engine: Engine) -> None:
    with engine.begin() as connection:
        command.downgrade(alembic_config(connection), "3f7a90c5de21")
        when = "'2026-03-01T10:00:00.000000'"
        connection.execute(
            text(
                "INSERT INTO sites (id, name, timezone, currency, location, units, created_at)"
                f" VALUES (1, 'Any site', 'UTC', 'EUR', '', 'metric', {when})"
            )
        )
        for train in (1, 2):
            connection.execute(
                text(
                    "INSERT INTO trains (id, site_id, name, settings, plant_file, columns, inputs_version, created_at)"
                    f" VALUES ({train}, 1, 'RO {train}', '{{}}', '', '[]', 7, {when})"
                )
            )
        rounds = ("1, NULL, ''", f"1, {when}, 'Wrong probe.'", f"2, {when}, 'Wrong probe.'")
        for number, voided in enumerate(rounds, start=1):
            connection.execute(
                text(
                    "INSERT INTO vessel_rounds (id, measured_at, conductivities, remark, author, created_at, train_id,"
                    f" voided_at, void_reason) VALUES ({number}, {when}, '{{}}', '', '', {when}, {voided})"
                )
            )
    assert migrate(engine) is True
    with engine.connect() as connection:
        found = connection.execute(text("SELECT since_version, voided_version FROM vessel_rounds ORDER BY id")).all()
        versions = connection.scalars(text("SELECT inputs_version FROM trains ORDER BY id")).all()
        due = connection.scalars(text("SELECT train_id FROM assessments_due")).all()
    assert [tuple(row) for row in found] == [(8, None), (8, 8), (7, 7)]
    assert (versions, due) == ([8, 7], [1])


def test_migrating_twice_changes_nothing(engine: Engine) -> None:
    assert migrate(engine) is False


def test_a_newer_schema_is_refused_and_left_alone(engine: Engine) -> None:
    with engine.begin() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = 'fromlater'"))
    with pytest.raises(NewerSchema, match=r"newer version of skidbook .*fromlater.*nothing was changed"):
        migrate(engine)
    with engine.connect() as connection:
        assert connection.scalar(text("SELECT version_num FROM alembic_version")) == "fromlater"


def test_asking_for_a_logbook_does_not_make_one(tmp_path: Path) -> None:
    path = tmp_path / "none.db"
    with pytest.raises(NoLogbook, match="run: skidbook migrate"):
        require_current(make_engine(f"sqlite:///{path}"))
    assert not path.exists()


def test_an_empty_database_is_no_logbook(tmp_path: Path) -> None:
    path = tmp_path / "empty.db"
    sqlite3.connect(path).close()
    engine = make_engine(f"sqlite:///{path}")
    with pytest.raises(NoLogbook, match="not at this version"):
        require_current(engine)
    engine.dispose()


def test_a_file_that_is_no_database_is_told_and_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "notes.db"
    path.write_text("these are my notes, not a database, and longer than a header")
    before = path.read_bytes()
    with pytest.raises(CannotOpen, match="not a database"):
        migrate(make_engine(f"sqlite:///{path}"))
    assert path.read_bytes() == before
