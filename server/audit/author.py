"""Who writes: the person signed in, the browser of a server without sign-in, or the user of the command line."""

import getpass

from fastapi import Request
from sqlalchemy.orm import Session

REQUEST = "request"
"""Under this name `server.db.get_session` leaves the request with its session."""
BROWSER = "browser"
LONGEST = 200


def author_of(request: Request) -> str:
    """Name of whoever makes a request."""
    user = getattr(request.state, "user", None)
    name = getattr(user, "name", "") or getattr(user, "email", "") or BROWSER
    return str(name)[:LONGEST]


def writer(session: Session, given: str = "") -> str:
    """Name under which a session writes: as given, else of its request, else of the command line."""
    if given:
        return given[:LONGEST]
    request = session.info.get(REQUEST)
    return author_of(request) if request is not None else f"{_user()} (command line)"[:LONGEST]


def _user() -> str:
    try:
        return getpass.getuser()
    except (KeyError, OSError, ImportError):  # no name for this user, as in some containers
        return "somebody"
