"""Events of a train: see them, write one down, correct or withdraw one."""

from typing import Annotated
from zoneinfo import ZoneInfo

from fastapi import APIRouter, Depends, Form, Request, Response
from fastapi.responses import RedirectResponse
from sqlalchemy.orm import Session

from server.accounts.needs import needs
from server.accounts.roles import Right
from server.assessments.actions import refresh_assessment
from server.db import get_session, now
from server.errors import Conflict
from server.events.actions import add_events, amend_event, void_event
from server.events.forms import EventForm, answer_form
from server.events.page import blank_form, event_page, events_page, form_of
from server.events.queries import event_or_404, list_events
from server.plants.models import Train
from server.plants.queries import train_or_404
from server.templating import Frame, TrainTabs, frame_of, render

router = APIRouter()


def _frame(request: Request, train: Train) -> Frame:
    tabs = TrainTabs(train.id, train.site.name, train.name, "events")
    return frame_of(request, f"Events, {train.name}", site_units=train.site.units, tabs=tabs)


@router.get("/trains/{train_id}/events", dependencies=[needs(Right.SEE)])
def show_events(train_id: int, request: Request, session: Session = Depends(get_session, scope="function")) -> Response:
    train = train_or_404(session, train_id)
    form = blank_form(ZoneInfo(train.site.timezone), now())
    events = list_events(session, train_id, with_voided=True)
    return render("events/list.html", events_page(_frame(request, train), train, events, form))


@router.post("/trains/{train_id}/events", dependencies=[needs(Right.ENTER)])
def create_event(
    train_id: int,
    request: Request,
    kind: Annotated[str, Form()] = "",
    stage: Annotated[str, Form()] = "",
    when: Annotated[str, Form()] = "",
    detail: Annotated[str, Form()] = "",
    session: Session = Depends(get_session, scope="function"),
) -> Response:
    train = train_or_404(session, train_id)
    zone = ZoneInfo(train.site.timezone)
    form = EventForm(kind, stage, when, detail).checked(zone, len(train.stages), now())
    if form.errors:
        page = events_page(_frame(request, train), train, list_events(session, train_id, with_voided=True), form)
        return render("events/list.html", page, status=422)
    add_events(session, train_id, [form.event(zone)])
    refresh_assessment(session, train_id)
    return RedirectResponse(f"/trains/{train_id}/events", status_code=303)


@router.post("/trains/{train_id}/steps", dependencies=[needs(Right.ENTER)])
def answer_step(
    train_id: int,
    day: Annotated[str, Form(max_length=10)] = "",
    kind: Annotated[str, Form(max_length=40)] = "",
    stage: Annotated[str, Form(max_length=4)] = "",
    session: Session = Depends(get_session, scope="function"),
) -> Response:
    """Say what a step was that nobody had written down; the answer is an event of that day."""
    train = train_or_404(session, train_id)
    zone = ZoneInfo(train.site.timezone)
    form = answer_form(kind, day, stage).checked(zone, len(train.stages), now())
    if form.errors:
        raise Conflict(" ".join(form.errors.values()))
    add_events(session, train_id, [form.event(zone)])
    refresh_assessment(session, train_id)
    return RedirectResponse(f"/trains/{train_id}/assessment", status_code=303)


@router.get("/events/{event_id}", dependencies=[needs(Right.SEE)])
def show_event(event_id: int, request: Request, session: Session = Depends(get_session, scope="function")) -> Response:
    event = event_or_404(session, event_id)
    train = train_or_404(session, event.train_id)
    form = form_of(event, ZoneInfo(train.site.timezone))
    return render("events/show.html", event_page(_frame(request, train), train, event, form))


@router.post("/events/{event_id}/amend", dependencies=[needs(Right.ENTER)])
def amend(
    event_id: int,
    request: Request,
    kind: Annotated[str, Form()] = "",
    stage: Annotated[str, Form()] = "",
    when: Annotated[str, Form()] = "",
    detail: Annotated[str, Form()] = "",
    reason: Annotated[str, Form(max_length=1_000)] = "",
    session: Session = Depends(get_session, scope="function"),
) -> Response:
    event = event_or_404(session, event_id)
    train = train_or_404(session, event.train_id)
    zone = ZoneInfo(train.site.timezone)
    form = EventForm(kind, stage, when, detail, reason).checked(zone, len(train.stages), now()).with_reason()
    if form.errors:
        return render("events/show.html", event_page(_frame(request, train), train, event, form), status=422)
    amend_event(session, event_id, form.event(zone), reason=reason)
    refresh_assessment(session, train.id)
    return RedirectResponse(f"/trains/{train.id}/events", status_code=303)


@router.post("/events/{event_id}/withdraw", dependencies=[needs(Right.ENTER)])
def withdraw(
    event_id: int,
    reason: Annotated[str, Form(max_length=1_000)] = "",
    session: Session = Depends(get_session, scope="function"),
) -> Response:
    train_id = void_event(session, event_id, reason=reason).train_id
    refresh_assessment(session, train_id)
    return RedirectResponse(f"/trains/{train_id}/events", status_code=303)
