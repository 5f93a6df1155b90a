"""Cookies: of a session, of a browser that is not signed in, and of what a reader chose.

Behind TLS they are Secure and carry the prefix `__Host-`, with which a browser refuses one that another name of the
same domain tries to plant.
"""

from starlette.requests import Request
from starlette.responses import Response

SESSION, VISIT = "skidbook_session", "skidbook_visit"


def behind_tls(request: Request) -> bool:
    """Whether the browser came by https, as the connection or the settings say."""
    app = request.scope.get("app")
    settings = getattr(getattr(app, "state", None), "settings", None)
    return request.url.scheme == "https" or bool(getattr(settings, "behind_tls", False))


def cookie_name(request: Request, name: str) -> str:
    """Name of a cookie as this request must have it."""
    return f"__Host-{name}" if behind_tls(request) else name


def secret_of(request: Request, name: str) -> str:
    """What a cookie of this request holds; empty when there is none."""
    return request.cookies.get(cookie_name(request, name), "")


def keep(request: Request, response: Response, name: str, secret: str, *, seconds: int | None = None) -> None:
    """Hand a cookie to the browser: not to scripts, not to requests that other sites begin."""
    response.set_cookie(
        cookie_name(request, name), secret, max_age=seconds, path="/", secure=behind_tls(request), httponly=True,
        samesite="lax",
    )  # fmt: skip


def forget(request: Request, response: Response, name: str) -> None:
    """Take a cookie back from the browser."""
    response.delete_cookie(
        cookie_name(request, name), path="/", secure=behind_tls(request), httponly=True, samesite="lax"
    )
