"""Read and store long files in a process of their own, so that the server stays responsive meanwhile.

What is going on stands in the record of the import: any server process can show it, and after a break it can be
discarded and handed in again. Reading holds no lock; storing is one transaction, as ever.
"""

import json
import subprocess
import sys
import threading
from dataclasses import asdict, dataclass, field
from typing import Any

from sqlalchemy import Engine
from sqlalchemy.orm import Session

from server.db import after_commit, now, transaction
from server.intake.models import ASKED, DISCARDED, PENDING, WORKING, Import
from server.intake.queries import import_or_404

LONG_FILE_BYTES = 3_000_000
"""From here on a file has a process of its own: some 30,000 rows, a few seconds of work."""
LOOK, ANSWER, STORE = "look", "answer", "store"
BACK = {LOOK: DISCARDED, ANSWER: ASKED, STORE: PENDING}
"""What an import is when its work did not succeed."""
BROKEN_OFF = "The work on this file was broken off; nothing was stored. Try again."
_SLOTS = threading.BoundedSemaphore(1)
"""One at a time for each server process: the others wait, and the pages stay quick."""


@dataclass(frozen=True)
class Job:
    """What a process of its own is to do with an import."""

    kind: str
    import_id: int
    author: str
    database_url: str
    mapping: str = ""
    max_rows: int | None = None
    decision: dict[str, Any] = field(default_factory=dict)


def is_long(content_bytes: int) -> bool:
    """Whether a file is so long that nobody should wait for it."""
    return content_bytes >= LONG_FILE_BYTES


def start(engine: Engine, session: Session, kept: Import, job: Job) -> None:
    """Note that work begins, and begin when that is committed."""
    kept.status = WORKING
    kept.job = {"kind": job.kind, "since": now().isoformat(), "step": "waiting"}
    session.flush()
    after_commit(session, lambda: threading.Thread(target=_run, args=(engine, job), daemon=True).start())


def _run(engine: Engine, job: Job) -> None:
    """Wait for a free slot, run the process to its end, and put things back when it did not reach it."""
    command = [sys.executable, "-P", "-m", "server.intake.job"]
    with _SLOTS:
        done = subprocess.run(command, input=json.dumps(asdict(job)).encode(), check=False)
    if done.returncode != 0:
        with transaction(engine) as session:
            put_back(session, job, BROKEN_OFF)


def put_back(session: Session, job: Job, message: str) -> None:
    """Make an import what it was before its work began, and say why."""
    kept = import_or_404(session, job.import_id)
    session.refresh(kept, with_for_update=True)
    if kept.status == WORKING:
        kept.status, kept.job = BACK[job.kind], {"error": message}
