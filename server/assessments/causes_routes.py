"""Which cause, and what speaks for and against it: one click behind the verdict."""

from fastapi import APIRouter, Request, Response

from server.accounts.needs import RequestSession, needs
from server.accounts.roles import Right
from server.assessments.behind import behind_verdict
from server.assessments.causes_page import causes_page
from server.assessments.page import EmptyTrainPage
from server.templating import render

router = APIRouter()


@router.get("/trains/{train_id}/causes", dependencies=[needs(Right.SEE)])
def show_causes(train_id: int, request: Request, session: RequestSession) -> Response:
    found = behind_verdict(request, session, train_id, "Cause")
    if isinstance(found, EmptyTrainPage):
        return render("assessments/empty.html", found)
    return render("assessments/causes.html", causes_page(found), charts=True)
