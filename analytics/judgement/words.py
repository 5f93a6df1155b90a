"""How numbers are said: the few phrases that every sentence shares."""

from datetime import date

MINUS = "−"


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


def plain_date(day: date | None) -> str:
    """A date in words.

    Examples
    --------
    >>> plain_date(date(2026, 4, 24))
    '24 April 2026'
    """
    months = (
        "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
        "December",
    )  # fmt: skip
    return "" if day is None else f"{day.day} {months[day.month - 1]} {day.year}"


def scope_name(scope: str) -> str:
    """A scope in words.

    Examples
    --------
    >>> scope_name("stage2"), scope_name("train")
    ('stage 2', 'the train')
    """
    return "the train" if scope == "train" else f"stage {scope.removeprefix('stage')}"
