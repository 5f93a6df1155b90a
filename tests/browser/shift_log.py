"""A small logbook for the shift log, and servers for a browser: one that can sign people out, and one of its own
process that dies between its commit and its answer.

    python -m tests.browser.shift_log URL PORT SECRET [die]
"""

import contextlib
import os
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass

import uvicorn
from fastapi import FastAPI
from sqlalchemy import func, select
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from server.app import create_app
from server.db import make_engine, transaction
from server.readings.models import Reading
from server.settings import Settings
from tests.people import SignedIn


def count_readings(url: str) -> int:
    engine = make_engine(url)
    with transaction(engine, writes=False) as session:
        count = session.scalar(select(func.count()).select_from(Reading)) or 0
    engine.dispose()
    return count


@dataclass
class Door:
    """An application to which everybody comes signed in, until `shut`."""

    app: FastAPI
    secret: str
    shut: bool = False

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        await (self.app if self.shut else SignedIn(self.app, self.secret))(scope, receive, send)


class DiesBeforeAnswering:
    """Kills its own process when the answer to an entry is about to be sent, which is after its commit."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        async def last(message: Message) -> None:
            if scope["method"] == "POST" and scope["path"].endswith("/shift"):
                os.kill(os.getpid(), signal.SIGKILL)
            await send(message)

        await self.app(scope, receive, last if scope["type"] == "http" else send)


@contextlib.contextmanager
def serve(app: ASGIApp, port: int = 0) -> Iterator[str]:
    """Serve an application from a thread; gives its address."""
    server = uvicorn.Server(uvicorn.Config(app, port=port, log_level="error", ws="none", lifespan="on"))
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.02)
    yield f"http://127.0.0.1:{server.servers[0].sockets[0].getsockname()[1]}"
    server.should_exit = True
    thread.join()


def free_port() -> int:
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        return int(found.getsockname()[1])


def start_process(url: str, port: int, secret: str, *extra: str) -> subprocess.Popen[bytes]:
    """A server in a process of its own, once it listens."""
    command = [sys.executable, "-m", "tests.browser.shift_log", url, str(port), secret, *extra]
    process = subprocess.Popen(command)
    while process.poll() is None:
        with socket.socket() as probe:
            if probe.connect_ex(("127.0.0.1", port)) == 0:
                return process
        time.sleep(0.05)
    raise RuntimeError("the server ended before it listened")


def main() -> None:
    url, port, secret, *extra = sys.argv[1:]
    app: ASGIApp = SignedIn(create_app(Settings(database_url=url)), secret)
    app = DiesBeforeAnswering(app) if extra else app
    uvicorn.run(app, port=int(port), log_level="error", ws="none", lifespan="on")


if __name__ == "__main__":
    main()
