"""Passwords: what one must be like, and how it is kept.

argon2id with the second recommended option of RFC 9106, section 4: 3 passes over 64 MiB in 4 lanes. Because each hash takes
that memory, at most two are made at a time; whoever waits too long is told to try again.
"""

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError
from argon2.profiles import RFC_9106_LOW_MEMORY

from server.errors import AppError

SHORTEST, LONGEST = 12, 256
AT_ONCE = 2
LONGEST_WAIT_S = 5.0
COMMON = frozenset(
    [
        "password",
        "password1",
        "password12",
        "password123",
        "password1234",
        "password12345",
        "passwordpassword",
        "password123456",
        "qwertyuiop",
        "qwertyuiop12",
        "qwertyuiop123",
        "qwerty123456",
        "qwertyqwerty",
        "123456789012",
        "1234567890123",
        "12345678901234",
        "123456789123",
        "123123123123",
        "111111111111",
        "000000000000",
        "1q2w3e4r5t6y",
        "1q2w3e4r5t6y7u",
        "1qaz2wsx3edc",
        "qazwsxedcrfv",
        "iloveyou1234",
        "iloveyouiloveyou",
        "letmeinletmein",
        "letmein12345",
        "welcome12345",
        "welcome123456",
        "administrator",
        "administrator1",
        "adminadminadmin",
        "adminadmin12",
        "changeme1234",
        "changemechangeme",
        "abcdefghijkl",
        "abcdefghijklm",
        "abcd12345678",
        "abc123abc123",
        "aaaaaaaaaaaa",
        "asdfghjkl123",
        "zxcvbnm12345",
        "monkeymonkey",
        "dragondragon",
        "footballfootball",
        "baseball1234",
        "football1234",
        "sunshine1234",
        "princess1234",
        "superman1234",
        "trustno1trustno1",
        "correcthorsebatterystaple",
        "skidbookskidbook",
        "skidbook1234",
        "reverseosmosis",
        "reverse-osmosis",
        "reverse",
        "osmosis",
        "membrane1234",
        "waterwaterwater",
        "operator1234",
        "engineer1234",
        "secretsecret",
        "secret123456",
        "passw0rd1234",
        "p@ssw0rd1234",
        "p@ssword1234",
        "summer2024summer",
        "1234567890ab",
        "987654321098",
        "098765432109",
        "q1w2e3r4t5y6",
        "qwerty12345678",
        "qwertyuiopas",
        "google123456",
        "computer1234",
        "internet1234",
    ]
)
"""The commonest choices of at least twelve signs, from memory; a list, so that nothing has to be asked outside."""

_hasher = PasswordHasher.from_parameters(RFC_9106_LOW_MEMORY)
_turns = threading.BoundedSemaphore(AT_ONCE)


class Busy(AppError):
    """Too many people sign in at this moment."""

    status_code = 503


def password_problem(password: str, *, email: str = "", name: str = "") -> str:
    """What is wrong with a new password, in one sentence; empty when nothing is.

    Examples
    --------
    >>> password_problem("short")
    'Use at least 12 characters; a few unrelated words are easy to remember.'
    >>> password_problem("four plain words here")
    ''
    """
    plain = password.casefold()
    if len(password) < SHORTEST:
        return f"Use at least {SHORTEST} characters; a few unrelated words are easy to remember."
    if len(password) > LONGEST:
        return f"Use at most {LONGEST} characters."
    own = {email.casefold(), email.casefold().partition("@")[0], name.casefold()} - {""}
    if plain in own or plain.strip() in own:
        return "Do not use your name or address as the password."
    if plain in COMMON or plain.replace(" ", "") in COMMON or len(set(plain)) < 3:
        return "This is among the passwords that are tried first; choose another."
    return ""


@contextmanager
def _turn() -> Iterator[None]:
    if not _turns.acquire(timeout=LONGEST_WAIT_S):
        raise Busy("Many people sign in at this moment; try again in some seconds.")
    try:
        yield
    finally:
        _turns.release()


def hash_password(password: str) -> str:
    """The argon2id hash of a password, with its salt and parameters."""
    with _turn():
        return _hasher.hash(password.encode("utf-8", "surrogatepass"))


@cache
def _nobody() -> str:
    """A hash that no password answers, so that an unknown account takes as long as a known one."""
    return hash_password("a password that nobody has " * 2)


def prepare() -> None:
    """Make the hash for unknown accounts before the first of them is asked for."""
    _nobody()


def password_fits(password_hash: str, password: str) -> bool:
    """Whether a password is the one of a hash; an empty hash takes the same time and never fits."""
    known = bool(password_hash)
    against = password_hash or _nobody()
    with _turn():
        try:
            fits = _hasher.verify(against, password[: LONGEST + 1].encode("utf-8", "surrogatepass"))
        except (VerificationError, InvalidHashError):
            return False
    return fits and known


def needs_new_hash(password_hash: str) -> bool:
    """Whether a hash was made with other parameters than those of today."""
    return _hasher.check_needs_rehash(password_hash)
