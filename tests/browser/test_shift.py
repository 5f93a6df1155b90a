"""The shift log in a real browser: by keyboard alone, without a connection, through restarts, with answers lost."""

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from server.app import create_app
from server.settings import Settings
from tests.browser.conftest import FLAGS
from tests.browser.shift_log import Door, count_readings, free_port, serve, start_process
from tests.people import sign_in
from tests.server.shift.small_log import SHIFT, fill_logbook

pytestmark = pytest.mark.xdist_group("browser")

PATH = "/trains/1/shift"
MOST_PRESSES = 90


@pytest.fixture(scope="module")
def filled(sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("shift") / "filled.db"
    shutil.copyfile(sqlite_template, path)
    fill_logbook(f"sqlite:///{path}")
    return path


@pytest.fixture
def url(filled: Path, tmp_path: Path) -> str:
    """A logbook of one train with a history, to be changed."""
    path = tmp_path / "shift.db"
    shutil.copyfile(filled, path)
    return f"sqlite:///{path}"


@pytest.fixture
def door(url: str) -> Iterator[Door]:
    app = create_app(Settings(database_url=url))
    yield Door(app, sign_in(app.state.engine))
    app.state.engine.dispose()


def open_log(context: Any, address: str) -> Any:
    """The page, with its script at work."""
    page = context.pages[0] if context.pages else context.new_page()
    page.goto(address + PATH)
    page.wait_for_selector("#shift[data-ready]")
    return page


def wait_until_kept(page: Any) -> None:
    """Wait until the worker keeps this page for times without a connection."""
    page.evaluate(
        """async () => {
          await navigator.serviceWorker.ready;
          while (!await (await caches.open("skidbook-shift-pages")).match(location.pathname)) {
            await new Promise(resolve => setTimeout(resolve, 20));
          }
        }"""
    )


def fill(page: Any, **other: str) -> None:
    for name, text in (SHIFT | other).items():
        page.fill(f"#f-{name}", text)


def sentence(page: Any) -> str:
    page.wait_for_selector("#answer:not([hidden]) .sentence")
    return str(page.locator("#answer .sentence").inner_text())


def test_fifteen_fields_and_save_by_keyboard_alone(door: Door, browser: Any, url: str) -> None:
    before = count_readings(url)
    with serve(door) as address:
        context = browser.new_context(viewport={"width": 1440, "height": 900})
        page = open_log(context, address)
        presses = 0
        for text in SHIFT.values():  # the first field has the focus; Enter goes on
            page.keyboard.type(text)
            page.keyboard.press("Enter")
            presses += len(text) + 1
        for _ in ("past the remark", "save"):
            page.keyboard.press("Enter")
            presses += 1
        told = sentence(page)
        assert told.startswith("Saved. The verdict "), told
        assert page.evaluate("document.activeElement.id") == "answer"
        assert page.input_value("#f-feed_pressure_bar") == ""
        context.close()
    assert count_readings(url) == before + 1
    assert presses == sum(len(text) for text in SHIFT.values()) + 17 <= MOST_PRESSES, presses


def test_without_a_connection_the_page_opens_asks_and_keeps_until_there_is_one(
    door: Door, browser: Any, url: str, tmp_path: Path
) -> None:
    before = count_readings(url)
    how = {"executable_path": shutil.which("chromium"), "args": FLAGS, "viewport": {"width": 360, "height": 740}}
    kind, profile = browser.browser_type, tmp_path / "profile"
    with serve(door) as address:
        context = kind.launch_persistent_context(profile, **how)
        wait_until_kept(open_log(context, address))
        context.set_offline(True)
        page = open_log(context, address)
        page.wait_for_selector("#offline", state="visible")  # though a browser may say that there is a network
        fill(page, feed_pressure_bar="175")
        page.click("#save")
        question = page.locator("#q-feed_pressure_bar")
        assert "Did you mean 12.1 bar (read in psi)?" in question.inner_text()
        assert page.evaluate("document.activeElement.name") == "reason.feed_pressure_bar"
        question.locator("button").click()
        assert page.input_value("#f-feed_pressure_bar") == "12.1"
        page.fill("#f-remark", "strainer cleaned")
        page.wait_for_selector("form[data-draft=kept]")
        context.close()  # the draft outlives the browser
        context = kind.launch_persistent_context(profile, offline=True, **how)
        page = open_log(context, address)
        assert page.input_value("#f-feed_pressure_bar") == "12.1"
        assert page.input_value("#f-remark") == "strainer cleaned"
        page.click("#save")
        assert "waits to be sent" in sentence(page)
        context.close()  # and so does the queue
        context = kind.launch_persistent_context(profile, offline=True, **how)
        page = open_log(context, address)
        assert "Quay Laundry · RO 1" in page.locator("#waiting li").inner_text()
        page.wait_for_selector("#offline", state="visible")
        assert count_readings(url) == before
        context.set_offline(False)
        assert sentence(page).startswith("Saved.")
        page.wait_for_selector("#queue", state="hidden")
        context.close()
    assert count_readings(url) == before + 1


def test_a_session_that_ran_out_loses_nothing(door: Door, browser: Any, url: str) -> None:
    before = count_readings(url)
    with serve(door) as address:
        context = browser.new_context(viewport={"width": 390, "height": 800})
        page = open_log(context, address)
        fill(page)
        door.shut = True
        page.click("#save")
        assert "waits to be sent" in sentence(page)
        link = page.locator("#sign-in a")
        assert link.get_attribute("href") == f"/sign-in?back={PATH}"
        assert count_readings(url) == before
        door.shut = False
        page.evaluate("window.dispatchEvent(new Event('online'))")
        page.wait_for_selector("#queue", state="hidden")
        assert sentence(page).startswith("Saved.")
        context.close()
    assert count_readings(url) == before + 1


def test_a_server_that_dies_between_commit_and_answer_makes_no_double(browser: Any, url: str, door: Door) -> None:
    before, port = count_readings(url), free_port()
    dying = start_process(url, port, door.secret, "die")
    context = browser.new_context()
    page = open_log(context, f"http://127.0.0.1:{port}")
    fill(page)
    page.click("#save")
    assert "waits to be sent" in sentence(page)
    assert dying.wait() == -9 and count_readings(url) == before + 1
    with serve(door, port):
        page.evaluate("window.dispatchEvent(new Event('online'))")
        page.wait_for_selector("#queue", state="hidden")
        assert sentence(page).startswith("Saved. The verdict ")
    context.close()
    assert count_readings(url) == before + 1


def test_a_press_counts_though_a_question_moves_the_page_under_it(door: Door, browser: Any, url: str) -> None:
    """A field is left when Save is pressed, and its question comes then; Save must not slip away."""
    with serve(door) as address:
        context = browser.new_context(viewport={"width": 390, "height": 844})
        page = open_log(context, address)
        fill(page)
        page.fill("#f-hours_counter_h", "11")  # less than before
        page.evaluate("window.scrollTo(0, document.body.scrollHeight)")  # Save stands where the page ends
        place = page.locator("#save").bounding_box()
        page.mouse.move(place["x"] + 20, place["y"] + 10)
        page.mouse.down()
        page.wait_for_timeout(100)  # the page has time to move
        assert page.locator("#save").bounding_box() == place
        page.mouse.up()
        page.wait_for_selector("#q-hours_counter_h p")
        assert page.evaluate("document.activeElement.id") in ("look-again", "f-hours_counter_h", "r-hours_counter_h")
        context.close()


def test_an_entry_that_contradicts_a_reading_leads_to_the_page_that_decides(door: Door, browser: Any, url: str) -> None:
    before = count_readings(url)
    with serve(door) as address:
        context = browser.new_context(viewport={"width": 390, "height": 844})
        page = open_log(context, address)
        fill(page)
        when = page.input_value("#f-time")
        page.fill("#f-time", when)
        page.click("#save")
        assert sentence(page).startswith("Saved.")
        fill(page, feed_pressure_bar="13.9")
        page.fill("#f-time", when)
        page.click("#save")
        page.click("#keep")  # it stands apart, and the others are those of the last reading
        page.click("#answer a")
        page.wait_for_url("**/shift/entries/*")
        assert "Which of the two is right?" in page.inner_text("h1")
        assert "13.9\u00a0bar" in page.locator("tr.differs").first.inner_text()
        page.click("text=This entry is right")
        page.wait_for_selector("text=This entry was found right")
        context.close()
    assert count_readings(url) == before + 1
