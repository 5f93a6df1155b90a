"""The pages under docs/operations say what is so: settings, commands, units, and files that they name."""

import re
import tomllib
from pathlib import Path

import pytest
import typer.main

from server.cli import app
from server.documents.settings import EXAMPLE, PAGE, settings_page
from server.faults import WORDS
from server.guard import ROOT
from server.settings import Settings, WrongSetting, load_settings

FOLDER = ROOT / "docs" / "operations"
PAGES = sorted(FOLDER.glob("*.md"))


def _text(name: str) -> str:
    return (FOLDER / name).read_text(encoding="utf-8")


def test_the_page_of_settings_is_current() -> None:
    assert PAGE.read_text(encoding="utf-8") == settings_page(), "run: uv run python -m server.documents"


@pytest.mark.parametrize("text", [EXAMPLE, (FOLDER / "settings.example.toml").read_text(encoding="utf-8")])
def test_the_examples_of_settings_can_be_used(text: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "s.toml").write_text(text)
    monkeypatch.setenv("SKIDBOOK_SETTINGS", str(tmp_path / "s.toml"))
    found = load_settings()
    assert (found.behind_tls, found.host_names[0], found.log_format) == (True, "skid.example.org", "json")


def test_every_command_that_a_page_names_is_one() -> None:
    commands = set(typer.main.get_command(app).commands)  # type: ignore[attr-defined]
    for page in [*PAGES, *FOLDER.glob("skidbook*"), FOLDER / "Containerfile"]:
        named = re.findall(
            r"(?:bin/skidbook|\$ skidbook|`skidbook|exec skidbook skidbook) (?:--settings FILE )?([a-z]+)",
            page.read_text(),
        )
        assert [name for name in named if name not in commands] == [], page.name


def test_every_setting_that_a_page_names_is_one() -> None:
    names = {f"SKIDBOOK_{name.upper()}" for name in Settings.model_fields} | {"SKIDBOOK_SETTINGS"}
    for page in [*PAGES, *FOLDER.glob("skidbook*"), FOLDER / "Containerfile"]:
        found = set(re.findall(r"SKIDBOOK_[A-Z_]+", page.read_text(encoding="utf-8")))
        assert found <= names, page.name
    for block in re.findall(r"```toml\n(.*?)```", "".join(map(_text, (page.name for page in PAGES))), re.S):
        assert set(tomllib.loads(block)) <= set(Settings.model_fields)


def test_the_index_leads_to_every_page() -> None:
    assert {page.name for page in PAGES} - {"index.md"} <= set(re.findall(r"\]\(([\w.]+)\)", _text("index.md")))


def test_files_that_the_steps_install_are_there() -> None:
    named = set(re.findall(r"docs/operations/([\w.-]+)", _text("install.md"))) | {"Containerfile"}
    assert [name for name in named if not (FOLDER / name).exists()] == []


def test_what_the_program_says_of_its_store_stands_in_the_page() -> None:
    page = _text("trouble.md")
    for words in ("The disk of the server is full", "can be read but not written", "The database does not answer",
                  "The file of the logbook is damaged"):  # fmt: skip
        assert words in page
        assert any(words in said for said in WORDS.values())


def test_a_file_of_settings_gives_way_to_the_environment(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "s.toml").write_text("port = 9000\nmax_upload_rows = 10\n")
    monkeypatch.setenv("SKIDBOOK_SETTINGS", str(tmp_path / "s.toml"))
    monkeypatch.setenv("SKIDBOOK_PORT", "9001")
    assert (load_settings().port, load_settings().max_upload_rows) == (9001, 10)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("prot = 9000", 'prot: no such setting; did you mean "port"?'),
        ("port = ", "is not valid TOML"),
        ('port = "many"', 's.toml: port: "many" cannot be used'),
        ("metrics_token = 12345", "s.toml: metrics_token: the value cannot be used"),
    ],
)
def test_a_slip_in_the_file_is_one_line_without_secrets(
    text: str, said: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "s.toml").write_text(text)
    monkeypatch.setenv("SKIDBOOK_SETTINGS", str(tmp_path / "s.toml"))
    monkeypatch.delenv("SKIDBOOK_PORT", raising=False)
    with pytest.raises(WrongSetting) as raised:
        load_settings()
    assert said in str(raised.value) and "12345" not in str(raised.value)


def test_a_file_that_is_not_there(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SKIDBOOK_SETTINGS", str(tmp_path / "none.toml"))
    with pytest.raises(WrongSetting, match="cannot be read"):
        load_settings()
