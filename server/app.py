"""The web application: routers, static files, errors, and what happens at start and stop."""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

import anyio.to_thread
from fastapi import FastAPI, Request, Response
from fastapi.exceptions import RequestValidationError
from fastapi.staticfiles import StaticFiles
from starlette.exceptions import HTTPException
from starlette.middleware.gzip import GZipMiddleware

import server.assessments.routes
import server.events.routes
import server.fleet.routes
import server.intake.routes
import server.plants.routes
import server.readings.routes
import server.tables  # all tables must be known
from server import plotly_js
from server.db import make_engine
from server.errors import AppError
from server.guard import check_packages
from server.settings import Settings
from server.templating import render_error
from server.upload_limit import UploadLimit

ROUTERS = (
    plotly_js.router,
    server.fleet.routes.router,
    server.plants.routes.router,
    server.assessments.routes.router,
    server.readings.routes.router,
    server.intake.routes.router,
    server.events.routes.router,
)
STATIC = Path(__file__).parent / "static"
THREADS = 8
"""Endpoints are plain functions in threads; more threads than this only wait for each other at the database."""


@asynccontextmanager
async def _lifespan(app: FastAPI) -> AsyncIterator[None]:
    anyio.to_thread.current_default_thread_limiter().total_tokens = THREADS
    yield
    app.state.engine.dispose()


def create_app(settings: Settings) -> FastAPI:
    """Build the application for one database, whose schema must be up to date (`server.schema.migrate`)."""
    check_packages()
    app = FastAPI(title="Skidbook", docs_url=None, redoc_url=None, openapi_url=None, lifespan=_lifespan)
    app.state.settings = settings
    app.state.engine = make_engine(settings.database_url)
    app.add_middleware(GZipMiddleware, minimum_size=1_000, compresslevel=6)
    app.add_middleware(UploadLimit, most=settings.max_upload_bytes)
    for router in ROUTERS:
        app.include_router(router)
    app.mount("/static", StaticFiles(directory=STATIC), name="static")
    app.add_exception_handler(AppError, _show_error)
    app.add_exception_handler(HTTPException, _show_error)
    app.add_exception_handler(RequestValidationError, _show_error)
    app.add_exception_handler(Exception, _show_error)
    return app


def _show_error(request: Request, error: Exception) -> Response:
    """Turn what was raised into a page with its status."""
    if isinstance(error, AppError):
        status, message = error.status_code, error.message
    elif isinstance(error, RequestValidationError):
        status, message = 422, "; ".join(f"{entry['loc'][-1]}: {entry['msg']}" for entry in error.errors())
    else:
        status = getattr(error, "status_code", 500)
        message = "There is no such page." if status == 404 else str(getattr(error, "detail", ""))
    return render_error(request, status=status, message=message)
