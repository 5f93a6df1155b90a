"""A small logbook of two sites, with somebody of each role and a token of each kind."""

import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from sqlalchemy.orm import Session

from analytics.events import Event
from server.accounts.actions import add_token
from server.app import create_app
from server.assessments.worker import refresh_due
from server.cleanings.actions import Recorded, record_cleaning
from server.cleanings.photos import add_photos
from server.db import make_engine, transaction
from server.elements.actions import add_round
from server.elements.models import VesselRound
from server.events.actions import add_events
from server.feedwater.actions import add_analysis
from server.feedwater.models import FeedAnalysis
from server.intake.actions import Upload, import_readings
from server.plants.actions import add_plant
from server.plants.models import Train
from server.plants.plant_file import plant_from_text
from server.security.photo import Photo
from server.settings import Settings
from server.shift.models import SAME, ShiftEntry
from tests.people import BASE_URL, headers_for, sign_in

LOG = "time,feed_pressure [bar],permeate_flow [m3/h]\n2026-02-01T06:00Z,12.1,18.0\n2026-02-02T06:00Z,12.2,18.1\n"
OWN, OTHER = 1, 2
"""Numbers of the two sites, and of the train, import and first rows of each."""
ROLES = ("operator", "engineer", "manager")


@dataclass(frozen=True)
class Logbook:
    """Where it is, and the tokens of its machines."""

    url: str
    reading: str
    writing: str
    foreign: str


PLANT = """
[site]
name = "{}"
timezone = "Europe/Lisbon"
[train]
name = "RO 1"
[[train.stage]]
vessels = 2
elements_per_vessel = 6
membrane = "bw8"
[membrane.bw8]
area_m2 = 37.2
"""
WHEN = datetime(2026, 2, 1, tzinfo=UTC)


@pytest.fixture(scope="session")
def two_sites(sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory) -> Logbook:
    """Two sites alike: what is 1 at the first is 2 at the other. Not to be changed."""
    path = tmp_path_factory.mktemp("two") / "two.db"
    shutil.copyfile(sqlite_template, path)
    engine = make_engine(f"sqlite:///{path}")
    tokens: list[str] = []
    for name in ("Quay Laundry", "Weir Mill"):
        with transaction(engine) as session:
            train = _add_site(session, name)
            for read, write in ((True, False), (False, True)):
                given = add_token(session, train.site_id, f"{name} box", may_read=read, may_write=write, author="x")
                tokens.append(given)
    with transaction(engine) as session:
        for train_id in (OWN, OTHER):
            baths = {"steps": [{"chemical": "Citric acid"}]}
            cleaning = record_cleaning(session, train_id, Recorded(None, WHEN, WHEN, baths))
            add_photos(session, cleaning.id, [Photo("image/png", b"a picture")])
    refresh_due(engine)
    engine.dispose()
    return Logbook(f"sqlite:///{path}", *tokens[:3])


def _add_site(session: Session, name: str) -> Train:
    """A train with one of everything that has a number of its own."""
    text = PLANT.format(name)
    train = add_plant(session, plant_from_text(text, file=name), text)
    add_events(session, train.id, [Event(WHEN, "note", None, f"{name} note")])
    import_readings(session, train.id, Upload(f"{name}.csv", LOG.encode()))
    entered = {"calcium": {"value": 80.0, "given_as": "mg/L"}}
    add_analysis(session, FeedAnalysis(train_id=train.id, sampled_at=WHEN, entered=entered, ph=7.5, temperature_c=20.0))
    add_round(session, VesselRound(train_id=train.id, measured_at=WHEN, conductivities={"1": {"1": 20.0}}))
    typed = {"values": {}, "units": {}, "canonical": {}, "state": "stopped", "remark": "", "findings": []}
    session.add(ShiftEntry(train_id=train.id, key=f"key of {name}", taken_at=WHEN, content=typed, status=SAME))
    return train


@pytest.fixture
def logbook(two_sites: Logbook, tmp_path: Path) -> Logbook:
    """A copy of it, to be changed."""
    path = tmp_path / "copy.db"
    engine = make_engine(two_sites.url)
    with engine.connect() as connection:
        connection.exec_driver_sql("COMMIT")
        connection.exec_driver_sql(f"VACUUM INTO '{path}'")
        connection.exec_driver_sql("BEGIN")
    engine.dispose()
    return Logbook(f"sqlite:///{path}", two_sites.reading, two_sites.writing, two_sites.foreign)


@pytest.fixture
def app(logbook: Logbook) -> FastAPI:
    return create_app(Settings(database_url=logbook.url))


@pytest.fixture
def anybody(app: FastAPI) -> Iterator[TestClient]:
    """A client that is nobody; requests say by their headers who they are (`as_role`)."""
    with TestClient(app, base_url=BASE_URL, follow_redirects=False, raise_server_exceptions=False) as client:
        yield client


def as_role(app: FastAPI, role: str, logbook: Logbook | None = None) -> dict[str, str]:
    """Headers of somebody new to this browser: a role at the first site, stranger (at the other), administrator,
    nobody, or one of the machines."""
    if role == "nobody":
        return {}
    if role in {"reading", "writing", "foreign"} and logbook is not None:
        return {"authorization": f"Bearer {getattr(logbook, role)}"}
    if role == "administrator":
        return headers_for(sign_in(app.state.engine))
    roles = {OTHER: "engineer"} if role == "stranger" else {OWN: role}
    return headers_for(sign_in(app.state.engine, f"{role}@example.org", administrator=False, roles=roles))
