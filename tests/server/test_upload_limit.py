"""A body that is too large is refused by its announced length and, where it announces none, by counting."""

import anyio
import pytest
from fastapi import HTTPException
from starlette.requests import Request
from starlette.types import Message, Receive, Scope, Send

from server.upload_limit import FORM_BYTES, UploadLimit

MOST = 1_000


def run(headers: list[tuple[bytes, bytes]], chunks: list[bytes]) -> tuple[list[Message], list[bytes]]:
    """Send chunks through the limit; return what it answers and what the application got."""
    got: list[bytes] = []
    sent: list[Message] = []
    left = list(chunks)

    async def app(scope: Scope, receive: Receive, send: Send) -> None:
        got.append(await Request(scope, receive).body())

    async def receive() -> Message:
        return {"type": "http.request", "body": left.pop(0), "more_body": bool(left)}

    async def send(message: Message) -> None:
        sent.append(message)

    scope = {"type": "http", "method": "POST", "path": "/", "query_string": b"", "headers": headers}
    anyio.run(UploadLimit(app, MOST), scope, receive, send)
    assert not left, "a browser that is still sending does not see the answer"
    return sent, got


def test_a_body_below_the_limit_passes() -> None:
    assert run([(b"content-length", b"4")], [b"ab", b"cd"]) == ([], [b"abcd"])


def test_an_announced_body_is_read_to_its_end_and_refused_with_a_page() -> None:
    size = MOST + FORM_BYTES + 1
    sent, got = run([(b"content-length", str(size).encode())], [b"x" * MOST, b"x" * (FORM_BYTES + 1)])
    assert got == [] and sent[0]["status"] == 413
    assert b"This file is too large" in sent[1]["body"]


def test_a_body_that_announces_nothing_is_counted() -> None:
    with pytest.raises(HTTPException) as refused:
        run([], [b"x" * (MOST + FORM_BYTES), b"x"])
    assert refused.value.status_code == 413
