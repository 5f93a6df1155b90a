"""The shift log of a train: enter what the gauges show, and learn at once what it means."""

from typing import Annotated, Any
from zoneinfo import ZoneInfo

from fastapi import APIRouter, Depends, Query, Request, Response
from fastapi.responses import JSONResponse, RedirectResponse
from sqlalchemy.orm import Session

from server.accounts.needs import RequestSession, needs, person_of
from server.accounts.roles import Right
from server.db import json_text, now
from server.form_fields import FormFields
from server.plants.models import Train
from server.plants.queries import train_or_404
from server.readings.queries import latest_values
from server.security.photo import MOST_BYTES, Photo, read_photo
from server.shift.actions import Entered, add_photo, save_entry
from server.shift.book import as_documents, book_of, findings_of, page_data, unanswered, with_reasons
from server.shift.forms import ShiftForm
from server.shift.models import ShiftEntry
from server.shift.page import ShiftPage, Shown, shift_page
from server.shift.queries import (
    entry_of_key,
    entry_or_404,
    key_of_content,
    log_fields,
    open_conflicts,
    photo_or_404,
)
from server.templating import STATIC, Frame, TrainTabs, frame_of, render, static_url

router = APIRouter()
JSON = "application/json"
WORKER_HEADERS = {"Cache-Control": "no-cache"}
ASSETS = (
    "skidbook.css", "shift.css", "shift-rules.js", "shift-queue.js", "photo.js", "shift.js", "icon.svg",
    "cleanings.css", "cleanings.js",
)  # fmt: skip
"""What the log and the worksheets need beside themselves without a connection; the worker needs the queue, too."""


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
    data = page_data(session, train, person_of(request).name, shown.now)
    return shift_page(_frame(request, train, "Log a shift"), shown, data, **how)


@router.get("/trains/{train_id}/shift", dependencies=[needs(Right.ENTER)])
def show_shift(
    train_id: int, request: Request, session: RequestSession, saved: Annotated[int, Query(ge=0, le=2**31 - 1)] = 0
) -> Response:
    train = train_or_404(session, train_id)
    answer = entry_or_404(session, train_id, saved).answer if saved else None
    return render("shift/show.html", _page(request, session, train, answer=answer))


@router.get("/trains/{train_id}/shift/book", dependencies=[needs(Right.ENTER)])
def show_book(train_id: int, request: Request, session: RequestSession) -> Response:
    """The rules as they are now, and a token with which entries that waited can be sent."""
    train = train_or_404(session, train_id)
    data = page_data(session, train, person_of(request).name, now())
    token = _frame(request, train, "").form_token
    return JSONResponse(data | {"token": token}, headers={"Cache-Control": "no-store"})


@router.post("/trains/{train_id}/shift", dependencies=[needs(Right.ENTER)])
def create_entry(
    train_id: int,
    request: Request,
    sent: FormFields,
    photo: Annotated[bytes, Depends(sent_photo)],
    session: RequestSession,
) -> Response:
    train = train_or_404(session, train_id)
    form = ShiftForm.sent(sent)
    known = entry_of_key(session, train_id, key_of_content(session, train_id, form.key, form.digest))
    if known is not None:
        add_photo(session, known, read_photo(photo))
        return _answered(request, known)
    form = form.checked(ZoneInfo(train.site.timezone), now())
    if form.errors:
        return _ask_again(request, session, train, form)
    return _checked_and_saved(request, session, train, form, read_photo(photo))


def _checked_and_saved(
    request: Request, session: Session, train: Train, form: ShiftForm, photo: Photo | None
) -> Response:
    """Save a form, unless somebody sits before it who has not answered what is asked about it."""
    zone = ZoneInfo(train.site.timezone)
    findings = findings_of(book_of(session, train, form.units), form, zone, now())
    left = unanswered(findings, form)
    if left and not form.queued:
        return _ask_again(request, session, train, form, as_documents(left))
    taken_at = form.taken_at(zone)
    assert taken_at is not None  # the form was checked
    noted = [one | {"open": finding in left} for one, finding in zip(as_documents(findings), findings, strict=True)]
    entry = Entered(
        key=form.key, digest=form.digest, taken_at=taken_at, canonical=form.canonical(), typed=form.values,
        units=form.units, state=form.state, remark=with_reasons(form), findings=tuple(noted),
        entered_by=form.entered_by, photo=photo, clock_note=form.clock_note(zone),
    )  # fmt: skip
    return _answered(request, save_entry(session, train.id, entry))


def _answered(request: Request, entry: ShiftEntry) -> Response:
    if _wants_document(request):
        return JSONResponse(entry.answer, headers={"Cache-Control": "no-store"})
    return RedirectResponse(f"/trains/{entry.train_id}/shift?saved={entry.id}", status_code=303)


def _ask_again(
    request: Request, session: Session, train: Train, form: ShiftForm, questions: list[dict[str, Any]] | None = None
) -> Response:
    if _wants_document(request):
        document = {"outcome": "asked" if questions else "refused", "errors": form.errors, "findings": questions or []}
        return JSONResponse(document, status_code=422)
    return render("shift/show.html", _page(request, session, train, form=form, questions=questions or []), status=422)


def _wants_document(request: Request) -> bool:
    return JSON in request.headers.get("accept", "")


@router.get("/trains/{train_id}/shift/photos/{photo_id}", dependencies=[needs(Right.SEE)])
def show_photo(train_id: int, photo_id: int, session: RequestSession) -> Response:
    photo = photo_or_404(session, train_id, photo_id)
    headers = {"Content-Security-Policy": "default-src 'none'; sandbox", "Cache-Control": "no-store"}
    return Response(photo.content, media_type=photo.kind, headers=headers)


@router.get("/shift-worker.js", dependencies=[needs(Right.PUBLIC)])
def show_worker() -> Response:
    """The service worker, from the root because it stands before the pages of all trains."""
    assets = json_text([static_url(name) for name in ASSETS])
    script = (STATIC / "shift-worker.js").read_text(encoding="utf-8")
    return Response(f"const ASSETS = {assets};\n{script}", media_type="text/javascript", headers=WORKER_HEADERS)
