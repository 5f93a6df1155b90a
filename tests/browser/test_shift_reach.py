"""The shift log for gloves, keyboards, screen readers, and eyes that need large letters."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.browser.shift_log import Door, serve
from tests.browser.test_shift import door, filled, open_log, url

__all__ = ["door", "filled", "url"]
pytestmark = pytest.mark.xdist_group("browser")

TARGET_PX = 48
"""What a finger in a glove hits; the least that platforms for phones ask for, 48 dp."""
CONTRAST = 4.5
"""WCAG 2.2, success criterion 1.4.3, level AA."""
ODD = {"feed_temperature_c": "251", "feed_pressure_bar": "175", "permeate_flow_m3h": "132", "hours_counter_h": "11"}

SMALL = """least => [...document.querySelectorAll('a, button, input:not([type=hidden]), select, textarea, label.state')]
  .map(one => [one.id || one.innerText || one.tagName, one.getBoundingClientRect()])
  .filter(([, box]) => box.width > 0 && (box.width < least || box.height < least) && box.bottom > 0)
  .map(([name, box]) => [name, Math.round(box.width), Math.round(box.height)])"""
PALE = """least => {
  const numbers = text => text.match(/[\\d.]+/g).map(Number);
  const parts = text => (numbers(text).length > 3 ? numbers(text) : [...numbers(text), 1]);
  const light = colour => colour.slice(0, 3).map(part => part / 255)
    .map(part => (part <= 0.04045 ? part / 12.92 : ((part + 0.055) / 1.055) ** 2.4))
    .reduce((sum, part, place) => sum + part * [0.2126, 0.7152, 0.0722][place], 0);
  const ground = one => {
    for (let at = one; at; at = at.parentElement) {
      const colour = parts(getComputedStyle(at).backgroundColor);
      if (colour[3] > 0.99) return colour;
    }
    return [255, 255, 255, 1];
  };
  const found = [], walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const one = walker.currentNode.parentElement;
    if (!walker.currentNode.textContent.trim() || !one.getBoundingClientRect().width) continue;
    if (['SCRIPT', 'TEMPLATE'].includes(one.tagName)) continue;
    const [a, b] = [light(parts(getComputedStyle(one).color)), light(ground(one))];
    const ratio = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
    if (ratio < least) found.push([walker.currentNode.textContent.trim(), ratio]);
  }
  return found;
}"""


@pytest.fixture
def address(door: Door) -> Iterator[str]:
    with serve(door) as found:
        yield found


def odd_page(context: Any, address: str) -> Any:
    """The page with questions of every kind open."""
    page = open_log(context, address)
    for name, text in ODD.items():
        page.fill(f"#f-{name}", text)
    page.focus("#f-remark")
    page.wait_for_selector("#q-hours_counter_h p")
    return page


@pytest.mark.parametrize(("width", "height", "scheme"), [(360, 640, "light"), (390, 844, "dark"), (1440, 900, "light")])
def test_everything_can_be_hit_read_and_reached(
    browser: Any, address: str, width: int, height: int, scheme: str, tmp_path: Path
) -> None:
    context = browser.new_context(viewport={"width": width, "height": height}, color_scheme=scheme)
    page = odd_page(context, address)
    page.screenshot(path=tmp_path / "odd.png", full_page=True)
    assert page.evaluate(SMALL, TARGET_PX - 0.5) == []
    assert page.evaluate(PALE, CONTRAST) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.evaluate("document.documentElement.style.fontSize = '200%'")
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    context.close()


def test_a_screen_reader_hears_unit_last_value_and_question_with_the_field(browser: Any, address: str) -> None:
    context = browser.new_context(viewport={"width": 390, "height": 844})
    page = odd_page(context, address)
    tools = context.new_cdp_session(page)
    nodes = tools.send("Accessibility.getFullAXTree")["nodes"]
    heard = {
        (node["role"]["value"], node["name"]["value"]): node for node in nodes if not node["ignored"] and "name" in node
    }
    pressure = heard["textbox", "Feed pressure"]
    words = pressure["description"]["value"]
    assert words.startswith("bar Last ") and "ago Feed pressure cannot be 175 bar" in words
    assert {"name": "invalid", "value": {"type": "token", "value": "true"}} in pressure["properties"]
    assert ("button", "Use 12.1 for Feed pressure") in heard
    assert ("textbox", "Keep it, because (Feed pressure)") in heard
    assert not [name for _, name in heard if "clock was" in name]
    page.fill("#f-feed_temperature_c", "")
    page.fill("#f-feed_pressure_bar", "12.1")
    page.fill("#f-hours_counter_h", "")
    page.click("#save")
    page.wait_for_selector("#ask", state="visible")
    assert page.evaluate("document.activeElement.id") == "look-again"
    page.keyboard.press("Escape")
    assert page.locator("#ask").is_hidden()
    assert page.evaluate("document.activeElement.id") == "f-permeate_flow_m3h"
    context.close()
