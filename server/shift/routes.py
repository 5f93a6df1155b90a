"""The shift log of a train: enter what the gauges show, and learn at once what it means."""

from typing import Annotated, Any
from zoneinfo import ZoneInfo

from fastapi import APIRouter, Depends, Query, Request, Response
from fastapi.responses import JSONResponse, RedirectResponse
from sqlalchemy.orm import Session

from server.accounts.needs import RequestSession, needs
from server.accounts.roles import Right
from server.db import now
from server.plants.models import Train
from server.plants.queries import train_or_404
from server.readings.queries import latest_values
from server.shift.actions import Entered, save_entry
from server.shift.forms import ShiftForm
from server.shift.page import ShiftPage, Shown, shift_page
from server.shift.photo import MOST_BYTES, Photo, read_photo
from server.shift.queries import entry_or_404, log_fields, open_conflicts, photo_or_404
from server.templating import Frame, TrainTabs, frame_of, render

router = APIRouter()
JSON = "application/json"


async def entered(request: Request) -> dict[str, str]:
    """All fields of a form that are text."""
    return {name: value for name, value in (await request.form()).items() if isinstance(value, str)}


async def sent_photo(request: Request) -> bytes:
    """The photo of a form, and one byte more than may be taken of one that is too large."""
    photo = (await request.form()).get("photo")
    return b"" if photo is None or isinstance(photo, str) else await photo.read(MOST_BYTES + 1)


def _frame(request: Request, train: Train, title: str) -> Frame:
    tabs = TrainTabs(train.id, train.site.name, train.name, "shift")
    return frame_of(request, f"{title}, {train.name}", site_units=train.site.units, tabs=tabs)


def _page(request: Request, session: Session, train: Train, **how: Any) -> ShiftPage:
    fields = log_fields(session, train)
    shown = Shown(train, fields, latest_values(session, train.id), open_conflicts(session, train.id), now())
    return shift_page(_frame(request, train, "Log a shift"), shown, {}, **how)


@router.get("/trains/{train_id}/shift", dependencies=[needs(Right.ENTER)])
def show_shift(
    train_id: int, request: Request, session: RequestSession, saved: Annotated[int, Query(ge=0, le=2**31 - 1)] = 0
) -> Response:
    train = train_or_404(session, train_id)
    answer = entry_or_404(session, train_id, saved).answer if saved else None
    return render("shift/show.html", _page(request, session, train, answer=answer))


@router.post("/trains/{train_id}/shift", dependencies=[needs(Right.ENTER)])
def create_entry(
    train_id: int,
    request: Request,
    sent: Annotated[dict[str, str], Depends(entered)],
    photo: Annotated[bytes, Depends(sent_photo)],
    session: RequestSession,
) -> Response:
    train = train_or_404(session, train_id)
    form = ShiftForm.sent(sent).checked(ZoneInfo(train.site.timezone), now())
    if form.errors:
        return _ask_again(request, session, train, form)
    entry = save_entry(session, train_id, _entered(form, train, read_photo(photo)))
    if _wants_document(request):
        return JSONResponse(entry.answer)
    return RedirectResponse(f"/trains/{train_id}/shift?saved={entry.id}", status_code=303)


def _entered(form: ShiftForm, train: Train, photo: Photo | None) -> Entered:
    taken_at = form.taken_at(ZoneInfo(train.site.timezone))
    assert taken_at is not None  # the form was checked
    return Entered(
        key=form.key, taken_at=taken_at, canonical=form.canonical(), typed=form.values, units=form.units,
        state=form.state, remark=form.remark, entered_by=form.entered_by, photo=photo,
    )  # fmt: skip


def _ask_again(request: Request, session: Session, train: Train, form: ShiftForm) -> Response:
    if _wants_document(request):
        return JSONResponse({"outcome": "refused", "errors": form.errors}, status_code=422)
    return render("shift/show.html", _page(request, session, train, form=form), status=422)


def _wants_document(request: Request) -> bool:
    return JSON in request.headers.get("accept", "")


@router.get("/trains/{train_id}/shift/photos/{photo_id}", dependencies=[needs(Right.SEE)])
def show_photo(train_id: int, photo_id: int, session: RequestSession) -> Response:
    photo = photo_or_404(session, train_id, photo_id)
    headers = {"Content-Security-Policy": "default-src 'none'; sandbox", "Cache-Control": "no-store"}
    return Response(photo.content, media_type=photo.kind, headers=headers)
