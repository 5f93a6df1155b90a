"""Run by run, and what other limits would say: one click behind the verdict."""

from fastapi import APIRouter, Request, Response

from server.accounts.needs import RequestSession, needs
from server.accounts.roles import Right
from server.assessments.behind import behind_verdict
from server.assessments.graphs import run_charts
from server.assessments.page import EmptyTrainPage
from server.assessments.runs_page import runs_page
from server.templating import render

router = APIRouter()


@router.get("/trains/{train_id}/runs", dependencies=[needs(Right.SEE)])
def show_runs(train_id: int, request: Request, session: RequestSession) -> Response:
    found = behind_verdict(request, session, train_id, "Runs")
    if isinstance(found, EmptyTrainPage):
        return render("assessments/empty.html", found)
    document = found.document
    charts = run_charts(document, found.history, found.events, found.zone, found.stages)
    page = runs_page(found.frame, found.site, found.train, document, request.query_params, charts)
    return render("assessments/runs.html", page, charts=True)
