"""Buckets: so many at once, then by the minute; apart for each key; never without end."""

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from server.security.rate_limits import MOST_KEYS, Buckets, TooOften, address_of
from tests.server.security.conftest import Logbook, as_role


class Clock:
    now = 0.0

    def __call__(self) -> float:
        return self.now


def taken(buckets: Buckets, key: str, tries: int) -> int:
    """How many of some tries pass."""
    passed = 0
    for _ in range(tries):
        try:
            buckets.take(key)
        except TooOften:
            continue
        passed += 1
    return passed


def test_a_bucket_empties_and_fills_again_with_time() -> None:
    clock = Clock()
    buckets = Buckets(3, per_minute=6, clock=clock)
    assert taken(buckets, "a", 5) == 3
    with pytest.raises(TooOften) as error:
        buckets.take("a")
    assert error.value.wait == 10 and "in 10 s" in error.value.message
    clock.now = 10.0
    assert taken(buckets, "a", 5) == 1
    clock.now = 10_000.0
    assert taken(buckets, "a", 9) == 3, "never more than at the beginning"
    assert taken(buckets, "b", 9) == 3, "each key has its own"
    buckets.give_back("a")
    assert taken(buckets, "a", 9) == 3


def test_trying_while_it_is_empty_does_not_put_it_off() -> None:
    clock = Clock()
    buckets = Buckets(1, per_minute=60, clock=clock)
    assert taken(buckets, "a", 1) == 1
    for step in range(1, 10):
        clock.now = step / 10
        assert taken(buckets, "a", 1) == 0
    clock.now = 1.0
    assert taken(buckets, "a", 1) == 1


def test_many_keys_take_no_more_than_so_much_room() -> None:
    buckets = Buckets(1, per_minute=1)
    for number in range(MOST_KEYS + 50):
        buckets.take(str(number))
    assert len(buckets._held) == MOST_KEYS


class _Request:
    def __init__(self, host: str) -> None:
        self.client = type("Client", (), {"host": host})


@pytest.mark.parametrize(
    ("host", "key"),
    [
        ("203.0.113.9", "203.0.113.9"), ("2001:db8:1:2:3:4:5:6", "2001:db8:1:2::/64"), ("fe80::1%eth0", "fe80::/64"),
        ("testclient", "testclient"), ("", ""),
    ],
)  # fmt: skip
def test_an_address_is_that_of_a_house(host: str, key: str) -> None:
    assert address_of(_Request(host)) == key  # type: ignore[arg-type]


def test_a_machine_that_asks_too_often_has_to_wait(app: FastAPI, anybody: TestClient, logbook: Logbook) -> None:
    app.state.limits.token.burst = 3
    headers = as_role(app, "reading", logbook)
    statuses = [anybody.get("/api/v1/trains", headers=headers).status_code for _ in range(4)]
    assert statuses == [200, 200, 200, 429]
    given = anybody.get("/api/v1/trains", headers=headers)
    assert int(given.headers["retry-after"]) >= 1 and "too often" in given.json()["error"]


def test_who_guesses_tokens_has_to_wait(app: FastAPI, anybody: TestClient) -> None:
    headers = {"authorization": "Bearer skb_guess"}
    statuses = [anybody.get("/api/v1/trains", headers=headers).status_code for _ in range(31)]
    assert statuses == [401] * 30 + [429]
