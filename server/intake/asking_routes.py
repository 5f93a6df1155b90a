"""Say what was understood of a file, take corrections, and read it that way."""

from dataclasses import replace

from fastapi import APIRouter, Request, Response
from fastapi.responses import RedirectResponse

from server.accounts.needs import RequestSession, needs
from server.accounts.roles import Right
from server.errors import FileProblem
from server.form_fields import FormFields
from server.intake.answers import MARKS, Answers, layout_choices
from server.intake.asking import AskingPage, asking_page
from server.intake.contents import content_size
from server.intake.guided import (
    answer,
    answered_mapping,
    choices_of,
    look_again,
    mapping_of,
    save_mapping,
    understanding_of,
)
from server.intake.job_orders import new_job
from server.intake.jobs import ANSWER, is_long, start
from server.intake.models import Import
from server.intake.queries import import_or_404
from server.plants.queries import train_or_404
from server.templating import TrainTabs, frame_of, render

router = APIRouter()


def _page(
    request: Request, session: RequestSession, found: Import, answers: Answers | None = None, error: str = ""
) -> AskingPage:
    train, understood = train_or_404(session, found.train_id), understanding_of(found)
    tabs = TrainTabs(train.id, train.site.name, train.name, "readings")
    frame = frame_of(request, f"Import, {train.name}", site_units=train.site.units, tabs=tabs)
    shown = answers or Answers.of(understood, mapping_of(found))
    return asking_page(frame, train, found, understood, shown, choices_of(found), error)


@router.get("/imports/{import_id}/columns", dependencies=[needs(Right.ENTER)])
def show_columns(import_id: int, request: Request, session: RequestSession) -> Response:
    return render("intake/columns.html", _page(request, session, import_or_404(session, import_id)))


@router.post("/imports/{import_id}/columns", dependencies=[needs(Right.ENTER)])
def answer_columns(import_id: int, request: Request, sent: FormFields, session: RequestSession) -> Response:
    found = import_or_404(session, import_id)
    understood = understanding_of(found)
    answers = Answers.sent(sent, understood)
    if "train" not in answers.errors and understood.layout.trains:  # other columns or rows are meant: look again
        look_again(session, import_id, replace(choices_of(found), train=answers.train))
        return RedirectResponse(f"/imports/{import_id}/columns", status_code=303)
    if understood.layout.marks_doubtful and answers.decimal in MARKS:  # numbers are others then: look at them again
        look_again(session, import_id, replace(choices_of(found), decimal=MARKS[answers.decimal]))
        return RedirectResponse(f"/imports/{import_id}/columns", status_code=303)
    if answers.errors:
        return render("intake/columns.html", _page(request, session, found, answers), status=422)
    try:
        with session.begin_nested():
            text = answered_mapping(session, import_id, answers.corrections(understood))
            _read(request, session, found, text)
    except FileProblem as error:
        return render("intake/columns.html", _page(request, session, found, answers, error.message), status=422)
    if answers.save_as:
        save_mapping(session, train_or_404(session, found.train_id).site_id, answers.save_as, text)
    return RedirectResponse(f"/imports/{import_id}", status_code=303)


def _read(request: Request, session: RequestSession, found: Import, text: str) -> None:
    """Read a file by its mapping, a long one in a process of its own."""
    most = request.app.state.settings.max_upload_rows
    if is_long(content_size(session, found.id)):
        start(request.app.state.engine, session, found, new_job(request, session, ANSWER, found.id, mapping=text))
    else:
        answer(session, found.id, text, max_rows=most)


def _train(session: RequestSession, import_id: int) -> str:
    return choices_of(import_or_404(session, import_id)).train


@router.post("/imports/{import_id}/layout", dependencies=[needs(Right.ENTER)])
def look_at_layout(import_id: int, request: Request, sent: FormFields, session: RequestSession) -> Response:
    try:
        with session.begin_nested():
            look_again(session, import_id, replace(layout_choices(sent), train=_train(session, import_id)))
    except FileProblem as error:
        found = import_or_404(session, import_id)
        return render("intake/columns.html", _page(request, session, found, error=error.message), status=422)
    return RedirectResponse(f"/imports/{import_id}/columns", status_code=303)
