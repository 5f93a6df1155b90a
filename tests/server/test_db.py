"""Transactions, types and settings of the database."""

from datetime import UTC, datetime, timedelta, timezone
from typing import Any

import pytest
from sqlalchemy import Engine, select
from sqlalchemy.exc import IntegrityError, OperationalError, StatementError
from sqlalchemy.orm import Session

from server.db import WrongAddress, json_text, make_engine, transaction
from server.plants.models import Site, Train


def _site(**given: Any) -> Site:
    return Site(**{"name": "Quay", "timezone": "Europe/Lisbon"} | given)


def test_a_transaction_is_committed_at_its_end(engine: Engine) -> None:
    with transaction(engine) as session:
        session.add(_site())
    with transaction(engine) as session:
        assert session.scalar(select(Site.name)) == "Quay"


def test_a_transaction_leaves_nothing_behind_when_something_is_raised(engine: Engine) -> None:
    with pytest.raises(RuntimeError), transaction(engine) as session:
        session.add(_site())
        session.flush()
        raise RuntimeError
    with transaction(engine) as session:
        assert session.scalar(select(Site.name)) is None


def test_times_come_back_in_utc_with_their_zone(engine: Engine) -> None:
    written = datetime(2026, 3, 1, 8, 15, 30, 123456, tzinfo=timezone(timedelta(hours=2)))
    with transaction(engine) as session:
        session.add(_site(created_at=written))
    with transaction(engine) as session:
        read = session.scalar(select(Site.created_at))
    assert read == written
    assert read.tzinfo is UTC


def test_a_time_without_a_zone_is_refused(engine: Engine) -> None:
    with pytest.raises(StatementError, match="no time zone"), transaction(engine) as session:
        session.add(_site(created_at=datetime(2026, 3, 1)))  # noqa: DTZ001  # that is the point


def test_documents_come_back_as_they_went_in(engine: Engine) -> None:
    settings = {"water": "seawater", "assumed": {"permeate_pressure": 1.5}, "list": [1, None, "µ"]}
    with transaction(engine) as session:
        session.add(Train(site=_site(), name="A", settings=settings))
    with transaction(engine) as session:
        assert session.scalar(select(Train.settings)) == settings


def test_nan_becomes_null_in_documents() -> None:
    assert json_text({"a": float("nan"), "b": 1.5}) == '{"a":null,"b":1.5}'


def test_foreign_keys_are_enforced(engine: Engine) -> None:
    with pytest.raises(IntegrityError), transaction(engine) as session:
        session.add(Train(site_id=77, name="A"))


def test_relationships_are_never_loaded_by_chance(engine: Engine) -> None:
    with transaction(engine) as session:
        session.add(_site())
    with transaction(engine) as session:
        site = session.scalars(select(Site)).one()
        with pytest.raises(Exception, match="lazy='raise'"):
            _ = site.trains


def test_sqlite_is_kept_safe(sqlite_engine: Engine) -> None:
    with sqlite_engine.connect() as connection:
        found = {
            name: connection.exec_driver_sql(f"PRAGMA {name}").scalar()
            for name in ("journal_mode", "foreign_keys", "synchronous", "busy_timeout")
        }
    # synchronous 2 is FULL: https://www.sqlite.org/pragma.html#pragma_synchronous
    assert found == {"journal_mode": "wal", "foreign_keys": 1, "synchronous": 2, "busy_timeout": 15_000}


def test_a_session_that_writes_takes_the_write_lock_when_it_begins(sqlite_url: str) -> None:
    """Otherwise a reader that turns writer after somebody else has committed fails whatever the timeout."""
    first, second = make_engine(sqlite_url), make_engine(sqlite_url)
    with transaction(first) as session:
        session.scalar(select(Site.id))
        with second.connect().execution_options(writes=False) as other:
            other.exec_driver_sql("SELECT 1")
            other.exec_driver_sql("PRAGMA busy_timeout = 1")
            with pytest.raises(OperationalError, match="locked"):
                other.exec_driver_sql("INSERT INTO sites (name) VALUES ('x')")
    first.dispose()
    second.dispose()


def test_reading_goes_on_while_somebody_writes(sqlite_url: str) -> None:
    first, second = make_engine(sqlite_url), make_engine(sqlite_url)
    with transaction(first) as writer:
        writer.add(_site())
        writer.flush()
        with transaction(second, writes=False) as reader:
            assert reader.scalar(select(Site.name)) is None
    with Session(second) as reader:
        assert reader.scalar(select(Site.name)) == "Quay"
    first.dispose()
    second.dispose()


@pytest.mark.parametrize("url", ["nonsense", "mysql://somewhere/x", "sqlite+aiosqlite:///x"])
def test_an_address_of_no_known_database_is_named(url: str) -> None:
    with pytest.raises(WrongAddress, match="SKIDBOOK_DATABASE_URL"):
        make_engine(url)


def test_postgresql_is_spoken_with_psycopg() -> None:
    assert make_engine("postgresql://somebody@localhost/x").url.drivername == "postgresql+psycopg"
