"""Answer only to the names of this server: a foreign name in a request may be a page elsewhere that was led here."""

import ipaddress
from collections.abc import Iterable

from starlette.datastructures import Headers
from starlette.requests import Request
from starlette.types import ASGIApp, Receive, Scope, Send

from server.templating import refuse

LOOPBACK_NAMES = frozenset({"localhost", "127.0.0.1", "::1"})


def host_name(host: str) -> str:
    """The name in a Host header, without its port.

    Examples
    --------
    >>> host_name("Skid.example:8420"), host_name("[::1]:80"), host_name("10.0.0.7")
    ('skid.example', '::1', '10.0.0.7')
    """
    text = host.strip().casefold()
    if text.startswith("["):
        return text[1:].partition("]")[0]
    return text.partition(":")[0]


def is_address(name: str) -> bool:
    """Whether a name is a number of the network. No page elsewhere can take such a one over, unlike a name."""
    try:
        ipaddress.ip_address(name)
    except ValueError:
        return False
    return True


class HostLayer:
    """ASGI middleware: 421 for a request whose Host is none of the names of this server."""

    def __init__(self, app: ASGIApp, allowed: Iterable[str]) -> None:
        self.app = app
        self.allowed = LOOPBACK_NAMES | {host_name(name) for name in allowed}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http" or self._known(host_name(Headers(scope=scope).get("host", ""))):
            await self.app(scope, receive, send)
            return
        words = "This server does not go by that name; its administrator can add it to SKIDBOOK_ALLOWED_HOSTS"
        await refuse(Request(scope), status=421, message=words)(scope, receive, send)

    def _known(self, name: str) -> bool:
        return name in self.allowed or is_address(name)
