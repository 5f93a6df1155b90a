"""Assess in the background what has changed, so that a machine need not wait for it.

What is due stands in the database (`due`), written in the transaction of the change. A thread of each server process
works it off: found out in a transaction that only reads, kept in a short one that writes. When two processes do the
same, the second one's finding is dropped; when the process is killed, the next one to start finds what is due.
"""

import logging
import threading

from sqlalchemy import Engine

from server.assessments.actions import keep_finding, refresh_assessment, work_out
from server.assessments.due import note_missing_lives, trains_due
from server.db import transaction
from server.watching.logs import log

TRIES = 3
"""Findings that may come too late before the next is made with the store locked against changes."""
LOOK_AGAIN_S = 30.0
"""How often a process looks for what another one has left."""
LAST_WORD_S = 20.0


def refresh_due(engine: Engine, stop: threading.Event | None = None) -> int:
    """Assess every train that is due; returns how many were."""
    with transaction(engine, writes=False) as session:
        waiting = trains_due(session)
    done = 0
    for train_id in waiting:
        if stop is not None and stop.is_set():
            break
        try:
            refresh_train(engine, train_id)
            done += 1
        except Exception as error:
            log(logging.ERROR, "assessment failed", error, train=train_id)
    return done


def refresh_train(engine: Engine, train_id: int) -> None:
    """Assess a train, and keep what was found in a transaction of its own."""
    for _ in range(TRIES):
        with transaction(engine, writes=False) as session:
            found = work_out(session, train_id)
        with transaction(engine) as session:
            if keep_finding(session, found):
                return
    with transaction(engine) as session:
        refresh_assessment(session, train_id)


class Worker:
    """The thread of one process that works off what is due."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine
        self._woken, self._stopped = threading.Event(), threading.Event()
        self._thread: threading.Thread | None = None

    def start(self) -> None:
        """Begin with what an earlier process has left; after a stop, begin again."""
        self._stopped.clear()
        self._thread = threading.Thread(target=self._run, name="assessments", daemon=True)
        self._thread.start()

    def wake(self) -> None:
        """Say that something has become due."""
        self._woken.set()

    def stop(self) -> None:
        """Finish the train at hand, and no other."""
        self._stopped.set()
        self._woken.set()
        if self._thread is not None:
            self._thread.join(LAST_WORD_S)

    def _run(self) -> None:
        self._note_missing_lives()
        while not self._stopped.is_set():
            self._woken.clear()
            try:
                refresh_due(self._engine, self._stopped)
            except Exception as error:
                log(logging.ERROR, "assessments are not brought up to date", error)
            self._woken.wait(LOOK_AGAIN_S)

    def _note_missing_lives(self) -> None:
        try:
            with transaction(self._engine) as session:
                note_missing_lives(session)
        except Exception as error:
            log(logging.ERROR, "lives of elements are not looked for", error)
