"""What every answer tells the browser: where things may come from, and what it must not do.

`HeaderLayer` adds to each answer what it does not say itself; a page with charts says a policy of its own
(docs/decisions/0011-styles-of-charts.md).
"""

from starlette.datastructures import MutableHeaders
from starlette.requests import Request
from starlette.responses import Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from server.security.cookies import VISIT, behind_tls, keep


def _policy(styles: str) -> str:
    return (
        f"default-src 'none'; script-src 'self'; {styles}; img-src 'self' data:; connect-src 'self'; font-src 'self'; "
        "manifest-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'; object-src 'none'"
    )


POLICY = _policy("style-src 'self'")
CHART_STYLES = (
    "'sha256-47DEQpj8HBSa+/TImW+5JCeuQeRkm5NMpJWZG3hSuFU='",
    "'sha256-ji27qzEtxXZW+7dun6UwjHXJ18e6WAin1VvNtkzIE/o='",
)
"""The two style elements that the charting script makes: an empty one, which it fills itself, and one of its own.
Another version of it may need another second one; the browser tests tell, and the browser's console names it."""
POLICY_WITH_CHARTS = _policy(f"style-src-elem 'self' {' '.join(CHART_STYLES)}; style-src-attr 'unsafe-inline'")
ALWAYS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "same-origin",
    "Permissions-Policy": "camera=(), microphone=(), geolocation=(), payment=(), usb=(), serial=()",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
}
NOT_KEPT = {"Cache-Control": "no-store"}
"""Pages hold what only one person may see; nobody keeps them, this browser neither."""
STRICT_TRANSPORT = "max-age=31536000; includeSubDomains"


class HeaderLayer:
    """ASGI middleware: the headers above on every answer, and the cookie of a browser that is not signed in."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        state = scope.setdefault("state", {})

        async def sent(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in ALWAYS.items():
                    headers.setdefault(name, value)
                request = Request(scope)
                if behind_tls(request):
                    headers.setdefault("Strict-Transport-Security", STRICT_TRANSPORT)
                if visit := state.get("new_visit"):
                    carrier = Response()
                    keep(request, carrier, VISIT, visit)
                    headers.append("set-cookie", carrier.headers["set-cookie"])
            await send(message)

        await self.app(scope, receive, sent)
