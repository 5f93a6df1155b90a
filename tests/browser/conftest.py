"""A served demo and a real browser. Where there is no Chromium, these tests say so in one line."""

import shutil
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import uvicorn

from server.app import create_app
from server.settings import Settings
from tests.people import SignedIn, sign_in
from tests.server.conftest import demo_url

__all__ = ["demo_url"]

NAMES = ("chromium", "chromium-browser", "google-chrome")
FLAGS = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
]  # fmt: skip


@pytest.fixture(scope="session")
def served(demo_url: str) -> Iterator[str]:
    """Address of a running server over two trains of the demo fleet."""
    app = create_app(Settings(database_url=demo_url))
    signed = SignedIn(app, sign_in(app.state.engine))
    config = uvicorn.Config(signed, port=0, log_level="error", ws="none", lifespan="on")
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.02)
    port = server.servers[0].sockets[0].getsockname()[1]
    yield f"http://127.0.0.1:{port}"
    server.should_exit = True
    thread.join()


@pytest.fixture(scope="module")  # not longer: while it is open, nothing else in this process can run an event loop
def browser() -> Iterator[Any]:
    path = next((found for name in NAMES if (found := shutil.which(name))), None)
    if path is None:
        pytest.skip("no Chromium found: browser tests are left out")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        found = playwright.chromium.launch(executable_path=path, args=FLAGS)
        yield found
        found.close()


@pytest.fixture
def pictures(tmp_path: Path) -> Path:
    return tmp_path
