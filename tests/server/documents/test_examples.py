"""What the documents show is what the program prints."""

import re
from pathlib import Path

import pytest

from server.documents.examples import PAGES, with_current_examples
from server.intake.canonical import read_readings
from server.intake.mapping_text import mapping_from_text
from server.plants.plant_file import plant_from_text


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_the_examples_of_a_document_are_current(page: Path) -> None:
    text = page.read_text(encoding="utf-8")
    assert "<!-- end -->" in text
    assert with_current_examples(text) == text, "run: uv run python -m server.documents"


def test_an_outdated_example_is_written_anew_and_the_rest_left_alone() -> None:
    text = "before\n<!-- first 2 lines of: skidbook --help -->\nold\n<!-- end -->\nafter\n"
    written = with_current_examples(text)
    assert written.startswith("before\n<!-- first 2 lines of: skidbook --help -->\n```\nUsage: ")
    assert "old" not in written
    assert written.endswith("\n...\n```\n<!-- end -->\nafter\n")
    assert with_current_examples(written) == written


def test_an_unknown_mark_is_refused() -> None:
    with pytest.raises(ValueError, match='"weather today" is no mark'):
        with_current_examples("<!-- weather today -->\n<!-- end -->\n")


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_plant_files_and_mappings_shown_in_a_document_can_be_read(page: Path) -> None:
    blocks = re.findall(r"^```toml\n(.*?)^```$", page.read_text(encoding="utf-8"), re.DOTALL | re.MULTILINE)
    assert blocks
    for text in blocks:
        if "[columns]" in text:
            assert mapping_from_text(text, file=page.name).columns
        else:
            assert plant_from_text(text, file=page.name).train.stages


def test_the_log_shown_in_the_readme_can_be_read_whole() -> None:
    shown = re.search(r"^```\n(time,.*?)^```$", PAGES[0].read_text(encoding="utf-8"), re.DOTALL | re.MULTILINE)
    assert shown is not None
    table = read_readings(shown[1].encode(), timezone="Europe/Lisbon", filename="readings.csv")
    table.require_clean()
    assert table.unknown_columns == ()
    assert len(table.frame) == 1
    assert len(table.frame.columns) == 7
