"""The web application: routers, static files, errors, and what happens at start and stop."""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import anyio.to_thread
from fastapi import FastAPI, Request, Response
from fastapi.exceptions import RequestValidationError
from fastapi.responses import RedirectResponse
from fastapi.staticfiles import StaticFiles
from starlette.exceptions import HTTPException
from starlette.middleware.gzip import GZipMiddleware

import server.accounts.people_routes
import server.accounts.routes
import server.accounts.token_routes
import server.api.routes
import server.assessments.causes_routes
import server.assessments.meters_routes
import server.assessments.routes
import server.assessments.runs_routes
import server.audit.routes
import server.budget.choice_routes
import server.budget.routes
import server.cleanings.photo_routes
import server.cleanings.routes
import server.elements.routes
import server.events.routes
import server.evidence.routes
import server.feedwater.routes
import server.fleet.routes
import server.intake.asking_routes
import server.intake.routes
import server.plants.routes
import server.plants.setup_routes
import server.pretreatment.routes
import server.readings.routes
import server.shift.layout_routes
import server.shift.routes
import server.tables  # all tables must be known
import server.watching.routes
from server import plotly_js
from server.accounts.needs import NoToken, SignInFirst, require_declared
from server.accounts.passwords import prepare
from server.api.store import CannotBeUsed
from server.assessments.worker import Worker
from server.db import make_engine
from server.errors import AppError
from server.faults import RETRY_AFTER_S, Busy, StoreFault
from server.guard import check_packages
from server.security.headers import HeaderLayer
from server.security.hosts import HostLayer
from server.security.origin import OriginLayer
from server.security.rate_limits import RateLimits, TooOften
from server.settings import Settings
from server.templating import here, refuse
from server.upload_limit import UploadLimit
from server.watching.layer import HEADER, NUMBER, WatchingLayer, note_fault

ROUTERS = (
    plotly_js.router,
    server.fleet.routes.router,
    server.plants.routes.router,
    server.assessments.routes.router,
    server.assessments.runs_routes.router,
    server.assessments.causes_routes.router,
    server.assessments.meters_routes.router,
    server.readings.routes.router,
    server.shift.routes.router,
    server.shift.layout_routes.router,
    server.intake.routes.router,
    server.intake.asking_routes.router,
    server.events.routes.router,
    server.elements.routes.router,
    server.evidence.routes.router,
    server.cleanings.routes.router,
    server.cleanings.photo_routes.router,
    server.feedwater.routes.router,
    server.pretreatment.routes.router,
    server.plants.setup_routes.router,
    server.budget.routes.router,
    server.budget.choice_routes.router,
    server.audit.routes.router,
    server.watching.routes.router,
    server.accounts.routes.router,
    server.accounts.people_routes.router,
    server.accounts.token_routes.router,
    server.api.routes.router,
)
STATIC = Path(__file__).parent / "static"
THREADS = 8
"""Endpoints are plain functions in threads; more threads than this only wait for each other at the database."""


@asynccontextmanager
async def _lifespan(app: FastAPI) -> AsyncIterator[None]:
    anyio.to_thread.current_default_thread_limiter().total_tokens = THREADS
    await anyio.to_thread.run_sync(prepare)
    app.state.worker.start()
    yield
    await anyio.to_thread.run_sync(app.state.worker.stop)
    app.state.engine.dispose()


def create_app(settings: Settings, *, demo: bool = False, setup_key: str = "") -> FastAPI:
    """Build the application for one database, whose schema must be up to date (`server.schema.migrate`).

    `demo` lets people of this machine in as the people of the demo; `setup_key` opens the page for the first account.
    """
    check_packages()
    routes = [route for router in ROUTERS for route in router.routes]
    app = FastAPI(title="Skidbook", docs_url=None, redoc_url=None, openapi_url=None, routes=routes, lifespan=_lifespan)
    app.state.settings = settings
    app.state.engine = make_engine(settings.database_url)
    app.state.worker = Worker(app.state.engine)
    app.state.limits = RateLimits()
    app.state.demo, app.state.setup_key = demo, setup_key
    app.add_middleware(GZipMiddleware, minimum_size=1_000, compresslevel=6)
    app.add_middleware(UploadLimit, most=settings.max_upload_bytes)
    app.add_middleware(OriginLayer)
    app.add_middleware(HostLayer, allowed=settings.host_names)
    app.add_middleware(HeaderLayer)
    app.add_middleware(WatchingLayer)
    app.mount("/static", StaticFiles(directory=STATIC), name="static")
    app.add_exception_handler(AppError, _show_error)
    app.add_exception_handler(HTTPException, _show_error)
    app.add_exception_handler(RequestValidationError, _show_error)
    app.add_exception_handler(Exception, _show_error)
    require_declared(app)
    return app


def _words_of(found: Any) -> str:
    """What the check of a request found, in words."""
    if found["type"] == "json_invalid":
        return f"The body is not JSON: it cannot be read from sign {found['loc'][-1]} on"
    return f"{found['loc'][-1]}: {found['msg']}"


def _show_error(request: Request, error: Exception) -> Response:
    """Turn what was raised into a page with its status, or a document for a machine."""
    headers: dict[str, str] = {}
    if isinstance(error, SignInFirst) and request.method in {"GET", "HEAD"}:
        return RedirectResponse(f"/sign-in?{urlencode({'back': here(request)})}", status_code=303)
    if isinstance(error, TooOften):
        headers["Retry-After"] = str(error.wait)
    elif isinstance(error, NoToken):
        headers["WWW-Authenticate"] = "Bearer"
    elif isinstance(error, Busy):
        headers["Retry-After"] = str(RETRY_AFTER_S)
    if isinstance(error, StoreFault):
        note_fault(error)
    if isinstance(error, AppError):
        status, message = error.status_code, error.message
    elif isinstance(error, RequestValidationError):
        status, message = 422, "; ".join(map(_words_of, error.errors()))
    else:
        status = getattr(error, "status_code", 500)
        headers |= getattr(error, "headers", None) or {}
        message = "There is no such page." if status == 404 else str(getattr(error, "detail", ""))
        if status == 400 and request.headers.get("content-encoding", "identity") != "identity":
            status, message = 415, "A compressed body is not read; send it as it is, without Content-Encoding"
    if status >= 500 and (number := request.scope.get(NUMBER)):
        headers[HEADER] = number
        message = ". ".join(part for part in (message, f"This was request {number}") if part)
    errors = [error.model_dump() for error in getattr(error, "errors", ())] if isinstance(error, CannotBeUsed) else []
    return refuse(request, status=status, message=message, headers=headers, errors=errors)
