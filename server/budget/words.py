"""How the budget speaks: money, dates of a distribution, limits and causes in plain words."""

from collections.abc import Sequence
from datetime import date
from decimal import Decimal

from analytics.decisions.life_table import MOST_YEARS, LifeTable
from server.budget.periods import Periods
from server.display import DASH, MINUS, MONTHS, THIN, counted, number

LIMIT_WORDS = {
    "product salt": "the product becomes too salty",
    "pump": "the pump can no longer make the flow",
    "permeability": "flow is lost that no cleaning gives back",
    "exposure": "the elements have had all the chlorine they bear",
}
LIMIT_NAMES = {
    "product salt": "Product quality",
    "pump": "Pressure of the pump",
    "permeability": "Flow that no cleaning gives back",
    "exposure": "Chlorine that they bear",
}
COMPONENT_NAMES = {
    "elements": "Elements", "labour": "Labour", "seals": "Seals", "freight": "Freight", "tax": "Tax",
    "disposal": "Disposal", "lost production": "Lost production", "accident reserve": "Reserve for accidents",
    "cleaning": "Cleaning", "energy": "Energy",
}  # fmt: skip
NOW_YEARS = 0.08
"""Due within a month is due now. [a]"""
NOTHING = "nothing"
"""Where nine futures in ten and more cost nothing."""
FAR_YEARS = 15.0
"""Nobody plans a month so far ahead: later dates are given as years or not at all. [a]"""


def money(amount: Decimal, currency: str = "") -> str:
    """Whole money with thin spaces: USD 23 400.

    Examples
    --------
    >>> money(Decimal(23400), "USD") == "USD\u202f23\u202f400"
    True
    """
    text = f"{abs(amount):,.0f}".replace(",", THIN)
    signed = f"{MINUS}{text}" if amount < 0 else text
    return f"{currency}{THIN}{signed}" if currency else signed


def about(amount: Decimal, currency: str) -> str:
    """Money as a sentence says it: two significant figures, three above a million.

    Examples
    --------
    >>> about(Decimal(23412), "EUR") == "EUR\u202f23\u202f000"
    True
    """
    digits = len(str(abs(int(amount))))
    step = Decimal(10) ** max(digits - (3 if digits > 6 else 2), 0)
    return money((amount / step).quantize(Decimal(1)) * step, currency)


def money_range(low: Decimal, high: Decimal, currency: str = "") -> str:
    """From low to high: USD 12 000–61 000."""
    if high <= 0:
        return NOTHING
    return f"{money(low, currency)}{DASH}{money(high)}"


def about_range(low: Decimal, high: Decimal, currency: str) -> str:
    """A range as a sentence says it."""
    if high <= 0:
        return NOTHING
    return f"{about(low, currency)}{DASH}{about(high, '')}"


def month(day: date) -> str:
    """Such as March 2027."""
    return f"{MONTHS[day.month - 1]}\u00a0{day.year}"


def end_of(years: float, periods: Periods) -> str:
    """One time of a distribution in words."""
    if years <= NOW_YEARS:
        return "now"
    if years >= MOST_YEARS:
        return f"after {periods.day(MOST_YEARS).year}"
    return str(periods.day(years).year) if years > FAR_YEARS else month(periods.day(years))


def when(table: LifeTable, periods: Periods) -> str:
    """The likely time."""
    return end_of(table.quantile(0.5), periods)


def between(table: LifeTable, periods: Periods) -> str:
    """Where eight in ten possible times lie."""
    low, high = (end_of(table.quantile(share), periods) for share in (0.1, 0.9))
    return low if low == high else f"{low} to {high}"


def chance(share: float) -> str:
    """A probability as people say it: 3 in 10.

    Examples
    --------
    >>> chance(0.31), chance(0.001), chance(0.999)
    ('3 in 10', 'very unlikely', 'nearly certain')
    """
    if share < 0.05:
        return "very unlikely"
    return "nearly certain" if share > 0.95 else f"{max(1, min(9, round(share * 10)))} in 10"


def history(years: float) -> str:
    """How long a log is."""
    months = round(years * 12)
    return counted(months, "month") if months < 36 else f"{number(years, 1)} years"


def trade_share(shares: Sequence[float]) -> str:
    """How much of a rate is not of this log, in whole percent."""
    mean = sum(shares) / len(shares) if shares else 1.0
    return f"{round(100 * mean)}{THIN}%"
