"""docs/method.md says what the program does: its calculations run, and no formula is left out."""

import doctest
import inspect
import re
from pathlib import Path

import pytest

from analytics.physics import hydraulics, membrane, normalization, temperature, water

PAGE = Path(__file__).parents[2] / "docs" / "method.md"
TEXT = PAGE.read_text(encoding="utf-8")


def test_every_calculation_of_the_page_comes_out_as_printed() -> None:
    blocks = re.findall(r"^```pycon\n(.*?)^```$", TEXT, flags=re.MULTILINE | re.DOTALL)
    test = doctest.DocTestParser().get_doctest("\n".join(blocks), {}, "method.md", str(PAGE), 0)
    assert len(test.examples) > 40
    report: list[str] = []
    doctest.DocTestRunner(optionflags=doctest.NORMALIZE_WHITESPACE).run(test, out=report.append)
    assert not report, "".join(report)


def _formulas() -> list[str]:
    modules = (water, temperature, hydraulics, membrane, normalization)
    return [
        name
        for module in modules
        for name, value in inspect.getmembers(module, inspect.isfunction)
        if value.__module__ == module.__name__ and not name.startswith("_")
    ]


@pytest.mark.parametrize("name", _formulas())
def test_every_formula_stands_on_the_page(name: str) -> None:
    assert re.search(rf"\b{name}\b", TEXT)


@pytest.mark.parametrize("constants", [water._OSMOTIC_FITS, water._CONDUCTIVITY_FITS], ids=["osmotic", "conductivity"])
def test_the_tables_of_constants_are_those_of_the_code(constants: dict[str, tuple[float, ...]]) -> None:
    printed = {float(number) for number in re.findall(r"-?\d+\.\d+(?:e-\d+)?", TEXT.replace("−", "-"))}
    for values in constants.values():
        for value in values:
            assert min(abs(value / number - 1) for number in printed if number) < 1e-6


def test_every_link_inside_the_page_leads_somewhere() -> None:
    anchors = {
        re.sub(r"[^\w\- ]", "", heading.lower()).replace(" ", "-") for heading in re.findall(r"^#+ (.*)$", TEXT, re.M)
    }
    links = re.findall(r"\]\(#([^)]*)\)", TEXT)
    assert links
    assert set(links) <= anchors
