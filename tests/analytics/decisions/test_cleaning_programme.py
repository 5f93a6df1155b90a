"""What a row of cleanings says: frequency, shrinking intervals, and no third of the same kind."""

from datetime import date, timedelta

import pytest

from analytics.decisions.cleaning_programme import PastCleaning, intervals, judge_programme

START = date(2025, 1, 1)


def row(*given: tuple[int, float | None]) -> list[PastCleaning]:
    """Cleanings by day number and efficiency."""
    return [
        PastCleaning(START + timedelta(days=n), 1, "worked" if share and share > 0.8 else "failed", share)
        for n, share in given
    ]


@pytest.mark.parametrize(
    ("given", "state"),
    [
        (row(), "none yet"),
        (row((0, 0.9)), "in order"),
        (row((0, 0.9), (180, 0.85)), "in order"),  # once in 3 to 12 months is normal: a published article
        (row((0, 0.9), (60, 0.9)), "improve"),  # every 1 to 3 months
        (row((0, 0.9), (20, 0.9)), "capital"),  # more than once a month
        (row((0, 0.9), (180, 0.35)), "improve"),
        (row((0, 0.4), (180, 0.3)), "root cause"),  # two poor ones: from memory
        (row((0, 0.9), (200, 0.9), (330, 0.9)), "root cause"),  # 130 days after 200: shrunk by 35 %
        (row((0, 0.9), (200, 0.9), (345, 0.9)), "in order"),  # 145 days: shrunk by 27 %
    ],
)
def test_the_state_follows_from_frequency_and_success(given: list[PastCleaning], state: str) -> None:
    assert judge_programme(given).state == state


def test_after_two_poor_ones_the_cause_comes_first() -> None:
    found = judge_programme(row((0, 0.9), (150, 0.4), (300, None), (310, 0.2)))
    assert "do not clean a third time" in found.headline and "autopsy" in found.reasons[0]


def test_a_poor_one_explains_that_the_next_is_due_early() -> None:
    found = judge_programme(row((0, 0.9), (180, 0.35)), next_due=START + timedelta(days=234))
    assert any("54 days" in reason for reason in found.reasons)


def test_intervals_are_those_of_the_same_stage() -> None:
    given = [PastCleaning(START, 1, "worked", 0.9), PastCleaning(START + timedelta(days=10), 2, "worked", 0.9),
             PastCleaning(START + timedelta(days=100), None, "worked", 0.9)]  # fmt: skip
    assert intervals(given) == (90,)
