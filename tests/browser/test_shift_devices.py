"""The shift log on devices as they are: two tabs, no room, a wrong clock, a page from before an update, photos."""

import shutil
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import select

from server import templating
from server.db import make_engine, transaction
from server.readings.models import Reading
from server.shift.models import GaugePhoto
from tests.browser.shift_log import Door, count_readings, serve
from tests.browser.test_shift import PATH, door, fill, filled, open_log, sentence, url, wait_until_kept

__all__ = ["door", "filled", "url"]
pytestmark = pytest.mark.xdist_group("browser")

NO_ROOM = """
IDBObjectStore.prototype.put = function () { throw new DOMException("full", "QuotaExceededError"); };
"""
THREE_HOURS_SLOW = """
{
  const Real = Date, SLOW = -3 * 3600e3;
  window.Date = class extends Real {
    constructor(...given) { if (given.length) super(...given); else super(Real.now() + SLOW); }
    static now() { return Real.now() + SLOW; }
  };
}
"""


def newest(url: str) -> Reading:
    engine = make_engine(url)
    with transaction(engine, writes=False) as session:
        found = session.scalars(select(Reading).order_by(Reading.id.desc())).first()
        assert found is not None
        session.expunge(found)
    engine.dispose()
    return found


def test_what_is_changed_in_a_second_tab_is_an_entry_of_its_own(door: Door, browser: Any, url: str) -> None:
    before = count_readings(url)
    with serve(door) as address:
        context = browser.new_context()
        first = open_log(context, address)
        fill(first)
        first.wait_for_selector("form[data-draft=kept]")
        second = context.new_page()
        second.goto(address + PATH)
        second.wait_for_selector("#shift[data-ready]")
        assert second.input_value("#f-feed_pressure_bar") == "12.1"
        context.set_offline(True)
        first.click("#save")
        assert "waits to be sent" in sentence(first)
        second.fill("#f-time", first.input_value("#f-time")[:-5] + "00:01")
        second.fill("#f-feed_pressure_bar", "12.3")
        second.click("#save")
        assert "waits to be sent" in sentence(second)
        context.set_offline(False)
        second.wait_for_selector("#queue", state="hidden")
        context.close()
    assert count_readings(url) == before + 2


def test_a_device_without_room_sends_at_once_and_loses_nothing_without_a_connection(
    door: Door, browser: Any, url: str
) -> None:
    before = count_readings(url)
    with serve(door) as address:
        context = browser.new_context()
        context.add_init_script(NO_ROOM)
        page = open_log(context, address)
        fill(page)
        context.set_offline(True)
        page.click("#save")
        assert "no room" in sentence(page)
        assert page.locator("#offline").is_hidden()  # which would promise that it is kept
        assert page.input_value("#f-feed_pressure_bar") == "12.1"
        context.set_offline(False)
        page.click("#save")
        page.wait_for_selector("text=Saved. The verdict")
        assert page.input_value("#f-feed_pressure_bar") == ""
        context.close()
    assert count_readings(url) == before + 1


def test_a_wrong_clock_is_told_and_put_right_with_and_without_a_connection(door: Door, browser: Any, url: str) -> None:
    with serve(door) as address:
        context = browser.new_context()
        context.add_init_script(THREE_HOURS_SLOW)
        page = open_log(context, address)
        page.wait_for_selector("#clock-off", state="visible")
        assert "3 h 0 min slow" in page.inner_text("#clock-off")
        right = page.input_value("#f-time")
        wait_until_kept(page)
        context.set_offline(True)
        page = open_log(context, address)
        assert page.input_value("#f-time")[:13] == right[:13]  # to the hour
        assert page.locator("#clock-off").is_visible()
        fill(page)
        page.click("#save")
        assert "waits to be sent" in sentence(page)
        context.set_offline(False)
        page.wait_for_selector("#queue", state="hidden")
        context.close()
    saved = newest(url)
    assert abs((saved.created_at - saved.taken_at).total_seconds()) < 300


def test_a_draft_of_the_morning_keeps_its_time(door: Door, browser: Any, url: str) -> None:
    with serve(door) as address:
        context = browser.new_context()
        page = open_log(context, address)
        fill(page)
        page.wait_for_selector("form[data-draft=kept]")
        page.evaluate("""async () => {
          const draft = await ShiftQueue.draftOf(1);
          await ShiftQueue.keepDraft(Object.assign(draft, { changed_ms: draft.changed_ms - 3 * 3600e3 }));
        }""")
        page = open_log(context, address)
        page.wait_for_selector("text=is still here, with its time")
        page.click("#save")
        assert sentence(page).startswith("Saved.")
        assert page.locator("#draft-time").is_hidden()
        context.close()
    saved = newest(url)
    assert 10_740 < (saved.created_at - saved.taken_at).total_seconds() < 11_100  # three hours, to the minute


def test_a_page_kept_before_an_update_opens_without_a_connection_after_it(
    door: Door, browser: Any, url: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    updated = tmp_path / "static"
    shutil.copytree(templating.STATIC, updated)
    for name in ("shift.js", "shift-rules.js", "shift-queue.js", "shift.css"):
        with (updated / name).open("a") as stream:
            stream.write("/* newer */\n")
    with serve(door) as address:
        context = browser.new_context()
        page = open_log(context, address)
        wait_until_kept(page)
        page.wait_for_load_state("networkidle")  # the page has kept itself; from now on it is that of before
        page.wait_for_timeout(500)
        monkeypatch.setattr(templating, "STATIC", updated)
        templating.static_url.cache_clear()
        try:
            kept = page.evaluate("""async () => {
              const found = await navigator.serviceWorker.getRegistration(), before = found.active;
              await found.update();
              while (found.active === before || found.active.state !== "activated") {
                await new Promise(resolve => setTimeout(resolve, 20));
              }
              const pages = await caches.open("skidbook-shift-pages");
              return (await pages.match(location.pathname)).text();
            }""")
            assert templating.static_url("shift.js") not in kept
            context.new_cdp_session(page).send("Network.clearBrowserCache")  # as a phone does that is short of room
            context.set_offline(True)
            page = open_log(context, address)  # the old page, with its old files
            context.set_offline(False)
            page = open_log(context, address)
            fill(page)
            page.click("#save")
            assert sentence(page).startswith("Saved.")
        finally:
            monkeypatch.undo()
            templating.static_url.cache_clear()
        context.close()


def test_a_photo_taken_without_a_connection_arrives_with_its_entry(
    door: Door, browser: Any, url: str, tmp_path: Path
) -> None:
    with serve(door) as address:
        context = browser.new_context()
        page = open_log(context, address)
        page.screenshot(path=tmp_path / "gauge.png")
        wait_until_kept(page)
        context.set_offline(True)
        fill(page)
        page.set_input_files("#f-photo", tmp_path / "gauge.png")
        page.wait_for_selector("text=kB is kept")
        page.click("#save")
        assert "waits to be sent" in sentence(page)
        page = open_log(context, address)  # from what is kept
        context.set_offline(False)
        page.wait_for_selector("#queue", state="hidden")
        context.close()
    engine = make_engine(url)
    with transaction(engine, writes=False) as session:
        assert session.scalars(select(GaugePhoto.kind)).all() == ["image/jpeg"]
    engine.dispose()
