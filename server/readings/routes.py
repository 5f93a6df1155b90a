"""The list of readings of a train."""

from typing import Annotated

from fastapi import APIRouter, Depends, Query, Request, Response
from sqlalchemy.orm import Session

from server.db import get_session
from server.plants.queries import train_or_404
from server.readings.page import PER_PAGE, Narrowing, readings_page
from server.readings.queries import count_readings, count_set_aside, list_readings
from server.templating import TrainTabs, frame_of, render

router = APIRouter()


@router.get("/trains/{train_id}/readings")
def show_readings(
    train_id: int,
    request: Request,
    show: str = "",
    leaf: Annotated[int, Query(ge=1, le=1_000_000)] = 1,
    session: Session = Depends(get_session, scope="function"),
) -> Response:
    train, narrowing = train_or_404(session, train_id), Narrowing(show, leaf)
    tabs = TrainTabs(train_id, train.site.name, train.name, "readings")
    frame = frame_of(request, f"Readings, {train.name}", site_units=train.site.units, tabs=tabs)
    found = list_readings(
        session, train_id, limit=PER_PAGE, offset=narrowing.offset, reason=narrowing.reason,
        only_set_aside=show == "set-aside", only_used=show == "used", only_voided=show == "voided",
    )  # fmt: skip
    counts, aside = count_readings(session, train_id), count_set_aside(session, train_id)
    place = (train.site.name, train.name, train.site.timezone)
    return render("readings/list.html", readings_page(frame, place, train_id, narrowing, found, counts, aside))
