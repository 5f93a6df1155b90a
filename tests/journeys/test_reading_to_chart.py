"""The way of a reading, over HTTP only: a plant file and a log go in, a verdict and its chart come out.

The line that this test walks stands in docs/architecture.md.
"""

import base64
import json
import re
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from fastapi.testclient import TestClient

from server.app import create_app
from server.settings import Settings
from tests.people import signed_in
from tests.server.seen import seen

FOLDER = Path(__file__).parents[2] / "demo_data" / "fleet" / "tolmera-glasshouses-ro-2"


@pytest.fixture
def client(sqlite_url: str) -> Iterator[TestClient]:
    with signed_in(create_app(Settings(database_url=sqlite_url))) as found:
        yield found


def log() -> bytes:
    """The demo log of that train, ten years earlier: no reading may lie in the future."""
    text = (FOLDER / "readings.csv").read_text(encoding="utf-8")
    return re.sub(r"(?m)^20(\d\d)-", lambda match: f"20{int(match.group(1)) - 10:02d}-", text).encode()


def plant() -> bytes:
    text = (FOLDER / "plant.toml").read_text(encoding="utf-8")
    return text.replace('"2025-', '"2015-').encode()


def figure(page: str) -> dict:
    text = re.search(r'<script type="application/json" id="figure-changes">(.*?)</script>', page, re.DOTALL)
    assert text is not None
    return json.loads(text.group(1))


def test_from_a_plant_file_and_a_log_to_a_verdict_and_its_chart(client: TestClient) -> None:
    # a logbook without anything says what to do first
    assert "Add a plant" in seen(client.get("/").text)

    # the plant file leads to the train, which asks for a log
    added = client.post("/plants", files={"file": ("plant.toml", plant())})
    assert "Bring in a log" in seen(added.text)
    assert "No readings yet" in seen(client.get("/trains/1/assessment").text)

    # the log is looked at; nothing is stored before somebody says so
    looked_at = client.post("/trains/1/imports", files={"file": ("readings.csv", log())})
    rows = log().decode().count("\n") - 1
    assert f"{rows:,} new readings to bring in.".replace(",", " ") in seen(looked_at.text)
    assert "There are none of these." in seen(client.get("/trains/1/readings").text)
    place = str(looked_at.url.path)

    # brought in, the verdict is there at once
    verdict = seen(client.post(f"{place}/confirm").text)
    page = client.get("/trains/1/assessment")
    headline = re.search(r"<h1>(.*?)</h1>", page.text).group(1)  # type: ignore[union-attr]
    assert headline and seen(f"<main>{headline}</main>").lstrip("> ") in verdict
    assert headline in client.get("/").text

    # every reading is accounted for: used or set aside, each with its reason
    listed = seen(client.get("/trains/1/readings").text)
    assert f"of {rows:,}".replace(",", " ") in listed

    # and the chart holds the days themselves
    dots = next(trace for trace in figure(page.text)["data"] if trace["mode"] == "markers")
    values = np.frombuffer(base64.b64decode(dots["y"]["bdata"]), dtype="<f4")
    assert dots["x0"].startswith("2015-08") and np.isfinite(values).sum() > 300
    assert 0.8 < np.nanmedian(values) < 1.2

    # what was brought in can be taken back as a whole, and the page says so
    client.post(f"{place}/undo", data={"reason": "tried out"})
    assert "No readings yet" in seen(client.get("/trains/1/assessment").text)


def test_an_event_written_down_stands_on_the_chart(client: TestClient) -> None:
    client.post("/plants", files={"file": ("plant.toml", plant())})
    looked_at = client.post("/trains/1/imports", files={"file": ("readings.csv", log())})
    client.post(f"{looked_at.url.path}/confirm")
    entered = {"kind": "cleaning", "stage": "1", "when": "2016-03-25T07:00", "detail": "Caustic, overnight."}
    client.post("/trains/1/events", data=entered)
    page = client.get("/trains/1/assessment").text
    assert "Cleaning, stage 1, 25 March 2016. Caustic, overnight." in seen(page)
    assert "Cleaning, stage 1" in [note["text"] for note in figure(page)["layout"]["annotations"]]
    assert "25 March 2016 to 31 October 2016" in seen(page) or "25 March to 31 October 2016" in seen(page)
