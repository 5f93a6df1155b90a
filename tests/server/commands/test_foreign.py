"""Tables as people keep them on the command line: read where nothing is left to ask, else one line that names it."""

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.programs import Ran, Runner

Run = Callable[..., Ran]


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path, plant_text: str) -> Run:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("SKIDBOOK_DATABASE_URL", "sqlite:///skidbook.db")
    (tmp_path / "plant.toml").write_text(plant_text)
    return Runner(monkeypatch, capsys)


@pytest.mark.parametrize(
    ("content", "line"),
    [
        ("Date,Feed pressure (bar)\n01/02/2024,12.5\n", "log.csv: leaves open: In which order are dates written?"),
        ("Date,PT-101,PT-102\n2024-01-05,12.5,11\n",
         'log.csv, row 1, column "PT-101": may be feed_pressure [bar] (its pressure is the highest; please check; '
         'no unit is given; it could be'),
        ("Date,Feed pressure (psia)\n15/01/2024,189\n",
         'log.csv: leaves open: "Feed pressure (psia)" is given in "psia", an absolute pressure'),
        ("Date,Time,Feed pressure (bar)\n15/01/2024,6:00,12.5\n15/01/2024,6:00,12.6\n16/01/2024,6:00,12.5\n"
         "16/01/2024,6:00,12.6\n", "log.csv: leaves open: Which times are after noon?"),
        ("Time,Feed pressure (bar)\n06:00,12.5\n14:00,12.6\n",
         "log.csv: leaves open: Of which day is the first reading?"),
        ("Date,Feed pressure (bar)\n15/01/2024,low\n", "log.csv: holds no table of readings; expected a row of"),
        ("Date,Feed pressure (bar)\n15/01/2024,low\n16/01/2024,12.5\n17/01/2024,12.5\n",
         'log.csv, row 2, column "Feed pressure (bar)": "low" is not a number; expected a number such as 174.5'),
        ("a,b\n1,2\n", 'log.csv, row 2: has no column of dates or times among "a", "b"; expected'),
        ("time,feed_pressure [furlong]\n2024-01-05,12.5\n", 'log.csv, row 1, column "feed_pressure [furlong]"'),
    ],
)  # fmt: skip
def test_what_is_open_is_refused_in_one_line(run: Run, tmp_path: Path, content: str, line: str) -> None:
    (tmp_path / "log.csv").write_text(content)
    run("plant", "add", "plant.toml")
    for arguments in (("import", "1", "log.csv", "--dry-run"), ("assess", "plant.toml", "log.csv")):
        ran = run(*arguments)
        assert (ran.status, ran.out, ran.err.count("\n")) == (2, "", 1)
        assert ran.err.startswith(line), ran.err


def test_a_table_that_leaves_nothing_open_is_read_and_told(run: Run, tmp_path: Path) -> None:
    days = range(13, 29)
    rows = "".join(f"{day}.01.2026;06:00;12,{day};12;14,1\n" for day in days)
    head = "Betriebstagebuch\n\nDatum;Uhrzeit;Druck Zulauf (bar);Druck Soll (bar);Permeat (m3/h)\n"
    (tmp_path / "log.csv").write_text(head + rows)
    run("plant", "add", "plant.toml")
    told = 'times from "Datum" and "Uhrzeit", day first; "Druck Zulauf (bar)" as feed_pressure [bar];'
    ran = run("import", "1", "log.csv", "--dry-run")
    assert ran.status == 0 and "16 readings, 16 would be stored" in ran.out and told in ran.out
    assert "16 readings, 16 stored" in run("import", "1", "log.csv").out
    assert "feed_pressure [bar]" in run("assess", "plant.toml", "log.csv").out


def test_did_you_mean_is_told_of_whole_columns(run: Run, tmp_path: Path) -> None:
    """Also of a canonical file, whose units nobody asks about."""
    rows = "".join(f"2026-01-{day:02d}T06:00,{190 + day % 5}\n" for day in range(1, 20))
    (tmp_path / "log.csv").write_text(f"time,feed_pressure [bar]\n{rows}")
    run("plant", "add", "plant.toml")
    for arguments in (("import", "1", "log.csv", "--dry-run"), ("assess", "plant.toml", "log.csv")):
        assert "did you mean psi?" in " ".join(run(*arguments).out.split())


def test_the_day_of_the_name_of_a_file_is_taken_and_told(run: Run, tmp_path: Path) -> None:
    (tmp_path / "RO1_2026-01-12.csv").write_text("Time,Feed pressure (bar)\n06:00,12.5\n14:00,12.6\n")
    run("plant", "add", "plant.toml")
    ran = run("import", "1", "RO1_2026-01-12.csv")
    assert "2 readings, 2 stored" in ran.out and "“RO1_2026-01-12.csv” says 2026-01-12" in ran.out


def test_a_header_without_a_unit_stays_canonical(run: Run, tmp_path: Path) -> None:
    """docs/files.md: a header without a unit means the canonical one, and the answer says so."""
    (tmp_path / "log.csv").write_text("time,feed_pressure\n2026-01-05T06:00,20\n")
    run("plant", "add", "plant.toml")
    assert "No unit is given for these" in run("import", "1", "log.csv", "--dry-run").out


@pytest.mark.parametrize("delimiter", [",", ";"])
def test_clock_times_under_time_have_their_day_beside_them(run: Run, tmp_path: Path, delimiter: str) -> None:
    rows = [["Date", "Time", "Feed Press (psi)", "Feed pH"]]
    rows += [[f"1/{day}/2026", "6:20 AM", str(180 + day), "7.1"] for day in range(13, 29)]
    (tmp_path / "log.csv").write_text("".join(f"{delimiter.join(row)}\n" for row in rows))
    run("plant", "add", "plant.toml")
    ran = run("import", "1", "log.csv", "--dry-run")
    assert ran.status == 0 and "16 readings, 16 would be stored" in ran.out, ran.err
    assert 'times from "Date" and "Time", month first; "Feed Press (psi)" as feed_pressure [psi]' in ran.out
