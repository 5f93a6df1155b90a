"""Tokens with which machines reach the readings of a site."""

from typing import Annotated

from fastapi import APIRouter, Depends, Form, Request, Response
from fastapi.responses import RedirectResponse
from sqlalchemy.orm import Session

from server.accounts.actions import add_token, revoke_token
from server.accounts.needs import needs, person_of
from server.accounts.page import token_page, tokens_page
from server.accounts.queries import list_tokens, site_or_404
from server.accounts.roles import Right
from server.db import get_session, now
from server.templating import frame_of, render

router = APIRouter()
RequestSession = Annotated[Session, Depends(get_session, scope="function")]
Text = Annotated[str, Form()]


@router.get("/sites/{site_id}/tokens", dependencies=[needs(Right.MANAGE)])
def show_tokens(site_id: int, request: Request, session: RequestSession) -> Response:
    site, frame = site_or_404(session, site_id), frame_of(request, "Tokens")
    return render("accounts/tokens.html", tokens_page(frame, site, list_tokens(session, site_id), now()))


@router.post("/sites/{site_id}/tokens", dependencies=[needs(Right.MANAGE)])
def create_token(
    site_id: int, request: Request, session: RequestSession, name: Text = "", read: Text = "", write: Text = ""
) -> Response:
    site, errors, plain = site_or_404(session, site_id), {}, " ".join(name.split())
    if not plain or len(plain) > 100 or not plain.isprintable():
        errors["name"] = "Name the machine, in at most 100 characters."
    if not (read or write):
        errors["may"] = "Tick what the machine may do."
    if errors:
        page = tokens_page(
            frame_of(request, "Tokens"), site, list_tokens(session, site_id), now(), name=name, errors=errors
        )
        return render("accounts/tokens.html", page, status=422)
    secret = add_token(
        session, site_id, plain, may_read=bool(read), may_write=bool(write), author=person_of(request).name
    )
    page_of_secret = token_page(frame_of(request, "A token, shown once"), site, plain, secret)
    return render("accounts/secret.html", page_of_secret)


@router.post("/sites/{site_id}/tokens/{token_id}/revoke", dependencies=[needs(Right.MANAGE)])
def end_token(site_id: int, token_id: int, session: RequestSession) -> Response:
    revoke_token(session, site_id, token_id)
    return RedirectResponse(f"/sites/{site_id}/tokens", status_code=303)
