"""The front page: what needs me, most urgent first; and the choice of units."""

from typing import Annotated

from fastapi import APIRouter, Depends, Form, Request, Response
from fastapi.responses import RedirectResponse
from sqlalchemy.orm import Session

from server.accounts.needs import needs, person_of
from server.accounts.roles import Right
from server.assessments.queries import fleet_lines
from server.db import get_session, now
from server.fleet.page import fleet_page
from server.security.cookies import keep
from server.templating import UNIT_SYSTEMS, UNITS_COOKIE, frame_of, render, safe_path

router = APIRouter()
A_YEAR = 365 * 24 * 3600


@router.get("/", dependencies=[needs(Right.SIGNED_IN)])
def show_fleet(request: Request, session: Session = Depends(get_session, scope="function")) -> Response:
    person = person_of(request)
    lines = fleet_lines(session, sites=person.sites)
    enters = frozenset(line.site_id for line in lines if person.may(Right.ENTER, line.site_id))
    return render("fleet/show.html", fleet_page(frame_of(request, "Fleet"), lines, now(), enters=enters))


@router.post("/units", dependencies=[needs(Right.PUBLIC)])
def choose_units(
    request: Request, units: Annotated[str, Form()] = "SI", back: Annotated[str, Form()] = "/"
) -> Response:
    response = RedirectResponse(safe_path(back), status_code=303)
    if units in UNIT_SYSTEMS:
        keep(request, response, UNITS_COOKIE, units, seconds=A_YEAR)
    return response
