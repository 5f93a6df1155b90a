"""Which check tells the two likeliest causes apart for the least work."""

from collections.abc import Sequence
from dataclasses import dataclass

from analytics.judgement.cause import Cause


@dataclass(frozen=True)
class SeparatingCheck:
    """The check that is made first: whose it is, which cause it is to be told from, and how long it takes.

    `minutes` is None where a laboratory has to answer. `shared` where the same check belongs to both. [min]
    """

    cause: str
    other: str
    check: str
    minutes: int | None
    shared: bool


def separating_check(causes: Sequence[Cause]) -> SeparatingCheck | None:
    """Of the checks of the two likeliest causes, the one that takes less time.

    Parameters
    ----------
    causes : sequence of Cause
        Most likely first.

    Returns
    -------
    SeparatingCheck or None
        None with fewer than two causes, and where neither has a check beyond the usual readings.

    Notes
    -----
    A check speaks for its own cause or against it, and what one of two loses the other gains: so the cheaper of their
    two checks separates them, unless both have the same one, which then shows which of the two it is.
    """
    first_two = causes[:2]
    checked = [cause for cause in first_two if cause.cause != "none"]
    if len(first_two) < 2 or not checked:
        return None
    best = min(checked, key=lambda cause: float("inf") if cause.minutes is None else cause.minutes)
    other = first_two[1] if best is first_two[0] else first_two[0]
    return SeparatingCheck(best.cause, other.cause, best.next_check, best.minutes, best.next_check == other.next_check)
