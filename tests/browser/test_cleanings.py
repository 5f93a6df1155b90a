"""The worksheet at the skid: it stays in the browser, also when the server is out of reach, and becomes the record."""

from typing import Any

import pytest

pytestmark = pytest.mark.xdist_group("browser")

SHEET = "/trains/1/cleanings/worksheet?stage=1&cause=biofouling"


def test_on_a_phone_a_cleaning_has_its_words_beside_their_labels(browser: Any, served: str) -> None:
    page = browser.new_context(viewport={"width": 390, "height": 800}).new_page()
    page.goto(served + "/trains/1/cleanings")
    cells = page.locator("table.cleanings td[data-label]:not(:empty)")
    assert cells.count() >= 4
    torn = cells.evaluate_all("all => all.filter((one) => one.childNodes.length > 1).map((one) => one.innerText)")
    assert torn == []
    page.context.close()


def opened(browser: Any, served: str) -> Any:
    """The sheet on a phone, kept for when there is no signal."""
    page = browser.new_context(viewport={"width": 390, "height": 800}).new_page()
    page.goto(served + SHEET)
    page.wait_for_function("() => document.getElementById('steps').dataset.kept === 'yes'")
    page.wait_for_function(
        "async path => Boolean(await (await caches.open('skidbook-shift-pages')).match(path))", arg=SHEET
    )
    return page


def test_ticks_and_notes_of_a_worksheet_outlast_a_lost_connection(browser: Any, served: str) -> None:
    page = opened(browser, served)
    page.get_by_label("Take readings").check()
    page.get_by_label("who locked out").fill("Ann")
    page.get_by_label("pH at the start").first.fill("11.4")
    page.context.set_offline(True)
    page.reload()
    assert page.get_by_label("Take readings").is_checked()
    assert page.get_by_label("who locked out").input_value() == "Ann"
    assert page.get_by_label("pH at the start").first.input_value() == "11.4"
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    page.get_by_role("link", name="Record it").click()
    page.get_by_text("There is no signal now").wait_for(state="visible")
    page.once("dialog", lambda dialog: dialog.accept())
    page.get_by_role("button", name="Clear ticks and notes").click()
    assert not page.get_by_label("Take readings").is_checked()
    page.context.close()


def test_a_worksheet_fills_the_record_and_goes_when_the_record_is_seen(browser: Any, served: str) -> None:
    page = opened(browser, served)
    page.get_by_label("Take readings").check()
    page.get_by_label("Chlorine in it").fill("0")
    page.get_by_label("pH at the start").first.fill("11.4")
    page.get_by_label("Temperature at the start").first.fill("33")
    page.get_by_label("The solution was made up anew").first.check()
    page.get_by_label("who locked out").fill("Ann, two locks")
    page.get_by_label("Foam at the end").select_option("no")
    page.get_by_role("checkbox", name="Restart").check()
    page.get_by_role("link", name="Record it").click()
    page.get_by_text("Filled in from the worksheet on this phone").wait_for(state="visible")
    assert page.locator('[name="bath1.ph_start"]').input_value() == "11.4"
    assert page.locator('[name="bath1.renewed"]').is_checked()
    assert page.locator('[name="rinse_foam"]').input_value() == "no"
    assert "Make it safe: Ann, two locks" in page.locator('[name="remarks"]').input_value()
    assert page.locator('[name="started"]').input_value() <= page.locator('[name="ended"]').input_value()
    page.locator('[name="bath1.ph_start"]').fill("high")
    page.get_by_role("button", name="Keep the record").click()  # refused: what was corrected is not filled in again
    assert page.locator('[name="bath1.ph_start"]').input_value() == "high"
    page.locator('[name="bath1.ph_start"]').fill("11.5")
    page.get_by_role("button", name="Keep the record").click()
    page.wait_for_url("**/cleanings/*")
    page.get_by_text("steps", exact=False).last.click()
    row = page.locator("#ticked tr", has_text="Mix").first
    assert "pH at the start 11.4" in row.inner_text()
    assert page.evaluate("Object.keys(localStorage).filter((key) => key.includes('worksheet')).length") == 0
    assert page.locator('[name="bath1.ph_start"]').input_value() == "11.5"
    page.context.close()
