"""The same plant file and log through the pages and through the command line: both doors lead to the same answer."""

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from fastapi.testclient import TestClient

from server.app import create_app
from server.settings import Settings
from tests.people import signed_in
from tests.programs import Runner

DAYS = 80
SLIP = 38
"""Reading, counted from 0, whose feed pressure was typed a hundred times too high: that of the morning of 20 March."""

PLANT = """
[site]
name = "Weir Mill"
timezone = "Europe/Dublin"

[train]
name = "RO 1"

[train.reference]
start = "2025-03-03"
end = "2025-03-16"

[[train.stage]]
vessels = 4
elements_per_vessel = 6
membrane = "bw8"

[membrane.bw8]
area_m2 = 37.0
"""


def _log() -> str:
    """Eighty days in spring: the pressure that the same permeate needs rises by 2.4 bar, and nothing else changes."""
    rng = np.random.default_rng(11)
    lines = [
        "time,feed_temperature [degC],feed_pressure [bar],concentrate_pressure [bar],permeate_pressure [bar],"
        "permeate_flow [m3/h],concentrate_flow [m3/h],feed_conductivity [uS/cm],permeate_conductivity [uS/cm],colour"
    ]
    start = np.datetime64("2025-03-01T06:10")
    for reading in range(2 * DAYS):
        taken = start + np.timedelta64(12 * reading, "h")
        pressure = 11.5 + 2.4 * max(0.0, reading / 2 - 15) / (DAYS - 15) + rng.normal(0, 0.03)
        typed = 100 * pressure if reading == SLIP else pressure
        temperature, flow, waste = rng.normal((15, 18, 6), (0.1, 0.05, 0.03))
        salt, leak = rng.normal((2000, 40), (8, 0.3))
        lines.append(
            f"{taken},{temperature:.1f},{typed:.2f},{pressure - 1.6:.2f},0.5,"
            f"{flow:.2f},{waste:.2f},{salt:.0f},{leak:.1f},clear"
        )
    return "\n".join(lines) + "\n"


@pytest.fixture
def client(sqlite_url: str) -> Iterator[TestClient]:
    with signed_in(create_app(Settings(database_url=sqlite_url))) as found:
        yield found


def test_pages_and_command_line_give_the_same_answer(
    client: TestClient, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    log = _log()
    answer = _by_command_line(log, tmp_path, Runner(monkeypatch, capsys))
    assert answer["verdict"]["level"] in {"watch", "plan cleaning", "act now"}
    assert answer["readings"]["total"] == 2 * DAYS
    assert answer["readings"]["used"] == 2 * DAYS - 1
    assert answer["readings"]["set_aside"] == {"out of range": 1}
    assert any("colour" in note for note in answer["file"]["notes"])

    client.post("/plants", files={"file": ("plant.toml", PLANT.encode())})
    staged = client.post("/trains/1/imports", files={"file": ("log.csv", log.encode())})
    assert "colour" in staged.text, "a column that is not known is named before anything is stored"
    assert client.post(f"{staged.url.path}/confirm").status_code == 200

    page = client.get("/trains/1")
    assert page.url.path == "/trains/1/assessment"
    assert _plain(answer["verdict"]["headline"]) in _plain(page.text)
    aside = _plain(client.get("/trains/1/readings", params={"show": "set-aside"}).text)
    assert "20 March 2025" in aside and "21 March 2025" not in aside
    assert re.search(r"\b1 ?1\d\d\b", aside), "the value stays as it was typed"


def _by_command_line(log: str, folder: Path, run: Runner) -> dict[str, Any]:
    (folder / "plant.toml").write_text(PLANT, encoding="utf-8")
    (folder / "log.csv").write_text(log, encoding="utf-8")
    done = run("assess", str(folder / "plant.toml"), str(folder / "log.csv"), "--json", "-")
    assert done.status == 0, done.err
    document: dict[str, Any] = json.loads(done.out)
    return document


def _plain(text: str) -> str:
    """Text as it is read: no tags, one kind of space."""
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", text))
