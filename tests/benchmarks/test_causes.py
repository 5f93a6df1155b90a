"""The causes on simulated plants whose closures, sizes and courses are drawn at random."""

import pytest

from tests.benchmarks.score_causes import answers


def test_the_true_cause_is_named_first_or_second() -> None:
    """Every second plant of a round, so that every cause is in it. Of 17 plants at 92 %, one draw in forty falls below
    76 %."""
    table = answers(rounds=1, every=2)
    assert table["first"].mean() >= 0.65
    assert table["first two"].mean() >= 0.76
    healthy = table[table["truth"] == "none"]
    assert healthy["first"].mean() >= 0.8
    assert not healthy["level"].isin(["plan cleaning", "act now"]).any()


@pytest.mark.slow
def test_the_confusion_matrix_over_two_hundred_plants() -> None:
    table = answers(rounds=7)
    assert len(table) >= 200
    assert table["first"].mean() >= 0.78
    assert table["first two"].mean() >= 0.90
    healthy = table[table["truth"] == "none"]
    assert healthy["first"].mean() >= 0.95
