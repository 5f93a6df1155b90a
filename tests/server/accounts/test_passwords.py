"""Passwords: which are taken, how they are kept, and that few are hashed at a time."""

import threading
import time

import pytest
from argon2 import extract_parameters
from argon2.low_level import Type

from server.accounts import passwords
from server.accounts.passwords import (
    AT_ONCE,
    COMMON,
    LONGEST,
    OF_THE_HOUSE,
    SHORTEST,
    Busy,
    hash_password,
    needs_new_hash,
    password_fits,
    password_problem,
)


@pytest.mark.parametrize(
    "password",
    ["four plain words here", "ÄÖÜ äöü ß 漢字", "Xk3!fQ92nLw7" * 21, "Tr0ub4dor&3xyz", "  p r e s s  h a l t  "],
)
def test_long_passwords_of_any_signs_are_taken(password: str) -> None:
    assert password_problem(password, email="ana@example.org", name="Ana") == ""


@pytest.mark.parametrize(
    ("password", "said"),
    [
        ("", "at least 12"),
        ("elevensigns", "at least 12"),
        ("ab" * 128 + "c", "at most 256"),
        ("ana.long@example.org", "name or address"),
        ("ANA.LONG@example.org", "name or address"),
        ("Ana Longfellow", "name or address"),
        ("Password1234", "tried first"),
        ("aaaaaaaaaaaaaaaa", "tried first"),
        ("abcabcabcabc", "tried first"),
        ("p@$$w0rd2026!", "tried first"),
        ("Summer2026!Summer2026!", "tried first"),
        ("correct horse battery staple", "tried first"),
        ("skidbook-operator-1", "tried first"),
        ("Reverse Osmosis 2026", "tried first"),
        ("Longfellow123456", "tried first"),
        ("123456789012", "tried first"),
    ],
)
def test_short_own_and_common_passwords_are_refused_with_the_reason(password: str, said: str) -> None:
    assert said in password_problem(password, email="ana.long@example.org", name="Ana Longfellow")


def test_thousands_of_common_passwords_are_refused() -> None:
    """ASVS 5.0, V6.2.4 asks for 3000: what people make of common words to reach a length."""
    tails = ("1234567", "2026!2026!", "1111111", "12345678!", "_password", "123abc123", "!!!!!!!!!", "00000000")
    made = {f"{word}{tail}" for word in (*COMMON, *OF_THE_HOUSE) for tail in tails} | {word * 4 for word in COMMON}
    made |= {word.capitalize().replace("a", "@").replace("o", "0") + tail for word in COMMON for tail in tails}
    long_enough = {word for word in made if len(word) >= SHORTEST}
    assert len(long_enough) > 1_500
    assert {word for word in long_enough if not password_problem(word)} == set()
    assert LONGEST >= 64


def test_a_hash_is_argon2id_with_the_parameters_of_rfc_9106() -> None:
    """RFC 9106, section 4, second recommended option: t=3, p=4, m=64 MiB, 128-bit salt, 256-bit tag."""
    kept = hash_password("seven grey pumps hum")
    found = extract_parameters(kept)
    assert (found.type, found.time_cost, found.parallelism, found.memory_cost) == (Type.ID, 3, 4, 64 * 1024)
    assert (found.salt_len, found.hash_len) == (16, 32)
    assert kept != hash_password("seven grey pumps hum")
    assert password_fits(kept, "seven grey pumps hum") and not password_fits(kept, "seven grey pumps hum ")
    assert not needs_new_hash(kept)
    assert needs_new_hash("$argon2id$v=19$m=8,t=1,p=1$c29tZXNhbHQ$SqlVijFGiPG+935vDSGEsA")


@pytest.mark.alone
def test_an_account_that_is_not_there_takes_as_long_as_a_wrong_password() -> None:
    kept = hash_password("seven grey pumps hum")
    password_fits("", "warm up")

    def best(password_hash: str) -> float:
        times = []
        for _ in range(4):
            start = time.perf_counter()
            assert not password_fits(password_hash, "not this one")
            times.append(time.perf_counter() - start)
        return min(times)

    known, unknown = best(kept), best("")
    assert 0.5 < unknown / known < 2


def test_a_hash_that_cannot_be_read_fits_nothing() -> None:
    assert not password_fits("no hash at all", "no hash at all")


def test_few_hashes_are_made_at_a_time_and_who_waits_too_long_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(passwords, "LONGEST_WAIT_S", 0.05)
    hold, at_work = threading.Event(), threading.Semaphore(0)

    def occupy() -> None:
        with passwords._turn():
            at_work.release()
            hold.wait(10)

    threads = [threading.Thread(target=occupy) for _ in range(AT_ONCE)]
    for thread in threads:
        thread.start()
        assert at_work.acquire(timeout=10)
    try:
        with pytest.raises(Busy, match="try again"):
            hash_password("seven grey pumps hum")
    finally:
        hold.set()
        for thread in threads:
            thread.join()
    assert AT_ONCE == 2
    assert hash_password("seven grey pumps hum")
