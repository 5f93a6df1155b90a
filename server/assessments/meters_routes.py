"""How far each meter is off, by the balances that it must keep: one click behind the verdict."""

from fastapi import APIRouter, Request, Response

from server.accounts.needs import RequestSession, needs
from server.accounts.roles import Right
from server.assessments.behind import behind_verdict
from server.assessments.meters_page import meters_page
from server.assessments.page import EmptyTrainPage
from server.assessments.queries import daily_frame
from server.templating import render

router = APIRouter()


@router.get("/trains/{train_id}/meters", dependencies=[needs(Right.SEE)])
def show_meters(train_id: int, request: Request, session: RequestSession) -> Response:
    found = behind_verdict(request, session, train_id, "Meters")
    if isinstance(found, EmptyTrainPage):
        return render("assessments/empty.html", found)
    page = meters_page(found, daily_frame(session, train_id))
    return render("assessments/meters.html", page, charts=True)
