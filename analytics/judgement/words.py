"""How numbers are said: the few phrases that every sentence shares."""

from collections.abc import Sequence
from datetime import date

MINUS = "−"
MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
    "December",
)  # fmt: skip


def amount(ratio: float | None) -> str:
    """A ratio as it is shown: two decimals.

    Examples
    --------
    >>> amount(0.9)
    '0.90'
    """
    return "" if ratio is None else f"{ratio:.2f}".replace("-", MINUS)


def percent_change(ratio: float) -> str:
    """Distance of a ratio from one, in words.

    Examples
    --------
    >>> percent_change(0.92), percent_change(1.128), percent_change(1.0004)
    ('down 8.0 %', 'up 12.8 %', 'unchanged')
    """
    percent = round(100 * (ratio - 1), 1)
    if percent == 0:
        return "unchanged"
    return f"{'up' if percent > 0 else 'down'} {abs(percent):.1f} %"


def either(names: Sequence[str]) -> str:
    """One of some.

    Examples
    --------
    >>> either(["feed flow"]), either(["feed flow", "permeate flow", "concentrate flow"])
    ('feed flow', 'feed flow, permeate flow or concentrate flow')
    """
    return " or ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)


def all_of(names: Sequence[str]) -> str:
    """Each of some.

    Examples
    --------
    >>> all_of(["feed flow"]), all_of(["feed flow", "permeate flow", "concentrate flow"])
    ('feed flow', 'feed flow, permeate flow and concentrate flow')
    """
    return " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)


def plain_date(day: date | None) -> str:
    """A date in words.

    Examples
    --------
    >>> plain_date(date(2026, 4, 24))
    '24 April 2026'
    """
    return "" if day is None else f"{day.day} {MONTHS[day.month - 1]} {day.year}"


def day_and_month(day: date, beside: date) -> str:
    """A date named beside another one: its year is left out where it is the same.

    Examples
    --------
    >>> day_and_month(date(2026, 4, 24), date(2026, 6, 20)), day_and_month(date(2026, 12, 1), date(2027, 1, 9))
    ('24 April', '1 December 2026')
    """
    return f"{day.day} {MONTHS[day.month - 1]}" if day.year == beside.year else plain_date(day)


def not_foreseen(days_needed: int | None) -> str:
    """That there is no date, and how many more days with readings one needs.

    Examples
    --------
    >>> not_foreseen(None), not_foreseen(1), not_foreseen(9)
    ('not foreseeable', 'needs 1 more day', 'needs 9 more days')
    """
    if days_needed is None:
        return "not foreseeable"
    return f"needs {days_needed} more {'day' if days_needed == 1 else 'days'}"


def scope_name(scope: str) -> str:
    """A scope in words.

    Examples
    --------
    >>> scope_name("stage2"), scope_name("train")
    ('stage 2', 'the train')
    """
    return "the train" if scope == "train" else f"stage {scope.removeprefix('stage')}"
