"""Pages in a real browser: nothing from outside, a quiet console, nothing wider than the screen, charts drawn."""

import itertools
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any

import pytest

pytestmark = pytest.mark.xdist_group("browser")

PAGES = ["/", "/trains/1/assessment", "/trains/2/assessment", "/trains/1/causes",
         "/trains/1/runs", "/trains/2/meters", "/trains/1/history", "/trains/1/readings", "/trains/1/events",
         "/trains/1/imports/new", "/trains/2/shift", "/trains/1/shift/layout", "/imports/1", "/imports/1/undo",
         "/plants/new", "/budget", "/trains/1/budget", "/sites/1/budget/choices", "/nowhere"]  # fmt: skip
WIDTHS = [360, 390, 1440]


@dataclass
class Visit:
    """An open page, with what its console said and what it asked others for."""

    page: Any
    said: list[str] = field(default_factory=list)
    outside: list[str] = field(default_factory=list)


@contextmanager
def visit(browser: Any, address: str, *, width: int = 1440, **how: Any) -> Iterator[Visit]:
    context = browser.new_context(viewport={"width": width, "height": 900}, **how)
    found = Visit(context.new_page())
    base = address.split("/", 3)[:3]
    found.page.on("console", lambda message: found.said.append(message.text) if message.type == "error" else None)
    found.page.on("pageerror", lambda error: found.said.append(str(error)))
    found.page.on(
        "request",
        lambda request: found.outside.append(request.url) if request.url.split("/", 3)[:3] != base else None,
    )
    found.page.goto(address)
    wait_for_charts(found.page, width)
    yield found
    context.close()


def wait_for_charts(page: Any, width: int) -> None:
    """Wait until every chart that is seen has been drawn for this width."""
    page.wait_for_function(
        """width => innerWidth === width && [...document.querySelectorAll("[data-figure]")].every(
             box => !box.clientWidth || box.dataset.drawn
               && Math.abs(box.querySelector(".main-svg").clientWidth - box.clientWidth) < 2)""",
        arg=width,
    )


def expected_on_console(path: str) -> int:
    """A browser itself notes a page that is not there."""
    return 1 if path == "/nowhere" else 0


NAMELESS = """() => [...document.querySelectorAll("input:not([type=hidden]), select, textarea")]
  .filter(node => !node.labels.length).length"""


@pytest.mark.parametrize("path", PAGES)
def test_a_page_is_quiet_self_contained_and_fits_every_screen(served: str, browser: Any, path: str) -> None:
    with visit(browser, served + path) as found:
        for width in WIDTHS:  # phones first or last: the page follows
            found.page.set_viewport_size({"width": width, "height": 900})
            wait_for_charts(found.page, width)
            overflow = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
            assert found.page.evaluate(overflow) == 0
            outside = found.page.evaluate(
                """() => [...document.querySelectorAll("main *")].filter(node => {
                     const box = node.getBoundingClientRect();
                     return box.width && !node.closest(".scroll, .unseen, thead, .js-plotly-plot")
                       && box.right > innerWidth + 1; }).map(node => node.outerHTML.slice(0, 80))"""
            )
            assert outside == [], width
        assert found.page.locator("h1").count() == 1
        assert found.page.evaluate(NAMELESS) == 0
        assert len(found.said) == expected_on_console(path), found.said
        assert found.outside == []


@pytest.mark.parametrize("train", [1, 2])
def test_one_screen_of_a_phone_answers_the_six_questions(served: str, browser: Any, train: int) -> None:
    """What is the sentence; where, why, when, how sure and what next stand under it, all on 390 by 844 pixels."""
    with visit(browser, f"{served}/trains/{train}/assessment", width=390) as found:
        found.page.set_viewport_size({"width": 390, "height": 844})
        assert found.page.locator(".brief dt").all_inner_texts() == ["Where", "Why", "When", "How sure", "What next"]
        bottoms = "[...document.querySelectorAll('h1, .brief dd')].map(node => node.getBoundingClientRect().bottom)"
        assert max(found.page.evaluate(bottoms)) <= 844


@pytest.mark.parametrize(
    "path", ["/", "/trains/1/assessment", "/trains/1/causes", "/trains/2/meters", "/trains/1/runs"]
)
def test_headings_go_down_one_level_at_a_time_and_every_chart_is_said_in_words(
    served: str, browser: Any, path: str
) -> None:
    with visit(browser, served + path) as found:
        levels = found.page.evaluate("[...document.querySelectorAll('h1, h2, h3, h4')].map(n => +n.tagName[1])")
        assert levels[0] == 1 and all(below - above <= 1 for above, below in itertools.pairwise(levels))
        for box in found.page.locator("[data-figure]").all():
            assert box.get_attribute("role") == "img" and len(box.get_attribute("aria-label") or "") > 20


@pytest.mark.parametrize(("width", "layout"), [(390, "narrow"), (1440, "wide")])
def test_every_chart_is_drawn_in_the_layout_that_fits(served: str, browser: Any, width: int, layout: str) -> None:
    with visit(browser, f"{served}/trains/1/assessment", width=width) as found:
        boxes = found.page.locator("[data-figure]")
        assert boxes.count() >= 3
        for box in boxes.all():
            assert box.get_attribute("data-drawn") == layout
            assert box.locator(".main-svg").count() > 0 and box.locator(".scatterlayer .trace").count() > 0
        assert found.page.locator("#figure-changes").count() == 1
        assert found.page.get_by_text("limit 0.90").first.is_visible()


WORDS = """() => [...document.querySelectorAll('[data-figure="figure-changes"] .annotation-text-g')].map(node => {
  const box = node.getBoundingClientRect();
  return [box.left, box.top, box.right, box.bottom, node.textContent]; })"""


def apart(one: list[Any], other: list[Any]) -> bool:
    """Whether two boxes do not overlap, but for the empty edge of their letters."""
    beside = one[2] <= other[0] + 2 or other[2] <= one[0] + 2
    return beside or one[3] <= other[1] + 3 or other[3] <= one[1] + 3


@pytest.mark.parametrize("width", WIDTHS)
def test_words_on_the_main_chart_do_not_touch(served: str, browser: Any, width: int) -> None:
    with visit(browser, f"{served}/trains/1/assessment", width=width) as found:
        boxes = found.page.evaluate(WORDS)
    assert len(boxes) > 8
    for n, one in enumerate(boxes):
        for other in boxes[n + 1 :]:
            assert apart(one, other), (one, other)


def test_the_drawing_stands_upright_on_a_phone_and_lies_on_a_desk(served: str, browser: Any) -> None:
    for width, shown, hidden in ((390, ".upright", ".level-drawing"), (1440, ".level-drawing", ".upright")):
        with visit(browser, f"{served}/trains/1/assessment", width=width) as found:
            assert found.page.locator(f".water {shown}").is_visible()
            assert not found.page.locator(f".water {hidden}").is_visible()


def test_charts_follow_light_and_dark_and_paper(served: str, browser: Any) -> None:
    def ink(found: Visit) -> str:
        return str(found.page.locator("[data-figure] .annotation-text").first.evaluate("node => node.style.fill"))

    with visit(browser, f"{served}/trains/1/assessment", color_scheme="light") as found:
        light, ground = ink(found), found.page.evaluate("getComputedStyle(document.body).backgroundColor")
        found.page.emulate_media(color_scheme="dark")
        changed = "ink => document.querySelector('[data-figure] .annotation-text').style.fill !== ink"
        found.page.wait_for_function(changed, arg=light)
        dark = ink(found)
        assert found.page.evaluate("getComputedStyle(document.body).backgroundColor") != ground
        found.page.emulate_media(media="print")
        found.page.wait_for_function(changed, arg=dark)
        assert ink(found) == "rgb(0, 0, 0)"  # on paper, whatever the screen


def test_everything_can_be_reached_by_keyboard_and_the_focus_is_seen(served: str, browser: Any) -> None:
    with visit(browser, f"{served}/trains/1/assessment") as found:
        found.page.keyboard.press("Tab")
        assert found.page.evaluate("document.activeElement.className") == "skip"
        found.page.keyboard.press("Enter")
        assert found.page.evaluate("document.activeElement.id") == "content"
        found.page.keyboard.press("Shift+Tab")
        reached = set()
        for _ in range(60):
            found.page.keyboard.press("Tab")
            reached.add(found.page.evaluate("document.activeElement.textContent.trim().slice(0, 30)"))
            style = found.page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
            assert style != "none" or found.page.evaluate("document.activeElement === document.body")
        assert {"All indicators as a table", "Values by month", "Used"} <= reached


TOUCHED = "button, .button, nav a, input:not([type=hidden]), select, summary"
SMALL = """touched => [...document.querySelectorAll(touched)].filter(node => {
  const height = node.getBoundingClientRect().height;
  return height > 0 && height < 44; }).map(node => node.outerHTML.slice(0, 80))"""


@pytest.mark.parametrize("path", ["/", "/trains/1/events", "/trains/1/imports/new", "/plants/new"])
def test_what_can_be_touched_is_large_enough(served: str, browser: Any, path: str) -> None:
    with visit(browser, served + path, width=390) as found:
        assert found.page.evaluate(SMALL, TOUCHED) == []


def test_units_are_changed_where_one_is(served: str, browser: Any) -> None:
    with visit(browser, f"{served}/trains/1/readings?show=used") as found:
        found.page.get_by_role("button", name="US units").click()
        found.page.wait_for_load_state()
        assert found.page.url == f"{served}/trains/1/readings?show=used"
        assert found.page.get_by_text("psi").first.is_visible()
