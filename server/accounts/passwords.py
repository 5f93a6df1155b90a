"""Passwords: what one must be like, and how it is kept.

argon2id with the second recommended option of RFC 9106, section 4: 3 passes over 64 MiB in 4 lanes. Because each hash
takes that memory, at most two are made at a time; whoever waits too long is told to try again.
"""

import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from functools import cache

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError
from argon2.profiles import RFC_9106_LOW_MEMORY

from server.errors import AppError

SHORTEST, LONGEST = 12, 256
AT_ONCE = 2
LONGEST_WAIT_S = 5.0
_COMMON_WORDS = """
password passwort kennwort motdepasse contrasena contraseña senha parola qwerty qwertz azerty qwertyuiop
asdfgh asdfghjkl zxcvbn zxcvbnm 1qaz 2wsx 3edc 1q2w3e4r 1q2w3e4r5t qazwsx qazwsxedc abc123 abcdef abcdefgh
iloveyou letmein welcome hello monkey dragon football baseball basketball soccer hockey sunshine princess
superman batman spiderman pokemon trustno1 master shadow ashley michael jordan jessica daniel charlie thomas
maggie killer ginger pepper cookie summer winter spring autumn january february monday friday london paris
madrid berlin secret admin root user guest test default changeme temp access login pass freedom whatever
mustang starwars computer internet google chocolate correcthorsebatterystaple flower family lovely angel
buster hunter ranger tigger orange banana purple silver golden
"""
COMMON = tuple(_COMMON_WORDS.split())
"""What people choose most, from memory; a list of our own, so that nothing has to be asked outside."""
_OF_THE_HOUSE_WORDS = """
skidbook skid logbook log reverse osmosis reverseosmosis membrane permeate concentrate feed water plant train
site operator engineer manager administrator
"""
OF_THE_HOUSE = tuple(_OF_THE_HOUSE_WORDS.split())
"""Words that anybody around here would try."""
LEAST_OF_ONES_OWN = 6
"""Signs that must be left when common words, runs and figures at the end are taken away."""
RUNS = ("0123456789012345678901234567890", "9876543210987654321098765432109", "abcdefghijklmnopqrstuvwxyz")
STANDING_FOR = str.maketrans({"@": "a", "4": "a", "3": "e", "1": "i", "!": "i", "0": "o", "$": "s", "5": "s", "7": "t"})

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
    own = (email.casefold(), email.casefold().partition("@")[0], name.casefold(), *name.casefold().split())
    if plain.strip() in own:
        return "Do not use your name or address as the password."
    if _left(plain, own) < LEAST_OF_ONES_OWN:
        return "This is among the passwords that are tried first; choose another."
    return ""


def _left(plain: str, own: Sequence[str]) -> int:
    """How many different signs are left of a password without what anybody would try.

    Examples
    --------
    >>> _left("p@ssword12345", ()), _left("seven grey pumps hum", ())
    (0, 11)
    """
    words = sorted((*COMMON, *OF_THE_HOUSE, *(word for word in own if len(word) > 2)), key=len, reverse=True)
    rest = "".join(sign for sign in plain if sign.isalnum() or ord(sign) in STANDING_FOR)
    rest = _without(_without_runs(rest), words).strip("0123456789!")
    rest = _without(rest.translate(STANDING_FOR), words)
    return len({sign for sign in rest if sign.isalnum()})


def _without_runs(text: str) -> str:
    for run in RUNS:
        for length in range(min(len(run), len(text)), 3, -1):
            text = _without(text, [run[start : start + length] for start in range(len(run) - length + 1)])
    return text


def _without(text: str, words: Sequence[str]) -> str:
    for word in words:
        text = text.replace("".join(sign for sign in word if sign.isalnum()), "")
    return text


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
