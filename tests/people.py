"""People for tests: somebody of each role, and clients that are signed in without hashing anything."""

from typing import Any

from fastapi import FastAPI
from fastapi.testclient import TestClient
from sqlalchemy import Engine
from starlette.types import ASGIApp, Receive, Scope, Send

from server.accounts.actions import add_user, set_roles
from server.accounts.queries import user_of_email
from server.accounts.sessions import begin_session
from server.db import transaction
from server.security.cookies import SESSION
from server.security.form_token import HEADER, LENGTH, _plain, masked

BASE_URL = "http://localhost"
EMAIL = "keeper@example.org"
NAME = "The Keeper"


def sign_in(
    engine: Engine, email: str = EMAIL, *, administrator: bool = True, roles: dict[int, str] | None = None
) -> str:
    """Make somebody, if not there yet, and a session of theirs; returns its secret."""
    with transaction(engine) as session:
        user = user_of_email(session, email) or add_user(
            session, email, name=NAME if email == EMAIL else email.partition("@")[0], administrator=administrator
        )
        set_roles(session, user, roles or {})
        return begin_session(session, user)


def headers_for(secret: str) -> dict[str, str]:
    """Headers with which a request is one of a browser that is signed in, with the token of its forms."""
    return {"cookie": f"{SESSION}={secret}", HEADER: masked(_plain(secret), bytes(LENGTH))}


def signed_in(app: FastAPI, *, roles: dict[int, str] | None = None, email: str = EMAIL, **how: Any) -> TestClient:
    """A client that is signed in: as administrator, or with some roles by site."""
    secret = sign_in(app.state.engine, email, administrator=roles is None, roles=roles)
    headers = headers_for(secret)
    client = TestClient(app, base_url=BASE_URL, headers={HEADER: headers[HEADER]} | how.pop("headers", {}), **how)
    client.cookies.set(SESSION, secret)
    return client


class SignedIn:
    """An application to which every request comes signed in, for browsers that tests drive."""

    def __init__(self, app: ASGIApp, secret: str) -> None:
        self.app = app
        self.cookie = f"{SESSION}={secret}".encode()

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "http":
            kept = [value for name, value in scope["headers"] if name == b"cookie"]
            others = [pair for pair in scope["headers"] if pair[0] != b"cookie"]
            scope = scope | {"headers": [*others, (b"cookie", b"; ".join([self.cookie, *kept]))]}
        await self.app(scope, receive, send)
