"""The application for page tests: over an empty logbook, or over two trains of the demo fleet."""

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from server.app import create_app
from server.db import make_engine, transaction
from server.settings import Settings
from tests.people import signed_in
from tests.server.demo_trains import GLASSHOUSES, HOSPITAL, add_demo_train


@pytest.fixture
def client(sqlite_url: str) -> Iterator[TestClient]:
    """The application over an empty logbook; it takes files of up to 200 kB."""
    with signed_in(create_app(Settings(database_url=sqlite_url, max_upload_bytes=200_000))) as found:
        yield found


@pytest.fixture(scope="session")
def demo_url(sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory) -> str:
    """Address of a logbook with train 1 (two stages, SI units) and train 2 (US units). Not to be changed."""
    path = tmp_path_factory.mktemp("demo") / "demo.db"
    shutil.copyfile(sqlite_template, path)
    engine = make_engine(f"sqlite:///{path}")
    with transaction(engine) as session:
        add_demo_train(session, GLASSHOUSES)
    with transaction(engine) as session:
        add_demo_train(session, HOSPITAL)
    engine.dispose()
    return f"sqlite:///{path}"


@pytest.fixture
def demo_copy(demo_url: str, tmp_path: Path) -> str:
    """Address of a copy of that logbook, to be changed."""
    path = tmp_path / "copy.db"
    engine = make_engine(demo_url)
    with engine.connect() as connection:
        connection.exec_driver_sql("COMMIT")
        connection.exec_driver_sql(f"VACUUM INTO '{path}'")
        connection.exec_driver_sql("BEGIN")
    engine.dispose()
    return f"sqlite:///{path}"


@pytest.fixture
def demo_client(demo_url: str) -> Iterator[TestClient]:
    """The application over two trains of the demo fleet; only for reading."""
    with signed_in(create_app(Settings(database_url=demo_url))) as found:
        yield found
