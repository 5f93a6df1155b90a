"""The page of one train: the verdict and what it rests on."""

from fastapi import APIRouter, Depends, Request, Response
from fastapi.responses import RedirectResponse
from sqlalchemy.orm import Session

from server.accounts.needs import needs
from server.accounts.roles import Right
from server.assessments.due import due_of
from server.assessments.page import EmptyTrainPage, LatestReading, train_page
from server.assessments.queries import latest_assessment
from server.db import get_session, now
from server.events.queries import events_of
from server.plants.queries import plant_of, train_or_404
from server.reader_words import retold
from server.readings.queries import latest_values
from server.templating import TrainTabs, frame_of, render

router = APIRouter()


@router.get("/trains/{train_id}", dependencies=[needs(Right.SEE)])
def show_train(train_id: int) -> Response:
    return RedirectResponse(f"/trains/{train_id}/assessment", status_code=303)


@router.get("/trains/{train_id}/assessment", dependencies=[needs(Right.SEE)])
def show_assessment(
    train_id: int, request: Request, session: Session = Depends(get_session, scope="function")
) -> Response:
    train = train_or_404(session, train_id)
    tabs = TrainTabs(train_id, train.site.name, train.name, "assessment")
    frame = frame_of(request, f"{train.name}, {train.site.name}", site_units=train.site.units, tabs=tabs)
    record = latest_assessment(session, train_id, series=True)
    if record is None:
        due = bool(due_of(session, train_id).spans)
        return render("assessments/empty.html", EmptyTrainPage(frame, train.site.name, train.name, train_id, due))
    latest = LatestReading.of(latest_values(session, train_id))
    page = train_page(
        frame, plant_of(session, train_id), retold(record.document, frame.units), record.series, latest=latest,
        events=events_of(session, train_id), now=now(), outdated=record.inputs_version != train.inputs_version,
    )  # fmt: skip
    return render("assessments/show.html", page, charts=True)
