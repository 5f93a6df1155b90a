"""What machines can ask and send, with a token of one site (docs/api.md)."""

from datetime import datetime
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Header, Query, Request
from fastapi.openapi.utils import get_openapi
from sqlalchemy.orm import Session

from server.accounts.needs import needs
from server.accounts.roles import Right
from server.api.examples import samples
from server.api.forms import SentReadings
from server.api.queries import (
    DailyValues,
    Readings,
    Train,
    Verdicts,
    api_assessment,
    api_assessments,
    api_daily,
    api_readings,
    api_trains,
)
from server.api.store import Refused, Stored, store_sent
from server.db import get_session

REFUSALS: dict[int | str, dict[str, Any]] = {
    401: {"model": Refused, "description": "There is no token, or it is wrong, or was revoked."},
    403: {"model": Refused, "description": "The token is not for that."},
    404: {"model": Refused, "description": "The site of the token has no such train."},
    422: {"model": Refused, "description": "What was asked cannot be understood."},
    429: {"model": Refused, "description": "Too often: wait for as many seconds as Retry-After says."},
}
router = APIRouter(prefix="/api/v1", tags=["api"], responses=REFUSALS)
RequestSession = Annotated[Session, Depends(get_session, scope="function")]
MOST = 10_000
Limit = Annotated[int, Query(ge=1, le=MOST, description="How many a page holds at the most.")]
Cursor = Annotated[str, Query(max_length=64, description="The `next` of the page before.")]
Key = Annotated[str, Header(max_length=200, description="Any text of your own, another one for each batch.")]


@router.get("/openapi.json", dependencies=[needs(Right.PUBLIC)], include_in_schema=False)
def show_description() -> dict[str, Any]:
    """This interface, described as OpenAPI."""
    description = get_openapi(title="Skidbook", version="1", routes=router.routes)
    token = {"type": "http", "scheme": "bearer", "description": "A token of one site, made under People."}
    description["components"]["securitySchemes"] = {"token": token}
    return description | {"security": [{"token": []}]}


@router.get("/trains", dependencies=[needs(Right.TOKEN_READ)], openapi_extra=samples("trains"))
def list_trains(request: Request, session: RequestSession) -> list[Train]:
    """Trains of the site of this token."""
    return api_trains(session, request.state.site_id)


@router.get("/trains/{train_id}/readings", dependencies=[needs(Right.TOKEN_READ)], openapi_extra=samples("readings"))
def list_readings(
    train_id: int,
    session: RequestSession,
    since: datetime | None = None,
    until: datetime | None = None,
    limit: Limit = 1_000,
    cursor: Cursor = "",
) -> Readings:
    """Readings of a train in use, oldest first, both ends included."""
    return api_readings(session, train_id, since=since, until=until, limit=limit, cursor=cursor)


@router.get("/trains/{train_id}/daily", dependencies=[needs(Right.TOKEN_READ)], openapi_extra=samples("daily"))
def list_daily(train_id: int, session: RequestSession, limit: Limit = 1_000, cursor: Cursor = "") -> DailyValues:
    """Daily values of a train, oldest first."""
    return api_daily(session, train_id, limit=limit, cursor=cursor)


@router.get(
    "/trains/{train_id}/assessment", dependencies=[needs(Right.TOKEN_READ)], openapi_extra=samples("assessment")
)
def show_assessment(train_id: int, session: RequestSession) -> dict[str, Any]:
    """The latest assessment of a train, as `skidbook assess --json` writes it, without its series; `being_worked_out`
    says whether readings have come since."""
    return api_assessment(session, train_id)


@router.get(
    "/trains/{train_id}/assessments", dependencies=[needs(Right.TOKEN_READ)], openapi_extra=samples("assessments")
)
def list_assessments(train_id: int, session: RequestSession, limit: Limit = 100, cursor: Cursor = "") -> Verdicts:
    """Verdicts of a train that differed from the one before, newest first."""
    return api_assessments(session, train_id, limit=limit, cursor=cursor)


@router.post(
    "/trains/{train_id}/readings",
    status_code=201,
    dependencies=[needs(Right.TOKEN_WRITE)],
    responses={
        409: {"model": Refused, "description": "The Idempotency-Key came with other readings before."},
        413: {"model": Refused, "description": "The body is too large."},
        415: {"model": Refused, "description": "The body is compressed."},
        422: {"model": Refused, "description": "Nothing was stored."},
    },
    openapi_extra=samples("send"),
)
def create_readings(
    train_id: int,
    sent: SentReadings,
    request: Request,
    session: RequestSession,
    partial: bool = False,
    idempotency_key: Key = "",
) -> Stored:
    """Store up to 10,000 readings: all that are new or none, or with `partial` those that can be used. The same reading
    again is counted and skipped; one that says something else is not stored, but told."""
    return store_sent(request, session, train_id, sent, partial=partial or sent.partial, key=idempotency_key.strip())
