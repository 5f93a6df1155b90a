"""The work on long files, on every database: looked at, read as answered, stored, and then assessed."""

import io
import json
from dataclasses import asdict
from typing import Any

import pytest
from sqlalchemy import Engine

from server.assessments.due import due_of
from server.assessments.queries import fleet_lines, latest_assessment
from server.db import transaction
from server.intake import job, tolerant
from server.intake.actions import Upload
from server.intake.guided import answered_mapping, hand_in_long
from server.intake.jobs import ANSWER, LOOK, STORE, Job
from server.intake.models import ASKED, DISCARDED, DONE, PENDING, WORKING, Import
from server.intake.page import import_page
from server.intake.progress import working_headline
from server.intake.understand.compile import Corrections
from server.plants.actions import add_plant
from server.plants.plant_file import plant_from_text
from server.plants.queries import train_or_404
from server.templating import Frame

LOG = "Date,Feed pressure (bar),Permeate flow (m3/h)\n" + "".join(
    f"2026-01-{day:02d},12.{day % 10},14.1\n" for day in range(2, 12)
)


@pytest.fixture
def train(engine: Engine, plant_text: str) -> int:
    with transaction(engine) as session:
        return add_plant(session, plant_from_text(plant_text, file="plant.toml"), plant_text).id


def handed_in(engine: Engine, train: int, text: str) -> int:
    with transaction(engine) as session:
        return hand_in_long(session, train, Upload("log.csv", text.encode(), author="Mirel")).id


def work(engine: Engine, monkeypatch: pytest.MonkeyPatch, kind: str, number: int, **more: Any) -> Import:
    """Do a job as its process does, and give back the import."""
    with transaction(engine) as session:
        found = session.get_one(Import, number)
        found.status, found.job = WORKING, {"kind": kind, "step": "waiting"}
    order = Job(kind, number, "Mirel", engine.url.render_as_string(hide_password=False), **more)
    monkeypatch.setattr(job.sys, "stdin", io.StringIO(json.dumps(asdict(order))))
    monkeypatch.setattr(job.os, "nice", lambda _: 0)
    job.main()
    with transaction(engine, writes=False) as session:
        return session.get_one(Import, number)


def test_a_long_file_is_looked_at_answered_stored_and_assessed(
    engine: Engine, train: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    number = handed_in(engine, train, LOG)
    assert work(engine, monkeypatch, LOOK, number).status == ASKED
    with transaction(engine) as session:
        text = answered_mapping(session, number, Corrections())
    answered = work(engine, monkeypatch, ANSWER, number, mapping=text)
    assert (answered.status, answered.counts["stored"]) == (PENDING, 10)
    steps: list[str] = []
    note = job._note
    monkeypatch.setattr(
        job,
        "_note",
        lambda e, j, step, rows=0, lines=0: (steps.append(f"{step} {rows} {lines}"), note(e, j, step, rows, lines)),
    )
    monkeypatch.setattr(tolerant, "TELL_EVERY", 5)
    stored = work(engine, monkeypatch, STORE, number)
    told = ["reading 0 11", "reading 5 11", "reading 10 11", "storing 10 0"]
    assert (stored.status, stored.counts["stored"], steps) == (DONE, 10, told)
    with transaction(engine, writes=False) as session:
        assert latest_assessment(session, train) is not None and due_of(session, train).ids == ()


def test_the_page_says_how_many_rows_have_been_read() -> None:
    found = Import(status=WORKING, counts={}, job={"kind": ANSWER, "step": "reading", "rows": 20_000, "lines": 90_000})
    plain = (
        working_headline(found, "reading").replace("\N{NO-BREAK SPACE}", " ").replace("\N{NARROW NO-BREAK SPACE}", " ")
    )
    assert plain == "Step 1 of 2: reading the file, 20 000 of about 90 000 rows."
    found.job = {"kind": ANSWER, "step": "reading", "rows": 20_000, "lines": 0}
    assert working_headline(found, "reading").endswith("rows so far.")


def test_what_a_person_can_mend_is_noted_and_nothing_kept(
    engine: Engine, train: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    found = work(engine, monkeypatch, LOOK, handed_in(engine, train, "no table here\n"))
    assert found.status == DISCARDED
    assert found.job is not None and "holds no table of readings" in found.job["error"]


def test_while_the_verdict_is_due_every_page_says_so(
    engine: Engine, train: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    number = handed_in(engine, train, "time,feed_pressure [bar]\n2026-01-02T06:10,12.5\n")
    work(engine, monkeypatch, LOOK, number)
    monkeypatch.setattr(job, "refresh_train", lambda *_: None)  # as if the process were killed after it has stored
    work(engine, monkeypatch, STORE, number)
    with transaction(engine, writes=False) as session:
        found, line = session.get_one(Import, number), fleet_lines(session)[0]
        frame = Frame("Import", "SI", "/")
        page = import_page(frame, train_or_404(session, train), found, level="", verdict="", due=True)
    assert line.due and line.summary is None
    assert page.headline == "Step 3 of 3: 1\N{NO-BREAK SPACE}reading stored; the verdict is being worked out."
    assert page.working and (page.progress, page.steps) == (5, 6)
