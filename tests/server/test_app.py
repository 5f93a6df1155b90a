"""The application as a whole: errors, static files, the thread limit, one transaction per request."""

import importlib.metadata
from pathlib import Path
from typing import Annotated, Any

import anyio.to_thread
import pytest
from fastapi import Depends, FastAPI
from sqlalchemy import Engine, event, select
from sqlalchemy.orm import Session

from server.app import THREADS, create_app
from server.db import get_session, make_engine, transaction
from server.errors import AppError, Conflict, NotAllowed, NotFound
from server.plants.models import Site
from server.plotly_js import plotly_path
from server.settings import Settings
from tests.people import signed_in

RequestSession = Annotated[Session, Depends(get_session, scope="function")]


@pytest.fixture
def app(sqlite_url: str) -> FastAPI:
    return create_app(Settings(database_url=sqlite_url))


def test_the_charting_script_is_served_compressed_and_cached_for_good(app: FastAPI) -> None:
    with signed_in(app) as client:
        small = client.get(plotly_path(), headers={"Accept-Encoding": "gzip"})
        whole = client.get(plotly_path(), headers={"Accept-Encoding": "identity"})
    assert small.headers["content-encoding"] == "gzip"
    assert int(small.headers["content-length"]) < 2_000_000 < len(whole.content)
    assert small.content == whole.content
    for answer in (small, whole):
        assert "immutable" in answer.headers["cache-control"]
        assert answer.headers["vary"] == "Accept-Encoding"
        assert answer.headers["content-type"].startswith("text/javascript")


def test_the_address_of_the_charting_script_changes_with_its_version() -> None:
    assert plotly_path().endswith(importlib.metadata.version("plotly"))


def test_what_is_not_there_is_a_page_with_404(app: FastAPI) -> None:
    with signed_in(app) as client:
        for path in ("/nowhere", "/trains/77/readings", "/static/none.css"):
            answer = client.get(path)
            assert answer.status_code == 404, path
            assert "<html" in answer.text, path


@pytest.mark.parametrize(
    ("error", "status"),
    [
        (NotFound("no such thing"), 404),
        (Conflict("too late"), 409),
        (NotAllowed("not you"), 403),
        (AppError("hm"), 500),
    ],
)
def test_an_error_raised_on_purpose_is_a_page_with_its_status(app: FastAPI, error: AppError, status: int) -> None:
    @app.get("/raises")
    def raises() -> None:
        raise error

    with signed_in(app) as client:
        answer = client.get("/raises")
    assert answer.status_code == status
    assert error.message in answer.text


def test_a_request_that_fails_leaves_nothing_behind(app: FastAPI) -> None:
    @app.post("/sites")
    def add_site(fail: bool, session: RequestSession) -> dict[str, str]:
        session.add(Site(name="Quay", timezone="UTC"))
        session.flush()
        if fail:
            raise Conflict("no")
        return {}

    with signed_in(app) as client:
        assert client.post("/sites?fail=true").status_code == 409
        with transaction(app.state.engine) as session:
            assert session.scalar(select(Site.name)) is None
        assert client.post("/sites?fail=false").status_code == 200
        with transaction(app.state.engine) as session:
            assert session.scalar(select(Site.name)) == "Quay"


def test_a_commit_that_fails_is_seen_by_the_browser(app: FastAPI) -> None:
    """The commit comes before the response, so a failed one cannot look like success."""

    @app.post("/sites")
    def add_site(session: RequestSession) -> dict[str, str]:
        @event.listens_for(session, "before_commit")
        def fail(_session: Any) -> None:
            raise Conflict("the disk is full")

        session.add(Site(name="Quay", timezone="UTC"))
        return {}

    with signed_in(app) as client:
        assert client.post("/sites").status_code == 409


def test_reading_takes_no_write_lock(app: FastAPI, sqlite_url: str) -> None:
    other: Engine = make_engine(sqlite_url)
    with transaction(other) as session, signed_in(app) as client:
        session.add(Site(name="Quay", timezone="UTC"))
        session.flush()
        assert client.get("/").status_code == 200
    other.dispose()


def test_threads_are_few(app: FastAPI) -> None:
    @app.get("/threads")
    async def threads() -> float:
        return anyio.to_thread.current_default_thread_limiter().total_tokens

    with signed_in(app) as client:
        assert client.get("/threads").json() == THREADS


def test_no_page_describes_itself_to_machines(app: FastAPI) -> None:
    with signed_in(app) as client:
        assert {client.get(path).status_code for path in ("/docs", "/redoc", "/openapi.json")} == {404}


def test_every_session_of_a_route_ends_with_the_function() -> None:
    """Without `scope="function"` the commit would come after the response."""
    routes = Path(__file__).parents[2] / "server"
    for path in routes.glob("*/routes.py"):
        text = path.read_text(encoding="utf-8")
        assert text.count("Depends(get_session") == text.count('Depends(get_session, scope="function")'), path
