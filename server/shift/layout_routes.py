"""Lay the shift log of a train out, and decide on entries that contradict a reading."""

from dataclasses import dataclass, replace
from typing import Annotated
from zoneinfo import ZoneInfo

from fastapi import APIRouter, Depends, Form, Request, Response
from fastapi.responses import RedirectResponse

from server.accounts.needs import RequestSession, needs
from server.accounts.roles import Right
from server.db import now
from server.errors import AppError
from server.plants.models import Train
from server.plants.queries import train_or_404
from server.readings.models import Reading
from server.shift.actions import lay_out, move_entry, settle_entry
from server.shift.entry_page import entry_page
from server.shift.forms import other_time
from server.shift.layout import walk
from server.shift.layout_form import laid_out_anew
from server.shift.layout_page import layout_page
from server.shift.queries import entry_or_404, log_fields, photos_of
from server.templating import Frame, TrainTabs, frame_of, render

router = APIRouter()
CHOICES = {"entry": True, "reading": False}
BOTH = "both"


@dataclass(frozen=True)
class SentLayout:
    """The columns in the order in which they came, and all fields of the form."""

    order: list[str]
    fields: dict[str, str]


async def sent_layout(request: Request) -> SentLayout:
    """The form as it came; the order of its fields is the order of the log."""
    form = await request.form()
    pairs = [(name, value) for name, value in form.multi_items() if isinstance(value, str)]
    return SentLayout([value for name, value in pairs if name == "column"], dict(pairs))


def _frame(request: Request, train: Train, title: str) -> Frame:
    tabs = TrainTabs(train.id, train.site.name, train.name, "shift")
    return frame_of(request, f"{title}, {train.name}", site_units=train.site.units, tabs=tabs)


@router.get("/trains/{train_id}/shift/layout", dependencies=[needs(Right.MANAGE)])
def show_layout(train_id: int, request: Request, session: RequestSession) -> Response:
    train = train_or_404(session, train_id)
    frame = _frame(request, train, "Lay out the shift log")
    return render("shift/layout.html", layout_page(frame, train, log_fields(session, train)))


@router.post("/trains/{train_id}/shift/layout", dependencies=[needs(Right.MANAGE)])
def change_layout(
    train_id: int, sent: Annotated[SentLayout, Depends(sent_layout)], session: RequestSession
) -> Response:
    train = train_or_404(session, train_id)
    fields, order = log_fields(session, train), list(walk(len(train.stages)))
    lay_out(session, train_id, laid_out_anew(fields, sent.order, sent.fields, order))
    name = sent.fields.get("move", "").partition(":")[2]
    target = f"/trains/{train_id}/shift/layout#row-{name}" if name.isidentifier() else f"/trains/{train_id}/shift"
    return RedirectResponse(target, status_code=303)


@router.get("/trains/{train_id}/shift/entries/{entry_id}", dependencies=[needs(Right.SEE)])
def show_entry(train_id: int, entry_id: int, request: Request, session: RequestSession) -> Response:
    return _entry(request, session, train_id, entry_id)


def _entry(
    request: Request, session: RequestSession, train_id: int, entry_id: int, time: str = "", error: str = ""
) -> Response:
    train, entry = train_or_404(session, train_id), entry_or_404(session, train_id, entry_id)
    reading = session.get(Reading, entry.reading_id) if entry.reading_id else None
    page = entry_page(_frame(request, train, "An entry"), train, entry, reading, photos_of(session, entry_id))
    shown = replace(page, time=time or page.time, time_error=error)
    return render("shift/entry.html", shown, status=422 if error else 200)


@router.post("/trains/{train_id}/shift/entries/{entry_id}/settle", dependencies=[needs(Right.ENTER)])
def settle(
    train_id: int,
    entry_id: int,
    request: Request,
    session: RequestSession,
    right: Annotated[str, Form()] = "",
    time: Annotated[str, Form()] = "",
) -> Response:
    if right not in (*CHOICES, BOTH):
        raise AppError("Choose which of the two is right.", 422)
    entry = entry_or_404(session, train_id, entry_id)
    if right != BOTH:
        settle_entry(session, entry, take_entry=CHOICES[right])
        return RedirectResponse(f"/trains/{train_id}/shift/entries/{entry_id}", status_code=303)
    taken_at, error = other_time(time, entry.taken_at, ZoneInfo(train_or_404(session, train_id).site.timezone), now())
    if taken_at is None:
        return _entry(request, session, train_id, entry_id, time, error)
    move_entry(session, entry, taken_at)
    return RedirectResponse(f"/trains/{train_id}/shift/entries/{entry_id}", status_code=303)
