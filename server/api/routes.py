"""What machines can ask and send, with a token of one site."""

from datetime import datetime
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Query, Request
from sqlalchemy.orm import Session

from server.accounts.needs import needs
from server.accounts.roles import Right
from server.api.forms import SentReadings
from server.api.queries import Daily, Reading, Train, api_assessment, api_daily, api_readings, api_trains
from server.api.store import Stored, store_sent
from server.db import get_session

router = APIRouter(prefix="/api/v1", tags=["api"])
RequestSession = Annotated[Session, Depends(get_session, scope="function")]
MOST = 10_000


@router.get("/trains", dependencies=[needs(Right.TOKEN_READ)])
def list_trains(request: Request, session: RequestSession) -> list[Train]:
    """Trains of the site of this token."""
    return api_trains(session, request.state.site_id)


@router.get("/trains/{train_id}/readings", dependencies=[needs(Right.TOKEN_READ)])
def list_readings(
    train_id: int,
    session: RequestSession,
    since: datetime | None = None,
    limit: Annotated[int, Query(ge=1, le=MOST)] = 1_000,
) -> list[Reading]:
    """Readings of a train in use, oldest first, from a time on."""
    return api_readings(session, train_id, since=since, limit=limit)


@router.get("/trains/{train_id}/daily", dependencies=[needs(Right.TOKEN_READ)])
def list_daily(train_id: int, session: RequestSession) -> list[Daily]:
    """Daily values of a train."""
    return api_daily(session, train_id)


@router.get("/trains/{train_id}/assessment", dependencies=[needs(Right.TOKEN_READ)])
def show_assessment(train_id: int, session: RequestSession) -> dict[str, Any]:
    """The latest assessment of a train, as `skidbook assess --json` writes it, without its series."""
    return api_assessment(session, train_id)


@router.post("/trains/{train_id}/readings", status_code=201, dependencies=[needs(Right.TOKEN_WRITE)])
def create_readings(train_id: int, sent: SentReadings, session: RequestSession) -> Stored:
    """Store readings: all that are new, or none. The same reading again is counted and skipped."""
    return store_sent(session, train_id, sent)
