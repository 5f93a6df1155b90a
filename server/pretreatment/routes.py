"""The pretreatment of a train: what its log says, and worksheets."""

from fastapi import APIRouter, Request, Response

from server.accounts.needs import RequestSession, needs
from server.accounts.roles import Right
from server.plants.queries import train_or_404
from server.pretreatment.page import pretreatment_page
from server.pretreatment.queries import pretreatment_of
from server.templating import TrainTabs, frame_of, render

router = APIRouter()


@router.get("/trains/{train_id}/pretreatment", dependencies=[needs(Right.SEE)])
def show_pretreatment(train_id: int, request: Request, session: RequestSession) -> Response:
    train = train_or_404(session, train_id)
    tabs = TrainTabs(train_id, train.site.name, train.name, "water")
    frame = frame_of(request, f"Pretreatment, {train.name}", site_units=train.site.units, tabs=tabs)
    page = pretreatment_page(frame, train, pretreatment_of(session, train), dict(request.query_params))
    return render("pretreatment/show.html", page)
