"""Files that are too large, or just large: a clear answer, and nothing changed that should not be."""

import json
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from sqlalchemy import func, select

from server.app import create_app
from server.db import transaction
from server.intake.models import Import
from server.plants.actions import add_plant
from server.plants.plant_file import plant_from_text
from server.settings import Settings
from tests.people import signed_in
from tests.programs import Runner, run_program

ROWS = 1_800_000
START, MINUTE = datetime(2015, 1, 1, tzinfo=UTC), timedelta(minutes=1)
STAGED = ",".join(f"stage{n}_{what}" for n in (1, 2, 3) for what in ("permeate_flow", "permeate_conductivity"))
HEADER = (
    "time,feed_temperature,feed_pressure [bar],permeate_flow,concentrate_flow,feed_conductivity,"
    f"permeate_conductivity,{STAGED}\n"
)
VALUES = ",20.125,12.5525,30.1255,10.1255,2500.5,31.2575,20.1255,30.505,10.1255,60.5025,9.1255,70.525\n"


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Runner:
    """Run a command in a folder of the test's own."""
    monkeypatch.chdir(tmp_path)
    return Runner(monkeypatch, capsys)


@pytest.fixture
def plant(tmp_path: Path, plant_text: str) -> Path:
    path = tmp_path / "plant.toml"
    path.write_text(plant_text)
    return path


def test_a_file_above_the_limit_is_refused_by_the_command_line(
    run: Runner, tmp_path: Path, plant: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "log.csv").write_text("time,feed_ph\n" + "2026-01-05 06:10,7.1\n" * 100)
    monkeypatch.setenv("SKIDBOOK_MAX_FILE_BYTES", "1000")
    ran = run("assess", plant.name, "log.csv", "--json", "answer.json")
    assert (ran.status, ran.out) == (2, "")
    assert ran.err == "log.csv: has 2113 bytes; expected at most 1000\n"
    assert not (tmp_path / "answer.json").exists()


def test_a_file_with_too_many_rows_is_refused_before_it_is_read(
    run: Runner, tmp_path: Path, plant: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "log.csv").write_text("time,feed_ph\n" + "not even a time\n" * 2_000)
    monkeypatch.setenv("SKIDBOOK_MAX_UPLOAD_ROWS", "500")
    ran = run("assess", plant.name, "log.csv")
    assert (ran.status, ran.err) == (2, "log.csv: has 1001 rows; expected at most 500\n")


def test_an_upload_above_the_limit_is_refused_and_not_kept(sqlite_url: str, plant_text: str) -> None:
    app = create_app(Settings(database_url=sqlite_url, max_upload_bytes=1_000))
    with signed_in(app) as client:
        with transaction(app.state.engine) as session:
            train_id = add_plant(session, plant_from_text(plant_text, file="plant.toml")).id
        answer = client.post(f"/trains/{train_id}/imports", files={"file": ("log.csv", b"x" * 3_000_000)})
        assert answer.status_code == 413
        with transaction(app.state.engine) as session:
            assert session.scalar(select(func.count()).select_from(Import)) == 0


@pytest.mark.slow
def test_a_file_of_200_megabytes_is_answered(tmp_path: Path, plant: Path) -> None:
    path = tmp_path / "log.csv"
    with path.open("w") as stream:
        stream.write(HEADER)
        for number in range(ROWS):
            stream.write(f"{(START + number * MINUTE).isoformat()}{VALUES}")
    assert 190e6 < path.stat().st_size < 230e6
    ran = run_program("assess", plant.name, "log.csv", "--json", "answer.json", cwd=tmp_path)
    assert (ran.returncode, ran.stderr) == (0, "")
    assert json.loads((tmp_path / "answer.json").read_text())["readings"]["total"] == ROWS
