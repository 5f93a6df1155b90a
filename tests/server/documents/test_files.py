"""docs/files.md says what the code does."""

import json
import re
import sys
from pathlib import Path
from typing import Any

import pytest
import typer.main

from server.cli import app, main
from server.documents.answer_keys import ANSWER_KEYS
from server.documents.files import COMMANDS, MAPPING, PAGE, files_page
from server.documents.plant_keys import MEANINGS, plant_keys
from server.intake.canonical import read_readings
from server.intake.mapping_text import mapping_from_text

FOLDER = Path(__file__).parents[3] / "demo_data" / "fleet" / "tolmera-glasshouses-ro-2"


def test_the_page_is_current() -> None:
    assert PAGE.read_text(encoding="utf-8") == files_page(), "run: uv run python -m server.documents"


def test_every_key_of_a_plant_file_is_explained_and_no_other() -> None:
    assert [key.path for key in plant_keys()] == list(MEANINGS)


def test_every_key_of_an_answer_is_explained(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    answer = tmp_path / "answer.json"
    paths = [str(FOLDER / "plant.toml"), str(FOLDER / "readings.csv"), "--json", str(answer), "--series"]
    monkeypatch.setattr(sys, "argv", ["skidbook", "assess", *paths])
    with pytest.raises(SystemExit):
        main()
    capsys.readouterr()
    found: dict[str, Any] = json.loads(answer.read_text())
    words = set(re.findall(r"\w+", " ".join(ANSWER_KEYS)))
    assert [key for key in found if key not in words] == []
    assert [key for key in found["indicators"][0] if key not in words] == []
    assert [key for key in found["readings"] if key not in words] == []
    tops = {re.split(r"[.\[]", key)[0] for keys in ANSWER_KEYS for key in keys.split(", ") if "." not in keys}
    assert sorted(tops - set(found)) == []


def test_every_command_and_option_stands_in_the_page() -> None:
    commands = typer.main.get_command(app).commands  # type: ignore[attr-defined]
    for group in ("plant", "user"):
        commands |= {f"{group} {name}": command for name, command in commands.pop(group).commands.items()}
    for name, command in commands.items():
        line = next((line for line in COMMANDS.splitlines() if line.startswith(f"skidbook {name}")), "")
        assert line, name
        options = {option for parameter in command.params for option in parameter.opts if option.startswith("--")}
        assert options - {"--help"} == set(re.findall(r"--[a-z-]+", line)), name


def test_the_mapping_of_the_page_is_one() -> None:
    text = MAPPING.split("```toml\n")[1].split("```")[0]
    mapping = mapping_from_text(text, file="mapping.toml")
    assert mapping.columns["Feed press. PT-01"] == "feed_pressure [bar]"
    log = "Plant 7\n\nDate;Feed press. PT-01;Status\n05.01.2026 06:10;12,5;running\n05.01.2026 07:10;Bad;\n"
    table = read_readings(log.encode("cp1252"), filename="log.csv", timezone="UTC", mapping=mapping)
    assert table.problems == ()
    assert table.frame["feed_pressure_bar"].iloc[0] == 12.5


def test_the_readings_of_the_page_can_be_read() -> None:
    text = files_page().split("## Readings")[1].split("```\n")[1]
    assert read_readings(text.encode(), filename="log.csv", timezone="UTC").problems == ()
