"""Bring readings in: hand in a file, look at what it would bring, then bring it in, discard it, or undo it later."""

from dataclasses import asdict
from typing import Annotated

from fastapi import APIRouter, Depends, File, Form, Request, Response, UploadFile
from fastapi.responses import RedirectResponse
from sqlalchemy.orm import Session

from server.accounts.needs import needs
from server.accounts.roles import Right
from server.assessments.due import due_of
from server.assessments.queries import latest_assessment
from server.db import get_session
from server.errors import AppError, Conflict, NotFound
from server.intake.actions import Decision, Upload, confirm_import, discard_import, undo_import
from server.intake.contents import content_size
from server.intake.forms import ImportForm
from server.intake.guided import hand_in, hand_in_long
from server.intake.job_orders import new_job
from server.intake.jobs import LOOK, STORE, is_long, start
from server.intake.models import ASKED, DONE, PENDING, Import
from server.intake.page import ImportPage, import_page, new_import_page, undo_page
from server.intake.problem_list import problem_list
from server.intake.queries import import_or_404, list_imports
from server.plants.models import Train
from server.plants.queries import train_or_404
from server.templating import Frame, TrainTabs, frame_of, render

router = APIRouter()


def _frame(request: Request, train: Train, title: str) -> Frame:
    tabs = TrainTabs(train.id, train.site.name, train.name, "readings")
    return frame_of(request, f"{title}, {train.name}", site_units=train.site.units, tabs=tabs)


@router.get("/trains/{train_id}/imports/new", dependencies=[needs(Right.ENTER)])
def new_import(train_id: int, request: Request, session: Session = Depends(get_session, scope="function")) -> Response:
    train, most = train_or_404(session, train_id), request.app.state.settings.max_upload_bytes
    page = new_import_page(_frame(request, train, "Import"), train, list_imports(session, train_id), most=most)
    return render("intake/new.html", page)


@router.post("/trains/{train_id}/imports", dependencies=[needs(Right.ENTER)])
def create_import(
    train_id: int,
    request: Request,
    file: Annotated[UploadFile | None, File()] = None,
    mapping: Annotated[str, Form()] = "",
    session: Session = Depends(get_session, scope="function"),
) -> Response:
    train, settings = train_or_404(session, train_id), request.app.state.settings
    try:
        form = ImportForm.read(file, mapping, most=settings.max_upload_bytes)
        found = _stage(request, session, train_id, form)
    except AppError as error:
        page = new_import_page(
            _frame(request, train, "Import"), train, list_imports(session, train_id),
            most=settings.max_upload_bytes, error=error.message, mapping=mapping,
        )  # fmt: skip
        return render("intake/new.html", page, status=error.status_code)
    return RedirectResponse(place_of_import(found), status_code=303)


def place_of_import(found: Import) -> str:
    """Where to go on with an import: to the questions about it, or to what it would bring."""
    return f"/imports/{found.id}/columns" if found.status == ASKED else f"/imports/{found.id}"


def _stage(request: Request, session: Session, train_id: int, form: ImportForm) -> Import:
    most = request.app.state.settings.max_upload_rows
    upload = Upload(form.file_name, form.content, mapping_text=form.mapping, max_rows=most)
    with session.begin_nested():
        if is_long(len(form.content)):
            kept = hand_in_long(session, train_id, upload)
            start(request.app.state.engine, session, kept, new_job(request, session, LOOK, kept.id))
            return kept
        return hand_in(session, train_id, upload)


@router.get("/imports/{import_id}", dependencies=[needs(Right.SEE)])
def show_import(
    import_id: int, request: Request, session: Session = Depends(get_session, scope="function")
) -> Response:
    return render("intake/show.html", _import_page(request, session, import_id))


def _import_page(request: Request, session: Session, import_id: int, reason_error: str = "") -> ImportPage:
    found = import_or_404(session, import_id)
    train, record = train_or_404(session, found.train_id), latest_assessment(session, found.train_id)
    level, verdict = (record.level, record.headline) if record else ("", "")
    frame = _frame(request, train, "Import")
    due = bool(due_of(session, found.train_id).ids)
    return import_page(frame, train, found, level=level, verdict=verdict, due=due, reason_error=reason_error)


@router.get("/imports/{import_id}/problems.csv", dependencies=[needs(Right.SEE)])
def list_problems(import_id: int, session: Session = Depends(get_session, scope="function")) -> Response:
    name, text = problem_list(session, import_id)
    disposition = {"Content-Disposition": f'attachment; filename="{name}"'}
    return Response(text, media_type="text/csv; charset=utf-8", headers=disposition)


@router.get("/imports/{import_id}/mapping.toml", dependencies=[needs(Right.SEE)])
def show_mapping(import_id: int, session: Session = Depends(get_session, scope="function")) -> Response:
    """The answers by which a file was read, for `--mapping` on the command line."""
    found = import_or_404(session, import_id)
    if not found.mapping.strip():
        raise NotFound("This file was read without a mapping.")
    disposition = {"Content-Disposition": f'attachment; filename="import-{import_id}-mapping.toml"'}
    return Response(found.mapping, media_type="application/toml; charset=utf-8", headers=disposition)


@router.post("/imports/{import_id}/confirm", dependencies=[needs(Right.ENTER)])
def confirm(
    import_id: int,
    request: Request,
    leave_out: Annotated[str, Form()] = "",
    take: Annotated[str, Form()] = "",
    reason: Annotated[str, Form(max_length=1_000)] = "",
    session: Session = Depends(get_session, scope="function"),
) -> Response:
    if take and not reason.strip():
        page = _import_page(request, session, import_id, "Say why the values of the file are the right ones.")
        return render("intake/show.html", page, status=422)
    _confirm(request, session, import_id, Decision(bool(leave_out), bool(take), reason))
    return RedirectResponse(f"/imports/{import_id}", status_code=303)


def _confirm(request: Request, session: Session, import_id: int, decision: Decision) -> None:
    """Store a file, a long one in a process of its own."""
    found = import_or_404(session, import_id)
    if found.status == PENDING and is_long(content_size(session, import_id)):
        job = new_job(request, session, STORE, import_id, decision=asdict(decision))
        start(request.app.state.engine, session, found, job)
    else:
        confirm_import(session, import_id, decision=decision)


@router.post("/imports/{import_id}/discard", dependencies=[needs(Right.ENTER)])
def discard(import_id: int, session: Session = Depends(get_session, scope="function")) -> Response:
    found = discard_import(session, import_id)
    return RedirectResponse(f"/trains/{found.train_id}/imports/new", status_code=303)


@router.get("/imports/{import_id}/undo", dependencies=[needs(Right.ENTER)])
def ask_undo(import_id: int, request: Request, session: Session = Depends(get_session, scope="function")) -> Response:
    found = import_or_404(session, import_id)
    if found.status != DONE:
        raise Conflict(f"This import is {found.status}; only one that is done can be undone.")
    train = train_or_404(session, found.train_id)
    return render("intake/undo.html", undo_page(_frame(request, train, "Undo an import"), found))


@router.post("/imports/{import_id}/undo", dependencies=[needs(Right.ENTER)])
def undo(
    import_id: int,
    reason: Annotated[str, Form(max_length=1_000)] = "",
    session: Session = Depends(get_session, scope="function"),
) -> Response:
    undo_import(session, import_id, reason=reason)
    return RedirectResponse(f"/imports/{import_id}", status_code=303)
