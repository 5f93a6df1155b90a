"""Refuse a change that a page of another site asks for, by what the browser says about where it comes from.

This stands beside the token in every form, not in its place. Requests with a bearer token are let through: a browser
never adds one by itself, and the cookie is not looked at there.
"""

from urllib.parse import urlsplit

from starlette.datastructures import Headers
from starlette.requests import Request
from starlette.types import ASGIApp, Receive, Scope, Send

from server.security.form_token import SAFE_METHODS
from server.templating import refuse


def comes_from_elsewhere(headers: Headers) -> bool:
    """Whether the browser says that another site asks; one that says nothing is left to the token."""
    if headers.get("authorization", "").lower().startswith("bearer "):
        return False
    if headers.get("sec-fetch-site", "same-origin") not in {"same-origin", "none"}:
        return True
    said = headers.get("origin") or headers.get("referer")
    if said is None:
        return False
    try:
        return urlsplit(said).netloc.casefold() != headers.get("host", "").strip().casefold()
    except ValueError:
        return True


class OriginLayer:
    """ASGI middleware: 403 for a change that another site asks for."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        foreign = (
            scope["type"] == "http"
            and scope["method"] not in SAFE_METHODS
            and comes_from_elsewhere(Headers(scope=scope))
        )
        if not foreign:
            await self.app(scope, receive, send)
            return
        words = "This was asked for by a page of another site. Nothing was changed"
        await refuse(Request(scope), status=403, message=words)(scope, receive, send)
