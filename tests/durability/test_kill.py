"""No reading that was acknowledged is lost when the server is killed. The long form: tests/durability/kill.py."""

from collections.abc import Iterator

import pytest

from tests.durability.kill import Nursery, run

pytestmark = pytest.mark.xdist_group("postgresql")  # one of them needs it, and they share a nursery


@pytest.fixture(scope="module")
def nursery() -> Iterator[Nursery]:
    with Nursery() as found:
        yield found


def test_a_killed_server_loses_nothing_that_it_acknowledged(nursery: Nursery, database_url: str) -> None:
    report = run(nursery, database_url, 2, seed=7, seconds=300)
    assert report.problems == []
    assert report.acknowledged > 0, report.words()


@pytest.mark.slow
def test_two_hundred_kills_lose_nothing(nursery: Nursery, sqlite_url: str) -> None:
    report = run(nursery, sqlite_url, 200, seed=1)
    assert report.problems == []
    assert report.rounds == 200 and report.acknowledged > 1_000, report.words()
