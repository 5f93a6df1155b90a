"""Run by run, and what other limits would say: one click behind the verdict."""

from typing import Annotated

from fastapi import APIRouter, Depends, Request, Response
from sqlalchemy.orm import Session

from server.accounts.needs import needs
from server.accounts.roles import Right
from server.assessments.page import EmptyTrainPage
from server.assessments.queries import latest_assessment
from server.assessments.runs_page import runs_page
from server.db import get_session
from server.plants.queries import train_or_404
from server.templating import TrainTabs, frame_of, render

router = APIRouter()

RequestSession = Annotated[Session, Depends(get_session, scope="function")]


@router.get("/trains/{train_id}/runs", dependencies=[needs(Right.SEE)])
def show_runs(train_id: int, request: Request, session: RequestSession) -> Response:
    train = train_or_404(session, train_id)
    tabs = TrainTabs(train_id, train.site.name, train.name, "assessment")
    frame = frame_of(request, f"Runs, {train.name}", site_units=train.site.units, tabs=tabs)
    record = latest_assessment(session, train_id)
    if record is None:
        return render("assessments/empty.html", EmptyTrainPage(frame, train.site.name, train.name, train_id))
    page = runs_page(frame, train.site.name, train.name, record.document, request.query_params)
    return render("assessments/runs.html", page)
