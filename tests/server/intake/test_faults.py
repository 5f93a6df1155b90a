"""Killed at any moment, a logbook opens again and holds all of an import, or nothing of it."""

import sqlite3
import subprocess
import time
from pathlib import Path

import pytest

from tests.programs import PROGRAM, environment

ROWS = 60_000


@pytest.mark.slow
@pytest.mark.parametrize("seconds", [0.0, 0.15, 0.3, 0.6, 1.0, 1.5])
def test_a_killed_import_is_whole_or_not_there(
    sqlite_url: str, tmp_path: Path, plant_text: str, seconds: float
) -> None:
    path = tmp_path / "logbook.db"
    (tmp_path / "plant.toml").write_text(plant_text)
    times = (f"2025-{1 + n // 40_320:02}-{1 + n // 1440 % 28:02}T{n // 60 % 24:02}:{n % 60:02}Z" for n in range(ROWS))
    (tmp_path / "log.csv").write_text("time,feed_ph\n" + "".join(f"{moment},7.1\n" for moment in times))
    around = environment(SKIDBOOK_DATABASE_URL=sqlite_url)
    subprocess.run([*PROGRAM, "plant", "add", "plant.toml"], env=around, cwd=tmp_path, check=True)
    running = subprocess.Popen(
        [*PROGRAM, "import", "1", "log.csv"], env=around, cwd=tmp_path, stdout=subprocess.DEVNULL
    )
    while not _is_writing(path) and running.poll() is None:
        time.sleep(0.005)
    time.sleep(seconds)
    running.kill()
    running.wait()
    with sqlite3.connect(path) as database:
        assert database.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        (readings,) = database.execute("SELECT count(*) FROM readings").fetchone()
        (imports,) = database.execute("SELECT count(*) FROM imports").fetchone()
    assert (readings, imports) in ((0, 0), (ROWS, 1))
    database.close()


def _is_writing(path: Path) -> bool:
    """True once the import holds the write lock."""
    probe = sqlite3.connect(path, timeout=0, isolation_level=None)
    try:
        probe.execute("BEGIN IMMEDIATE")
        probe.execute("ROLLBACK")
    except sqlite3.OperationalError:
        return True
    finally:
        probe.close()
    return False
