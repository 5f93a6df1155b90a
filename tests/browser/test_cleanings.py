"""The worksheet at the skid: ticks and notes stay in the browser, also when the server is out of reach."""

from typing import Any

import pytest

pytestmark = pytest.mark.xdist_group("browser")

SHEET = "/trains/1/cleanings/worksheet?stage=1&cause=biofouling"


def test_ticks_and_notes_of_a_worksheet_outlast_a_lost_connection(browser: Any, served: str) -> None:
    context = browser.new_context(viewport={"width": 390, "height": 800})
    page = context.new_page()
    page.goto(served + SHEET)
    page.wait_for_function("() => document.getElementById('steps').dataset.kept === 'yes'")
    page.wait_for_function(
        "async path => Boolean(await (await caches.open('skidbook-shift-pages')).match(path))", arg=SHEET
    )
    page.get_by_label("Take readings").check()
    page.get_by_label("who locked out").fill("Ann")
    context.set_offline(True)
    page.reload()
    assert page.get_by_label("Take readings").is_checked()
    assert page.get_by_label("who locked out").input_value() == "Ann"
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    page.get_by_role("button", name="Clear ticks and notes").click()
    assert not page.get_by_label("Take readings").is_checked()
    context.close()
