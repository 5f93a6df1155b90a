"""For those who watch the server: is it well, and what has it counted?"""

import hmac
import ipaddress

from fastapi import APIRouter, Request, Response
from fastapi.responses import JSONResponse
from prometheus_client import CONTENT_TYPE_LATEST

import analytics
from server.accounts.needs import needs
from server.accounts.roles import Right
from server.errors import NotFound
from server.watching.health import health_of
from server.watching.metrics import as_text

router = APIRouter()
NOT_KEPT = {"Cache-Control": "no-store"}
FORWARDED = ("forwarded", "x-forwarded-for", "x-forwarded-host", "x-real-ip")
BEARER = "bearer "


@router.get("/health/live", dependencies=[needs(Right.PUBLIC)])
def live() -> Response:
    """The process answers."""
    return JSONResponse({"status": "ok"}, headers=NOT_KEPT)


@router.get("/health/ready", dependencies=[needs(Right.PUBLIC)])
def ready(request: Request) -> Response:
    """It can do its work: 200, or 503 with what is wrong."""
    found = health_of(request.app.state.engine)
    document = {"status": "ok" if found.ready else "not ready", **found.parts}
    return JSONResponse(document, 200 if found.ready else 503, headers=NOT_KEPT)


@router.get("/health", dependencies=[needs(Right.PUBLIC)])
def health(request: Request) -> Response:
    """The same with the version of the program, for this machine alone."""
    found = health_of(request.app.state.engine)
    document = {"status": "ok" if found.ready else "not ready", **found.parts}
    if _from_here(request):
        document["version"] = analytics.__version__
    return JSONResponse(document, 200 if found.ready else 503, headers=NOT_KEPT)


@router.get("/metrics", dependencies=[needs(Right.PUBLIC)])
def metrics(request: Request) -> Response:
    """For Prometheus: on this machine without more, from elsewhere with the token of the settings."""
    if not (_from_here(request) or _has_token(request)):
        raise NotFound("There is no such page.")
    return Response(as_text(), headers={"Content-Type": CONTENT_TYPE_LATEST} | NOT_KEPT)


def _from_here(request: Request) -> bool:
    """Asked from this very machine, and not through a proxy on it."""
    if any(name in request.headers for name in FORWARDED) or request.client is None:
        return False
    try:
        address = ipaddress.ip_address(request.client.host)
        named = (request.url.hostname or "").strip("[]")
        return address.is_loopback and (named == "localhost" or ipaddress.ip_address(named).is_loopback)
    except ValueError:
        return False


def _has_token(request: Request) -> bool:
    token = request.app.state.settings.metrics_token.get_secret_value()
    header = request.headers.get("authorization", "")
    sent = header[len(BEARER) :].strip() if header.lower().startswith(BEARER) else ""
    return bool(token) and hmac.compare_digest(sent.encode(), token.encode())
