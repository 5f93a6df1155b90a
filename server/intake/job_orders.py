"""Put together what a process of its own is to do, from the request that asks for it."""

from typing import Any

from fastapi import Request
from sqlalchemy.orm import Session

from server.audit.author import writer
from server.intake.jobs import Job


def new_job(request: Request, session: Session, kind: str, import_id: int, **more: Any) -> Job:
    """A job in the name of whoever makes a request, for the database of its server."""
    settings, engine = request.app.state.settings, request.app.state.engine
    url = engine.url.render_as_string(hide_password=False)
    return Job(kind, import_id, writer(session), url, max_rows=settings.max_upload_rows, **more)
