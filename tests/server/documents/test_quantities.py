"""docs/quantities.md says what the glossary says."""

from analytics.quantities import COLUMNS, MAX_STAGES
from analytics.units import UNITS
from server.documents.quantities import PAGE, quantities_page


def test_the_page_is_current() -> None:
    assert PAGE.read_text(encoding="utf-8") == quantities_page(), "run: uv run python -m server.documents"


def test_the_page_names_every_column_and_every_unit() -> None:
    page = quantities_page()
    columns = {name.replace(f"stage{number}_", "stageN_") for name in COLUMNS for number in range(1, MAX_STAGES + 1)}
    named = {name for name in columns if name.startswith("stageN_") or "stage" not in name}
    assert len(named) > 40
    assert [name for name in sorted(named) if f"| `{name}` |" not in page] == []
    units = page.split("## Units")[1]
    assert [name for name in UNITS if f" {name}," not in units and f" {name} |" not in units] == []
