"""The causes on simulated plants whose closures, sizes and courses are drawn at random."""

import pytest

from tests.benchmarks.score_causes import answers


def test_the_true_cause_is_named_first_or_second() -> None:
    """Two plants of every cause, for the sake of time: 22 of the 33 of a round. 80 % and 92 % are wanted; one plant of
    22 that falls the other way moves a share by 5 %."""
    table = answers(rounds=1, two_meterings=True)
    assert len(table) == 22
    assert table["first"].mean() >= 0.72
    assert table["first two"].mean() >= 0.88
    healthy = table[table["truth"] == "none"]
    assert healthy["first"].mean() >= 0.95
    assert not healthy["level"].isin(["plan cleaning", "act now"]).any()


@pytest.mark.slow
def test_the_confusion_matrix_over_two_hundred_plants() -> None:
    table = answers(rounds=7)
    assert len(table) >= 200
    assert table["first"].mean() >= 0.78
    assert table["first two"].mean() >= 0.90
    healthy = table[table["truth"] == "none"]
    assert healthy["first"].mean() >= 0.95
