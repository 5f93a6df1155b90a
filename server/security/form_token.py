"""The token in every form: only a page of ours can know it, so that no other site can send a form in a person's name.

It is derived from the secret in the cookie, therefore another one in each session and gone with it, and nothing has
to be kept. In each page it is masked anew, because a page is compressed and its length must not tell it.
"""

import hashlib
import hmac
import secrets
from collections.abc import AsyncIterator

from starlette.requests import Request

from server.accounts.secrets import new_secret
from server.errors import AppError, NotAllowed
from server.security.cookies import SESSION, VISIT, secret_of

FIELD, HEADER = "form_token", "x-form-token"
SAFE_METHODS = frozenset({"GET", "HEAD", "OPTIONS"})
FORMS = ("application/x-www-form-urlencoded", "multipart/form-data")
MOST_FIELDS = 2_000
LENGTH = 32
REFUSED = "This form was open too long, or did not come from a page of this logbook. Open the page again."


class Unreadable(AppError):
    """A form that no browser sends."""

    status_code = 400


def form_token(request: Request) -> str:
    """The token for the forms of a page; a browser without any cookie of ours is given one with it."""
    secret = secret_of(request, SESSION) or secret_of(request, VISIT)
    if not secret:
        secret = getattr(request.state, "new_visit", "") or new_secret()
        request.state.new_visit = secret
    return masked(_plain(secret), secrets.token_bytes(LENGTH))


def _plain(secret: str) -> bytes:
    return hashlib.sha256(b"form:" + secret.encode("utf-8", "surrogatepass")).digest()


def masked(plain: bytes, pad: bytes) -> str:
    """A token behind a pad of its length.

    Examples
    --------
    >>> masked(bytes([1, 2]), bytes([255, 0]))
    'ff00fe02'
    """
    return (pad + bytes(one ^ other for one, other in zip(plain, pad, strict=True))).hex()


def _unmasked(token: str) -> bytes:
    try:
        both = bytes.fromhex(token)
    except ValueError:
        return b""
    pad, hidden = both[:LENGTH], both[LENGTH:]
    return bytes(one ^ other for one, other in zip(pad, hidden, strict=False))


async def sent_token(request: Request) -> AsyncIterator[str]:
    """The token that came with a form, for `Depends`; empty when there is none, or nothing can be changed."""
    if request.method in SAFE_METHODS:
        yield ""
        return
    header = request.headers.get(HEADER, "")
    if not request.headers.get("content-type", "").lower().startswith(FORMS):
        yield header
        return
    form = await request.form(max_files=1, max_fields=MOST_FIELDS)
    try:
        if any("\x00" in name or (isinstance(value, str) and "\x00" in value) for name, value in form.multi_items()):
            raise Unreadable("The form holds a sign with the number 0, which nobody can type.")
        found = form.get(FIELD)
        yield header or (found if isinstance(found, str) else "")
    finally:
        await form.close()


def require_token(request: Request, sent: str) -> None:
    """Raise `NotAllowed` when a change was asked for without the token of this browser."""
    if request.method in SAFE_METHODS:
        return
    secret = secret_of(request, SESSION) or secret_of(request, VISIT)
    if not secret or not hmac.compare_digest(_unmasked(sent), _plain(secret)):
        raise NotAllowed(REFUSED)
