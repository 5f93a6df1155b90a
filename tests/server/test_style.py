"""Colours of the style sheet are readable: WCAG 2.2 contrast of every text and level colour on paper and sheet."""

import re
from pathlib import Path

import pytest

from server import templating

CSS = (Path(templating.__file__).parent / "static" / "skidbook.css").read_text(encoding="utf-8")
TEXT = ("ink", "quiet", "raw", "feed", "permeate", "concentrate", "steady", "watch", "plan", "act", "meter", "unknown",
        "pass-0", "pass-1", "pass-2", "pass-3")  # fmt: skip


def _tokens(block: str) -> dict[str, str]:
    return dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6});", block))


def _blocks() -> dict[str, dict[str, str]]:
    light = _tokens(CSS.split(":root {", 1)[1].split("}", 1)[0])
    dark = light | _tokens(CSS.split(':root:not([data-theme="print"]) {', 1)[1].split("}", 1)[0])
    printed = light | _tokens(CSS.split("@media print {", 1)[1].split("}", 1)[0])
    return {"light": light, "dark": dark, "print": printed}


def _luminance(colour: str) -> float:
    """Relative luminance after WCAG 2.2."""
    parts = [int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    low, high = sorted((_luminance(one), _luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_contrast_is_counted_as_the_standard_does() -> None:
    # black on white is 21:1; #767676 on white is the lightest grey that reaches 4.5:1 (WCAG 2 understanding pages)
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert 4.5 <= contrast("#767676", "#ffffff") < 4.6


@pytest.mark.parametrize("theme", ["light", "dark", "print"])
@pytest.mark.parametrize("name", TEXT)
def test_every_colour_of_text_reaches_the_contrast_of_level_aa(theme: str, name: str) -> None:
    tokens = _blocks()[theme]
    for ground in ("paper", "sheet"):
        assert contrast(tokens[name], tokens[ground]) >= 4.5, (theme, name, ground)


def test_nothing_is_loaded_from_elsewhere() -> None:
    static = Path(templating.__file__).parent / "static"
    for path in static.iterdir():
        text = path.read_text(encoding="utf-8").replace("http://www.w3.org/2000/svg", "")
        assert not re.search(r"https?://|@import|url\(", text), path.name
