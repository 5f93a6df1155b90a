"""Run by run, and what other limits would say: one click behind the verdict."""

from typing import Annotated
from zoneinfo import ZoneInfo

from fastapi import APIRouter, Depends, Request, Response
from sqlalchemy.orm import Session

from server.accounts.needs import needs
from server.accounts.roles import Right
from server.assessments.graphs import run_charts
from server.assessments.history import history_from_series
from server.assessments.page import EmptyTrainPage
from server.assessments.queries import latest_assessment
from server.assessments.runs_page import runs_page
from server.db import get_session
from server.events.queries import events_of
from server.plants.queries import plant_of, train_or_404
from server.templating import TrainTabs, frame_of, render

router = APIRouter()

RequestSession = Annotated[Session, Depends(get_session, scope="function")]


@router.get("/trains/{train_id}/runs", dependencies=[needs(Right.SEE)])
def show_runs(train_id: int, request: Request, session: RequestSession) -> Response:
    train = train_or_404(session, train_id)
    tabs = TrainTabs(train_id, train.site.name, train.name, "assessment")
    frame = frame_of(request, f"Runs, {train.name}", site_units=train.site.units, tabs=tabs)
    record = latest_assessment(session, train_id, series=True)
    if record is None:
        return render("assessments/empty.html", EmptyTrainPage(frame, train.site.name, train.name, train_id))
    history, zone = history_from_series(record.series), ZoneInfo(train.site.timezone)
    stages = len(plant_of(session, train_id).train.stages)
    charts = run_charts(record.document, history, events_of(session, train_id), zone, stages)
    page = runs_page(frame, train.site.name, train.name, record.document, request.query_params, charts)
    return render("assessments/runs.html", page, charts=True)
