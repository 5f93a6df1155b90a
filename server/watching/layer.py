"""Around every request: its number, its time, its line in the log. The number is in the answer's headers, too."""

import logging
import re
import secrets
import time
from typing import Any

from starlette.datastructures import Headers, MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from server.faults import StoreFault
from server.watching.logs import REQUEST_ID, log
from server.watching.metrics import DATABASE_ERRORS, REQUEST_SECONDS, REQUESTS

HEADER = "X-Request-ID"
NUMBER = "skidbook.request"
GIVEN = re.compile(r"[A-Za-z0-9_.-]{1,64}")
"""What a proxy may give as the number of a request."""
METHODS = {"GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS"}
QUIET = {"/health/live", "/health/ready", "/health", "/metrics"}
"""Asked for every few seconds: counted, but not written down."""
NO_ROUTE = "none"


class WatchingLayer:
    """ASGI middleware, the outermost: sees what every request came to."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        given = Headers(scope=scope).get(HEADER, "")
        number = given if GIVEN.fullmatch(given) else secrets.token_hex(8)
        scope[NUMBER] = number  # for the page of an error that is shown outside of all layers
        before, start, status = REQUEST_ID.set(number), time.perf_counter(), 500

        async def numbered(message: Message) -> None:
            nonlocal status
            if message["type"] == "http.response.start":
                status = message["status"]
                MutableHeaders(scope=message)[HEADER] = number
            await send(message)

        try:
            await self.app(scope, receive, numbered)
        except Exception as error:
            log(logging.ERROR, "request failed", error, route=route_of(scope))
            raise
        finally:
            _note(scope, status, time.perf_counter() - start)
            REQUEST_ID.reset(before)


def _note(scope: Scope, status: int, seconds: float) -> None:
    method = scope["method"] if scope["method"] in METHODS else "other"
    route = route_of(scope)
    REQUESTS.labels(method, route, str(status)).inc()
    REQUEST_SECONDS.labels(method, route).observe(seconds)
    if route not in QUIET:
        level = logging.ERROR if status >= 500 else logging.INFO
        log(level, "request", method=method, route=route, status=status, seconds=round(seconds, 4))


def route_of(scope: Scope) -> str:
    """The template of the route that answered, such as /trains/{train_id}/readings; never the address itself."""
    route: Any = scope.get("route")
    path = getattr(route, "path", "")
    if path:
        return str(path)
    return "/static" if str(scope.get("path", "")).startswith("/static/") else NO_ROUTE


def note_fault(error: StoreFault) -> None:
    """Count and write down a fault of the store."""
    DATABASE_ERRORS.labels(error.kind).inc()
    log(logging.ERROR, "database fault", error, kind=error.kind)
