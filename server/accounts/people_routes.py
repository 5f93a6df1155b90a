"""People, as administrators see and change them."""

from typing import Annotated

from fastapi import APIRouter, BackgroundTasks, Depends, Form, Request, Response
from fastapi.responses import RedirectResponse
from sqlalchemy.orm import Session

from server.accounts.actions import INVITATION, RESET, add_user, change_user, new_link, set_roles
from server.accounts.forms import InviteForm, PersonForm, person_form
from server.accounts.mail import can_mail, mail_link
from server.accounts.models import User
from server.accounts.needs import needs, person_of
from server.accounts.page import SecretPage, link_page, people_page, person_page
from server.accounts.queries import list_sites, list_users, role_counts, roles_of, user_of_email, user_or_404
from server.accounts.roles import Right
from server.accounts.sessions import end_sessions
from server.db import get_session, now
from server.errors import Conflict
from server.templating import frame_of, render

router = APIRouter()
RequestSession = Annotated[Session, Depends(get_session, scope="function")]
Text = Annotated[str, Form()]


def _people(request: Request, session: Session, form: InviteForm | None = None) -> Response:
    page = people_page(
        frame_of(request, "People"), list_users(session), role_counts(session), list_sites(session), now(),
        values=form.values if form else None, errors=form.errors if form else None,
    )  # fmt: skip
    return render("accounts/people.html", page, status=422 if form else 200)


def _link(request: Request, session: Session, tasks: BackgroundTasks, user: User) -> SecretPage:
    """Make a link for a person, and mail it after the answer where there is a mail server."""
    purpose, settings = (RESET if user.password_hash else INVITATION), request.app.state.settings
    address = f"{str(request.base_url).rstrip('/')}/links/{new_link(session, user, purpose)}"
    if mailed := can_mail(settings):
        tasks.add_task(mail_link, settings, to=user.email, name=user.name, address=address, purpose=purpose)
    frame = frame_of(request, "A link, shown once")
    return link_page(frame, user, address=address, purpose=purpose, mailed=mailed)


@router.get("/people", dependencies=[needs(Right.ADMINISTER)])
def show_people(request: Request, session: RequestSession) -> Response:
    return _people(request, session)


@router.post("/people", dependencies=[needs(Right.ADMINISTER)])
def invite(
    request: Request, session: RequestSession, tasks: BackgroundTasks,
    email: Text = "", name: Text = "", site: Text = "", role: Text = "",
) -> Response:  # fmt: skip
    form = InviteForm(email, name, site, role).checked()
    if not form.errors and user_of_email(session, email) is not None:
        form.errors["email"] = "This address is somebody already."
    if form.errors:
        return _people(request, session, form)
    user = add_user(session, email, name=name)
    set_roles(session, user, form.roles)
    return render("accounts/secret.html", _link(request, session, tasks, user))


@router.get("/people/{user_id}", dependencies=[needs(Right.ADMINISTER)])
def show_person(user_id: int, request: Request, session: RequestSession, done: str = "") -> Response:
    user = user_or_404(session, user_id)
    said = "What you changed is kept." if done else ""
    page = person_page(
        frame_of(request, user.name), user, roles_of(session, user_id), list_sites(session), now(),
        own=user_id == person_of(request).id, done=said,
    )  # fmt: skip
    return render("accounts/person.html", page)


@router.post("/people/{user_id}", dependencies=[needs(Right.ADMINISTER)])
def change_person(
    user_id: int, request: Request, session: RequestSession, form: Annotated[PersonForm, Depends(person_form)]
) -> Response:
    user = user_or_404(session, user_id)
    own = user_id == person_of(request).id
    if own and (form.disabled or not form.administrator):
        raise Conflict("You cannot shut yourself out; another administrator can.")
    change_user(session, user, name=form.name, administrator=form.administrator, disabled=form.disabled)
    set_roles(session, user, form.roles)
    return RedirectResponse(f"/people/{user_id}?done=1", status_code=303)


@router.post("/people/{user_id}/sign-out", dependencies=[needs(Right.ADMINISTER)])
def sign_person_out(user_id: int, session: RequestSession) -> Response:
    end_sessions(session, user_or_404(session, user_id).id)
    return RedirectResponse(f"/people/{user_id}?done=1", status_code=303)


@router.post("/people/{user_id}/link", dependencies=[needs(Right.ADMINISTER)])
def make_link(user_id: int, request: Request, session: RequestSession, tasks: BackgroundTasks) -> Response:
    user = user_or_404(session, user_id)
    if user.disabled_at is not None:
        raise Conflict("This account is closed; open it first.")
    return render("accounts/secret.html", _link(request, session, tasks, user))
