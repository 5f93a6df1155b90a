"""Secrets of 256 random bits, and what is kept of them.

A random secret of this length cannot be guessed, so that a plain SHA-256 of it needs no salt and no slow hash; those
are for passwords, which people choose.
"""

import hashlib
import secrets

SECRET_BYTES = 32
TOKEN_PREFIX = "skb_"
"""Makes a token that slipped into a file or a log easy to find."""


def new_secret() -> str:
    """A fresh secret, in letters that an address may hold."""
    return secrets.token_urlsafe(SECRET_BYTES)


def digest(secret: str) -> str:
    """What is kept of a secret.

    Examples
    --------
    >>> len(digest("any secret"))
    64
    """
    return hashlib.sha256(secret.encode("utf-8", "surrogatepass")).hexdigest()
