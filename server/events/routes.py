"""Events of a train: see them, write one down."""

from typing import Annotated
from zoneinfo import ZoneInfo

from fastapi import APIRouter, Depends, Form, Request, Response
from fastapi.responses import RedirectResponse
from sqlalchemy.orm import Session

from server.assessments.actions import refresh_assessment
from server.db import get_session, now
from server.events.actions import add_events
from server.events.forms import EventForm
from server.events.page import blank_form, events_page
from server.events.queries import list_events
from server.plants.models import Train
from server.plants.queries import train_or_404
from server.templating import Frame, TrainTabs, frame_of, render

router = APIRouter()


def _frame(request: Request, train: Train) -> Frame:
    tabs = TrainTabs(train.id, train.site.name, train.name, "events")
    return frame_of(request, f"Events, {train.name}", site_units=train.site.units, tabs=tabs)


@router.get("/trains/{train_id}/events")
def show_events(train_id: int, request: Request, session: Session = Depends(get_session, scope="function")) -> Response:
    train = train_or_404(session, train_id)
    form = blank_form(ZoneInfo(train.site.timezone), now())
    return render("events/list.html", events_page(_frame(request, train), train, list_events(session, train_id), form))


@router.post("/trains/{train_id}/events")
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
        page = events_page(_frame(request, train), train, list_events(session, train_id), form)
        return render("events/list.html", page, status=422)
    add_events(session, train_id, [form.event(zone)])
    refresh_assessment(session, train_id)
    return RedirectResponse(f"/trains/{train_id}/events", status_code=303)
