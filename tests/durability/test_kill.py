"""No reading that was acknowledged is lost when the server is killed. The long form: tests/durability/kill.py."""

import pytest

from tests.durability.kill import run

pytestmark = pytest.mark.xdist_group("kill")


def test_a_killed_server_loses_nothing_that_it_acknowledged(sqlite_url: str) -> None:
    report = run(sqlite_url, 2, seed=7, seconds=300)
    assert report.problems == []
    assert report.acknowledged > 0, report.words()


def test_the_same_on_postgresql(postgresql_url: str) -> None:
    report = run(postgresql_url, 2, seed=8, seconds=300)
    assert report.problems == []
    assert report.acknowledged > 0, report.words()


@pytest.mark.slow
def test_two_hundred_kills_lose_nothing(sqlite_url: str) -> None:
    report = run(sqlite_url, 200, seed=1)
    assert report.problems == []
    assert report.rounds == 200 and report.acknowledged > 1_000, report.words()
