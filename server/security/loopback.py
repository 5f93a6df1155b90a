"""Whether a request truly comes from this machine, and not through a proxy that stands on it."""

import ipaddress

from starlette.requests import Request

from server.security.hosts import LOOPBACK_NAMES, host_name

PROXY_SIGNS = ("forwarded", "x-forwarded-for", "x-forwarded-host", "x-real-ip", "via")


def from_this_machine(request: Request) -> bool:
    """A loopback client that asked for a loopback name, with nothing of a proxy in between."""
    try:
        near = ipaddress.ip_address(request.client.host if request.client else "").is_loopback
    except ValueError:
        return False
    named = host_name(request.headers.get("host", "")) in LOOPBACK_NAMES
    return near and named and not any(sign in request.headers for sign in PROXY_SIGNS)
