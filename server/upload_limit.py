"""Refuse what is too large before it is kept anywhere, with a page that says so.

FastAPI's own `max_body_size` answers with two words in plain text and hangs up, which a browser that is still
sending shows as a broken connection.
"""

from fastapi import HTTPException
from starlette.datastructures import Headers
from starlette.requests import Request
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from server.display import file_size
from server.templating import refuse

FORM_BYTES = 1_000_000
"""What a form may weigh beside its file."""
KNOWN_BY = {"cookie", "authorization"}
"""A request that shows neither comes from nobody, who has no file to hand in."""
LONGEST_LENGTH = 19
"""Digits of a length that a machine can count."""
DRAINED_AT_MOST = 4 * 1024**3
"""What is refused is read to its end and dropped, so that a browser gets to see the answer; not without end."""


class UploadLimit:
    """ASGI middleware: a request with more than `most` bytes beside its form is answered with status 413."""

    def __init__(self, app: ASGIApp, most: int) -> None:
        self.app = app
        self.most = most

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        most = FORM_BYTES + (self.most if KNOWN_BY & set(headers) else 0)
        announced = headers.get("content-length", "0")
        size = int(announced) if announced.isascii() and announced.isdigit() and len(announced) < LONGEST_LENGTH else 0
        if size <= most:
            await self.app(scope, self._counting(receive, most), send)
            return
        await _drain(receive)
        response = refuse(Request(scope), status=413, message=self._words(size))
        await response(scope, receive, send)

    def _counting(self, receive: Receive, most: int) -> Receive:
        """Count what comes in: a body may come without saying how long it is."""
        seen = 0

        async def counted() -> Message:
            nonlocal seen
            message = await receive()
            seen += len(message.get("body", b""))
            if seen > most:
                raise HTTPException(413, self._words(seen))
            return message

        return counted

    def _words(self, size: int) -> str:
        return f"{file_size(size)} came in; at most {file_size(self.most)} can be taken at once. Nothing was changed"


async def _drain(receive: Receive) -> None:
    dropped, more = 0, True
    while more and dropped < DRAINED_AT_MOST:
        message = await receive()
        dropped += len(message.get("body", b""))
        more = message["type"] == "http.request" and message.get("more_body", False)
