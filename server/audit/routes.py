"""The history of a train, and each of its verdicts of the past worked out again."""

from typing import Annotated

from fastapi import APIRouter, Depends, Query, Request, Response
from sqlalchemy.orm import Session

from server.accounts.needs import needs
from server.accounts.roles import Right
from server.assessments.past import past_assessments, past_or_404, settings_of, settings_then, work_out_again
from server.audit.page import PER_PAGE, history_page, verdict_page
from server.audit.queries import entries_of_train
from server.db import get_session
from server.plants.models import Train
from server.plants.queries import train_or_404
from server.templating import Frame, TrainTabs, frame_of, render

router = APIRouter()


def _frame(request: Request, train: Train, title: str) -> Frame:
    tabs = TrainTabs(train.id, train.site.name, train.name, "history")
    return frame_of(request, f"{title}, {train.name}", site_units=train.site.units, tabs=tabs)


@router.get("/trains/{train_id}/history", dependencies=[needs(Right.SEE)])
def show_history(
    train_id: int,
    request: Request,
    leaf: Annotated[int, Query(ge=1, le=1_000_000)] = 1,
    session: Session = Depends(get_session, scope="function"),
) -> Response:
    train = train_or_404(session, train_id)
    found = entries_of_train(session, train_id, limit=PER_PAGE, offset=(leaf - 1) * PER_PAGE)
    past = past_assessments(session, train_id)
    frame, settings = _frame(request, train, "History"), settings_of(session, past)
    return render("audit/history.html", history_page(frame, train, past, settings, found, leaf))


@router.get("/trains/{train_id}/history/verdicts/{past_id}", dependencies=[needs(Right.SEE)])
def show_verdict(
    train_id: int, past_id: int, request: Request, session: Session = Depends(get_session, scope="function")
) -> Response:
    train, past = train_or_404(session, train_id), past_or_404(session, train_id, past_id)
    settings = settings_then(session, past).content
    found = work_out_again(session, past)
    frame = _frame(request, train, "A verdict of the past")
    return render("audit/verdict.html", verdict_page(frame, train, found, settings, found.again.counts.total))
