"""Set-up of a train: see and change limits, reference period and settings."""

from fastapi import APIRouter, Request, Response
from fastapi.responses import RedirectResponse
from sqlalchemy.orm import Session

from server.accounts.needs import RequestSession, needs
from server.accounts.roles import Right
from server.assessments.actions import refresh_assessment
from server.form_fields import FormFields
from server.plants.changes import WrongChoice, change_setup
from server.plants.queries import limits, plant_of, references, train_or_404
from server.plants.setup import SetupPage, setup_page
from server.plants.setup_forms import SetupForm
from server.templating import TrainTabs, frame_of, render

router = APIRouter()


def _page(request: Request, session: Session, train_id: int, form: SetupForm, *, error: str = "") -> SetupPage:
    train = train_or_404(session, train_id)
    tabs = TrainTabs(train_id, train.site.name, train.name, "setup")
    frame = frame_of(request, f"Set-up, {train.name}", site_units=train.site.units, tabs=tabs)
    return setup_page(frame, train, form, limits(session, train_id), references(session, train_id), error=error)


@router.get("/trains/{train_id}/setup", dependencies=[needs(Right.SEE)])
def show_setup(train_id: int, request: Request, session: RequestSession) -> Response:
    form = SetupForm.of(plant_of(session, train_id))
    return render("plants/setup.html", _page(request, session, train_id, form))


@router.post("/trains/{train_id}/setup", dependencies=[needs(Right.MANAGE)])
def change(
    train_id: int,
    request: Request,
    sent: FormFields,
    session: RequestSession,
) -> Response:
    form = SetupForm.sent(sent, plant_of(session, train_id)).checked()
    if form.errors:
        return render("plants/setup.html", _page(request, session, train_id, form), status=422)
    try:
        with session.begin_nested():
            changed = change_setup(session, train_id, form.choices(), reason=form.reason)
    except WrongChoice as error:
        return render("plants/setup.html", _page(request, session, train_id, form, error=error.message), status=422)
    if changed:
        refresh_assessment(session, train_id)
    return RedirectResponse(f"/trains/{train_id}/setup", status_code=303)
