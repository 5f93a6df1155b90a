"""The script of docs/examples pushes a controller's folder to a running server, once and not twice."""

import json
import os
import subprocess
import sys
import threading
import time
from collections.abc import Iterator, Mapping
from pathlib import Path

import pytest
import uvicorn
from sqlalchemy import select

from server.accounts.actions import add_token
from server.app import create_app
from server.db import transaction
from server.plants.actions import add_plant
from server.readings.models import Reading
from server.settings import Settings
from tests.analytics.condition.steady_train import plant

SCRIPT = Path(__file__).parents[2] / "docs" / "examples" / "push_folder.py"
TAGS = {
    "time": "TIMESTAMP",
    "columns": {"PT-101": ["feed_pressure_bar", "psi"], "FT-201": ["permeate_flow_m3h", "gpm"]},
}
LOG = "TIMESTAMP,PT-101,FT-201,XA-1\n2026-01-05T06:00:00Z,174.5,80,0\n2026-01-05T07:00:00Z,175,,0\n"


@pytest.fixture
def served(sqlite_url: str) -> Iterator[tuple[str, str, object]]:
    """Address of a running server with one train, and a token that may write to it."""
    app = create_app(Settings(database_url=sqlite_url))
    with transaction(app.state.engine) as session:
        train = add_plant(session, plant())
        token = add_token(session, train.site_id, "box", may_read=False, may_write=True, author="x")
    server = uvicorn.Server(uvicorn.Config(app, port=0, log_level="error", ws="none"))
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.01)
    port = server.servers[0].sockets[0].getsockname()[1]
    yield f"http://localhost:{port}", token, app.state.engine
    server.should_exit = True
    thread.join(20)


def push(
    folder: Path, url: str, token: str, *, tags: Mapping[str, object] = TAGS, settled: str = "0"
) -> subprocess.CompletedProcess[str]:
    known = folder / "tags.json"
    known.write_text(json.dumps(tags), encoding="utf-8")
    command = [sys.executable, str(SCRIPT), "--url", url, "--train", "1", "--tags", str(known), "--settled", settled]
    environment = os.environ | {"SKIDBOOK_TOKEN": token}
    return subprocess.run([*command, str(folder)], capture_output=True, text=True, env=environment, timeout=60)


def test_a_folder_is_pushed_once(served: tuple[str, str, object], tmp_path: Path) -> None:
    url, token, engine = served
    (tmp_path / "a.csv").write_text(LOG, encoding="utf-8")
    (tmp_path / "b.csv").write_text(LOG.replace("174.5", "many").replace("T0", "T1"), encoding="utf-8")
    (tmp_path / "c.csv").write_text("TIMESTAMP,FT-201\n", encoding="utf-8")
    done = push(tmp_path, url, token)
    assert (done.returncode, done.stderr) == (0, ""), done
    assert done.stdout.splitlines() == [
        "a.csv: 2 stored, 0 refused", "b.csv: 1 stored, 1 refused", "c.csv: 0 stored, 1 refused"
    ]  # fmt: skip
    reasons = json.loads((tmp_path / "refused" / "b.csv.errors.json").read_text(encoding="utf-8"))
    assert [(one["row"], one["field"], one["value"]) for one in reasons] == [(2, "values.feed_pressure_bar", "many")]
    assert (tmp_path / "sent" / "a.csv").exists() and not list(tmp_path.glob("*.csv"))
    (tmp_path / "sent" / "a.csv").replace(tmp_path / "a.csv")
    assert push(tmp_path, url, token).stdout == "a.csv: 2 stored, 0 refused\n"  # the answer of its key
    with transaction(engine) as session:  # type: ignore[arg-type]
        pressures = session.scalars(select(Reading.feed_pressure_bar).order_by(Reading.taken_at)).all()  # type: ignore[attr-defined]
    assert pressures == pytest.approx([12.0313, 12.0658, 12.0658], abs=1e-3)  # 1 psi is 0.0689476 bar


def test_a_file_that_is_still_being_written_is_left_alone(served: tuple[str, str, object], tmp_path: Path) -> None:
    url, token, _ = served
    half = LOG + "2026-01-05T08:00:00Z,17"  # of 174.5
    (tmp_path / "day.csv").write_text(half, encoding="utf-8")
    (tmp_path / "new.csv").write_text("", encoding="utf-8")
    assert push(tmp_path, url, token, settled="1").stdout == ""
    old = time.time() - 5
    os.utime(tmp_path / "day.csv", (old, old))  # older than settled, but its last line has no end
    assert push(tmp_path, url, token, settled="1").stdout == ""
    (tmp_path / "day.csv").write_text(half + "4.5,80,0\n", encoding="utf-8")
    os.utime(tmp_path / "day.csv", (old, old))
    assert push(tmp_path, url, token, settled="1").stdout == "day.csv: 3 stored, 0 refused\n"


def test_what_was_sent_before_under_that_name_is_not_written_over(
    served: tuple[str, str, object], tmp_path: Path
) -> None:
    url, token, _ = served
    for hour in ("T0", "T1"):
        (tmp_path / "log.csv").write_text(LOG.replace("T0", hour), encoding="utf-8")
        assert push(tmp_path, url, token).stdout == "log.csv: 2 stored, 0 refused\n"
    assert sorted(path.name for path in (tmp_path / "sent").iterdir()) == ["log-2.csv", "log.csv"]


def test_wrong_tags_leave_the_files_where_they_are(served: tuple[str, str, object], tmp_path: Path) -> None:
    url, token, _ = served
    (tmp_path / "a.csv").write_text(LOG, encoding="utf-8")
    wrong = TAGS | {"columns": {"PT-101": ["feed_pressure_bar", "gpm"]}}
    done = push(tmp_path, url, token, tags=wrong)
    assert done.returncode == 1 and "gpm" in done.stderr and (tmp_path / "a.csv").exists()
    assert push(tmp_path, url, token + "x").returncode == 1 and (tmp_path / "a.csv").exists()
    assert push(tmp_path, url, token).returncode == 0 and (tmp_path / "sent" / "a.csv").exists()


def test_a_controller_that_writes_decimal_commas(served: tuple[str, str, object], tmp_path: Path) -> None:
    url, token, engine = served
    tags = {"time": "Zeit", "delimiter": ";", "decimal": ",", "encoding": "cp1252",
            "columns": {"Druck": ["feed_pressure_bar", "bar"], "T °C": ["feed_temperature_c", "degC"]}}  # fmt: skip
    (tmp_path / "a.csv").write_bytes("Zeit;Druck;T °C\n2026-01-05T06:00:00Z;12,1;17,5\n".encode("cp1252"))
    assert push(tmp_path, url, token, tags=tags).stdout == "a.csv: 1 stored, 0 refused\n"
    with transaction(engine) as session:  # type: ignore[arg-type]
        kept = session.scalars(select(Reading)).one()
        assert (kept.feed_pressure_bar, kept.feed_temperature_c) == (12.1, 17.5)  # type: ignore[attr-defined]


def test_a_server_that_cannot_be_reached_leaves_the_files_where_they_are(tmp_path: Path) -> None:
    (tmp_path / "a.csv").write_text(LOG, encoding="utf-8")
    done = push(tmp_path, "http://localhost:9", "skb_x")
    assert done.returncode == 1 and "tried again later" in done.stderr and (tmp_path / "a.csv").exists()
