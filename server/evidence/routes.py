"""The evidence file of a train."""

from collections.abc import Iterator
from typing import IO

from fastapi import APIRouter, Response
from fastapi.responses import StreamingResponse

from server.accounts.needs import RequestSession, needs
from server.accounts.roles import Right
from server.db import now
from server.evidence.archive import write_evidence
from server.plants.queries import train_or_404
from server.security.file_names import attachment

router = APIRouter()
PIECE = 64 * 1024


def _pieces(file: IO[bytes]) -> Iterator[bytes]:
    with file:
        while piece := file.read(PIECE):
            yield piece


@router.get("/trains/{train_id}/evidence.zip", dependencies=[needs(Right.SEE)])
def evidence(train_id: int, session: RequestSession) -> Response:
    train = train_or_404(session, train_id)
    file = write_evidence(session, train, now())
    headers = {"Content-Disposition": attachment(f"{train.site.name} {train.name} evidence.zip")}
    return StreamingResponse(_pieces(file), media_type="application/zip", headers=headers)
