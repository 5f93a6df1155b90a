"""The list of readings of a train; and one reading with its history, to be corrected or taken out of use."""

from typing import Annotated

from fastapi import APIRouter, Depends, Form, Query, Request, Response
from fastapi.responses import RedirectResponse
from sqlalchemy.orm import Session

from server.accounts.needs import needs
from server.accounts.roles import Right
from server.assessments.actions import refresh_assessment
from server.db import get_session
from server.form_fields import FormFields
from server.plants.models import Train
from server.plants.queries import train_or_404
from server.readings.actions import amend_reading, void_reading
from server.readings.forms import LONGEST_REASON, AmendForm
from server.readings.history import history_page
from server.readings.page import PER_PAGE, Narrowing, readings_page
from server.readings.queries import count_readings, count_set_aside, list_readings, reading_or_404, revisions
from server.shift.queries import entries_of_reading
from server.templating import Frame, TrainTabs, frame_of, render

router = APIRouter()


def _frame(request: Request, train: Train, title: str) -> Frame:
    tabs = TrainTabs(train.id, train.site.name, train.name, "readings")
    return frame_of(request, f"{title}, {train.name}", site_units=train.site.units, tabs=tabs)


@router.get("/trains/{train_id}/readings", dependencies=[needs(Right.SEE)])
def show_readings(
    train_id: int,
    request: Request,
    show: str = "",
    leaf: Annotated[int, Query(ge=1, le=1_000_000)] = 1,
    session: Session = Depends(get_session, scope="function"),
) -> Response:
    train, narrowing = train_or_404(session, train_id), Narrowing(show, leaf)
    frame = _frame(request, train, "Readings")
    found = list_readings(
        session, train_id, limit=PER_PAGE, offset=narrowing.offset, reason=narrowing.reason,
        only_set_aside=show == "set-aside", only_used=show == "used", only_voided=show == "voided",
    )  # fmt: skip
    counts, aside = count_readings(session, train_id), count_set_aside(session, train_id)
    place = (train.site.name, train.name, train.site.timezone)
    return render("readings/list.html", readings_page(frame, place, train_id, narrowing, found, counts, aside))


@router.get("/readings/{reading_id}", dependencies=[needs(Right.SEE)])
def show_reading(
    reading_id: int, request: Request, session: Session = Depends(get_session, scope="function")
) -> Response:
    reading = reading_or_404(session, reading_id)
    train = train_or_404(session, reading.train_id)
    frame = _frame(request, train, "A reading")
    form = AmendForm.of(reading, train.columns, frame.units)
    entries = entries_of_reading(session, reading_id)
    page = history_page(frame, train, reading, revisions(session, reading_id), form, entries)
    return render("readings/history.html", page)


@router.post("/readings/{reading_id}/amend", dependencies=[needs(Right.ENTER)])
def amend(
    reading_id: int,
    request: Request,
    sent: FormFields,
    session: Session = Depends(get_session, scope="function"),
) -> Response:
    reading = reading_or_404(session, reading_id)
    form = AmendForm.sent(sent).checked(reading)
    if form.errors:
        train = train_or_404(session, reading.train_id)
        page = history_page(_frame(request, train, "A reading"), train, reading, revisions(session, reading_id), form)
        return render("readings/history.html", page, status=422)
    changed = form.changed(reading)
    amend_reading(session, reading_id, changed, reason=form.reason, state=form.state, remark=form.remark)
    refresh_assessment(session, reading.train_id)
    return RedirectResponse(f"/readings/{reading_id}", status_code=303)


@router.post("/readings/{reading_id}/void", dependencies=[needs(Right.ENTER)])
def void(
    reading_id: int,
    void_reason: Annotated[str, Form(max_length=LONGEST_REASON)] = "",
    session: Session = Depends(get_session, scope="function"),
) -> Response:
    reading = void_reading(session, reading_id, reason=void_reason)
    refresh_assessment(session, reading.train_id)
    return RedirectResponse(f"/readings/{reading_id}", status_code=303)
