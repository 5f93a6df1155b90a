"""How often somebody may try: buckets that fill again with time, kept in this process.

Each server process counts for itself, and forgets when it stops: enough against guessing, since a password is at least
twelve characters and a token 256 bits.
"""

import ipaddress
import math
import threading
import time
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass, field

from starlette.requests import Request

from server.errors import AppError

MOST_KEYS = 10_000


class TooOften(AppError):
    """Asked too often; `wait` says when to ask again. [s]"""

    status_code = 429

    def __init__(self, wait: float) -> None:
        self.wait = math.ceil(wait)
        super().__init__(f"This was tried too often. Try again in {self.wait} s.")


class Buckets:
    """One bucket for each key: `burst` at once, then `per_minute`. The longest unused go when there are too many."""

    def __init__(self, burst: int, per_minute: float, clock: Callable[[], float] = time.monotonic) -> None:
        self.burst, self.per_second, self.clock = burst, per_minute / 60, clock
        self._held: OrderedDict[str, tuple[float, float]] = OrderedDict()
        self._lock = threading.Lock()

    def take(self, key: str) -> None:
        """Take one from the bucket of a key; raises `TooOften` when it is empty."""
        with self._lock:
            moment = self.clock()
            left, since = self._held.pop(key, (float(self.burst), moment))
            left = min(self.burst, left + (moment - since) * self.per_second)
            short = left < 1
            self._held[key] = (left if short else left - 1, moment)
            if len(self._held) > MOST_KEYS:
                self._held.popitem(last=False)
        if short:
            raise TooOften((1 - left) / self.per_second)

    def give_back(self, key: str) -> None:
        """Fill the bucket of a key again: it was somebody who may."""
        with self._lock:
            self._held.pop(key, None)


@dataclass(frozen=True)
class RateLimits:
    """The buckets of one server process. Figures: common practice, no source."""

    account: Buckets = field(default_factory=lambda: Buckets(10, 2))
    address: Buckets = field(default_factory=lambda: Buckets(30, 10))
    token: Buckets = field(default_factory=lambda: Buckets(120, 120))
    unknown_token: Buckets = field(default_factory=lambda: Buckets(30, 10))


def address_of(request: Request) -> str:
    """Where a request comes from; of IPv6 the network of a house, which gives out its addresses freely."""
    host = request.client.host if request.client else ""
    try:
        found = ipaddress.ip_address(host.partition("%")[0])
    except ValueError:
        return host
    if found.version == 6:
        return str(ipaddress.ip_network((found, 64), strict=False))
    return str(found)
