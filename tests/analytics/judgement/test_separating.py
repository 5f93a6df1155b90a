"""The cheapest check that tells the first two causes apart; by hand."""

from analytics.judgement.cause import Cause
from analytics.judgement.separating import separating_check


def cause(name: str, check: str, minutes: int | None, probability: float = 0.4) -> Cause:
    return Cause(name, 1, probability, (), check, "", minutes=minutes)


SLIME, SDI, LAB = (
    cause("biofouling", "slime", 15),
    cause("colloidal", "SDI", 20),
    cause("feed-change", "analysis", None),
)
NONE = cause("none", "nothing beyond the usual readings", None)


def test_of_two_checks_the_shorter_one_is_made_whichever_cause_is_likelier() -> None:
    for order in ((SLIME, SDI), (SDI, SLIME)):
        found = separating_check(order)
        assert found is not None
        assert (found.cause, found.other, found.minutes, found.shared) == ("biofouling", "colloidal", 15, False)


def test_a_laboratory_comes_last() -> None:
    found = separating_check((LAB, SDI))
    assert found is not None and found.cause == "colloidal"


def test_where_nothing_may_be_the_matter_the_other_one_is_checked() -> None:
    found = separating_check((NONE, SDI))
    assert found is not None and (found.cause, found.other) == ("colloidal", "none")


def test_one_check_of_both_shows_which_it_is() -> None:
    found = separating_check((cause("seal-leak", "probe", 20), cause("seal-leak", "probe", 20)))
    assert found is not None and found.shared


def test_there_is_none_with_a_single_cause() -> None:
    assert separating_check((SDI,)) is None and separating_check(()) is None and separating_check((NONE, NONE)) is None
