"""Come in, go out, one's own account. Passwords are hashed outside of any transaction, so that nobody waits for it."""

import hmac
import logging
from typing import Annotated

from fastapi import APIRouter, Depends, Form, Query, Request, Response
from fastapi.responses import RedirectResponse
from sqlalchemy.orm import Session

from server.accounts.actions import add_user, set_password, use_link
from server.accounts.demo import DEMO_USERS
from server.accounts.forms import FirstForm
from server.accounts.needs import needs, person_of
from server.accounts.page import AccountPage, DemoPerson, PasswordPage, SignInPage, account_page
from server.accounts.passwords import hash_password, needs_new_hash, password_fits, password_problem
from server.accounts.queries import any_users, good_link, list_sites, normal_email, user_of_email, user_or_404
from server.accounts.roles import ROLE_WORDS, Right
from server.accounts.sessions import LONGEST, begin_session, end_secret, end_session, end_sessions, open_sessions
from server.db import get_session, now, transaction
from server.errors import NotFound
from server.security.cookies import SESSION, VISIT, forget, keep, secret_of
from server.security.loopback import from_this_machine
from server.security.rate_limits import address_of
from server.templating import frame_of, render, safe_path
from server.watching.logs import log

router = APIRouter()
RequestSession = Annotated[Session, Depends(get_session, scope="function")]
Text = Annotated[str, Form()]
WRONG = "This address and this password do not belong together."
DONE = {"password": "The password was changed. Every other browser was signed out."}
GONE = "This link was used already, or it has run out. Ask for a new one."


def _signed_in(request: Request, secret: str, path: str) -> Response:
    """Go on as somebody, with the cookie of the new session."""
    response = RedirectResponse(safe_path(path), status_code=303)
    keep(request, response, SESSION, secret, seconds=int(LONGEST.total_seconds()))
    forget(request, response, VISIT)
    return response


def _signed_out(request: Request) -> Response:
    response = RedirectResponse("/sign-in", status_code=303, headers={"Clear-Site-Data": '"cache"'})
    forget(request, response, SESSION)
    return response


def _sign_in_page(
    request: Request, session: Session, *, email: str = "", back: str = "/", error: str = ""
) -> SignInPage:
    demo = request.app.state.demo and from_this_machine(request)
    people = tuple(DemoPerson(user.role, user.name, ROLE_WORDS[user.role]) for user in DEMO_USERS) if demo else ()
    frame = frame_of(request, "Sign in")
    return SignInPage(frame, email, safe_path(back), error, not any_users(session), people)


@router.get("/sign-in", dependencies=[needs(Right.PUBLIC)])
def show_sign_in(request: Request, session: RequestSession, back: str = "/") -> Response:
    return render("accounts/sign_in.html", _sign_in_page(request, session, back=back))


@router.post("/sign-in", dependencies=[needs(Right.PUBLIC)])
def sign_in(request: Request, email: Text = "", password: Text = "", back: Text = "/") -> Response:
    limits, engine, address = request.app.state.limits, request.app.state.engine, normal_email(email)[:300]
    limits.address.take(address_of(request))
    limits.account.take(address)
    with transaction(engine, writes=False) as session:
        user = user_of_email(session, address)
        known = user.password_hash if user is not None and user.disabled_at is None else ""
    if not password_fits(known, password):
        log(logging.WARNING, "sign-in refused", user=user.id if user is not None else None)
        with transaction(engine, writes=False) as session:
            page = _sign_in_page(request, session, email=email, back=back, error=WRONG)
        return render("accounts/sign_in.html", page, status=401)
    renewed = hash_password(password) if needs_new_hash(known) else known
    limits.account.give_back(address)
    with transaction(engine) as session:
        found = user_of_email(session, address)
        if found is None or found.password_hash != known or found.disabled_at is not None:
            raise NotFound("There is no such account any more.")
        found.password_hash = renewed
        end_secret(session, secret_of(request, SESSION))
        secret = begin_session(session, found)
    log(logging.INFO, "signed in", user=found.id, by="password")
    return _signed_in(request, secret, back)


@router.post("/sign-out", dependencies=[needs(Right.SIGNED_IN)])
def sign_out(request: Request, session: RequestSession) -> Response:
    end_session(session, person_of(request).session_id)
    return _signed_out(request)


@router.post("/account/sign-out-everywhere", dependencies=[needs(Right.SIGNED_IN)])
def sign_out_everywhere(request: Request, session: RequestSession) -> Response:
    end_sessions(session, person_of(request).id)
    return _signed_out(request)


def _account(
    request: Request, session: Session, *, errors: dict[str, str] | None = None, done: str = ""
) -> AccountPage:
    person = person_of(request)
    sessions = open_sessions(session, person.id)
    return account_page(
        frame_of(request, "Your account"), person, list_sites(session), sessions, now(), errors=errors, done=done
    )


@router.get("/account", dependencies=[needs(Right.SIGNED_IN)])
def show_account(request: Request, session: RequestSession, done: Annotated[str, Query()] = "") -> Response:
    return render("accounts/account.html", _account(request, session, done=DONE.get(done, "")))


@router.post("/account/password", dependencies=[needs(Right.SIGNED_IN, apart=True)])
def change_password(request: Request, current: Text = "", password: Text = "") -> Response:
    person, engine = person_of(request), request.app.state.engine
    request.app.state.limits.account.take(person.email)
    with transaction(engine, writes=False) as session:
        known = user_or_404(session, person.id).password_hash
        errors = {} if password_fits(known, current) else {"current": "This is not your present password."}
        problem = password_problem(password, email=person.email, name=person.name)
        errors |= {"password": problem} if problem else {}
        if errors:
            page = _account(request, session, errors=errors)
            return render("accounts/account.html", page, status=422)
    hashed = hash_password(password)
    request.app.state.limits.account.give_back(person.email)
    with transaction(engine) as session:
        user = user_or_404(session, person.id)
        set_password(session, user, hashed, author=person.name)
        secret = begin_session(session, user)
    return _signed_in(request, secret, "/account?done=password")


@router.get("/links/{secret}", dependencies=[needs(Right.PUBLIC)])
def show_link(secret: str, request: Request, session: RequestSession) -> Response:
    request.app.state.limits.address.take(address_of(request))
    found = good_link(session, secret)
    if found is None:
        raise NotFound(GONE)
    frame = frame_of(request, "Choose a password")
    page = PasswordPage(frame, f"/links/{secret}", found[1].name, found[1].email, False, {})
    return render("accounts/password.html", page)


@router.post("/links/{secret}", dependencies=[needs(Right.PUBLIC)])
def follow_link(secret: str, request: Request, password: Text = "") -> Response:
    engine = request.app.state.engine
    request.app.state.limits.address.take(address_of(request))
    with transaction(engine, writes=False) as session:
        found = good_link(session, secret)
    if found is None:
        raise NotFound(GONE)
    name, email = found[1].name, found[1].email
    if problem := password_problem(password, email=email, name=name):
        frame = frame_of(request, "Choose a password")
        page = PasswordPage(frame, f"/links/{secret}", name, email, False, {"password": problem})
        return render("accounts/password.html", page, status=422)
    hashed = hash_password(password)
    with transaction(engine) as session:
        again = good_link(session, secret)
        if again is None:
            raise NotFound(GONE)
        use_link(session, again[0])
        set_password(session, again[1], hashed, author=name)
        fresh = begin_session(session, again[1])
    log(logging.INFO, "signed in", user=again[1].id, by="link")
    return _signed_in(request, fresh, "/")


def _require_first(request: Request, session: Session, key: str) -> None:
    """The set-up page is there only for this machine, with the key that the server printed, while there is nobody."""
    wanted = request.app.state.setup_key
    fits = bool(wanted) and hmac.compare_digest(wanted.encode(), key.encode("utf-8", "surrogatepass"))
    if not fits or not from_this_machine(request) or any_users(session):
        raise NotFound("There is no such page.")


@router.get("/set-up", dependencies=[needs(Right.PUBLIC)])
def show_set_up(request: Request, session: RequestSession, key: str = "") -> Response:
    _require_first(request, session, key)
    page = PasswordPage(frame_of(request, "First account"), f"/set-up?key={key}", "", "", True, {})
    return render("accounts/password.html", page)


@router.post("/set-up", dependencies=[needs(Right.PUBLIC)])
def set_up(request: Request, key: str = "", email: Text = "", name: Text = "", password: Text = "") -> Response:
    engine = request.app.state.engine
    with transaction(engine, writes=False) as session:
        _require_first(request, session, key)
    form = FirstForm(email, name, password)
    if form.errors:
        frame = frame_of(request, "First account")
        page = PasswordPage(frame, f"/set-up?key={key}", name, email, True, form.errors)
        return render("accounts/password.html", page, status=422)
    hashed = hash_password(password)
    with transaction(engine) as session:
        _require_first(request, session, key)
        user = add_user(session, email, name=name, administrator=True, author=name or email)
        set_password(session, user, hashed, author=user.name)
        secret = begin_session(session, user)
    return _signed_in(request, secret, "/")


@router.post("/demo/{role}", dependencies=[needs(Right.PUBLIC)])
def sign_in_to_demo(role: str, request: Request, session: RequestSession, back: Text = "/") -> Response:
    emails = {user.role: user.email for user in DEMO_USERS}
    user = user_of_email(session, emails.get(role, ""))
    if not request.app.state.demo or not from_this_machine(request) or user is None:
        raise NotFound("There is no such page.")
    end_secret(session, secret_of(request, SESSION))
    return _signed_in(request, begin_session(session, user), back)
