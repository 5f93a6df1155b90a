"""Find out in which order day, month and year stand, from all dates of a table together."""

import itertools
import statistics
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from server.intake.date_parts import MOST_MONTHS, exchange
from server.intake.moments import ORDERS, DateNumbers, Order, date_numbers, read_moment
from server.intake.rows import Cell

UNITED_STATES = (
    "America/New_York", "America/Chicago", "America/Denver", "America/Phoenix", "America/Los_Angeles",
    "America/Detroit", "America/Boise", "America/Anchorage", "America/Indiana/", "America/Kentucky/",
    "Pacific/Honolulu", "US/",
)  # fmt: skip
"""Clocks of a country that writes the month first."""
_FEW = 0.02
"""Share of dates that may be slips of the pen: they become problems of their rows, and do not decide the order."""
Cells = Sequence[tuple[str, Cell]]
"""Cells of the column of times, each with what its row is called ("row 3")."""


@dataclass(frozen=True)
class DateRule:
    """In which order dates are written, how that is known, and whether a person must be asked.

    `order` is that of the best guess where `asked`; `text` is an example.
    """

    order: Order
    reason: str
    asked: bool = False
    text: str = ""
    exchanged: bool = False
    """Whether dates that a spreadsheet made of texts have day and month exchanged."""


@dataclass(frozen=True)
class _Open:
    """A date in figures: its row, its text, and its numbers."""

    row: str
    text: str
    numbers: DateNumbers


def find_order(cells: Cells, *, timezone: str = "", latest: datetime | None = None) -> DateRule:
    """Order of the dates of a table.

    Parameters
    ----------
    cells
        In the order of the file.
    timezone
        Clock of the site, for what is usual there; it never decides alone.
    latest
        No reading can be later than this.
    """
    found = [(row, cell, numbers) for row, cell in cells if (numbers := date_numbers(cell)) is not None]
    dated = [_Open(row, str(cell), numbers) for row, cell, numbers in found if numbers.first_digits <= 2]
    if not dated:
        year_first = any(numbers.first_digits > 2 for _, _, numbers in found)
        reason = "the year stands first" if year_first else "the dates can be read in one way only"
        return DateRule("year first" if year_first else "day first", reason)
    mixed = _true_dates_among_texts(cells, dated)
    if mixed is not None:
        return mixed
    orders = [order for order in ORDERS if order != "year first" or all(d.numbers.third_digits <= 2 for d in dated)]
    misfits = {order: [d for d in dated if read_moment(d.text, order) is None] for order in orders}
    most = _FEW * len(dated)
    fitting = [order for order in orders if len(misfits[order]) <= most]
    clean = [order for order in fitting if not misfits[order]]
    if not fitting:
        return _contradiction(dated, misfits)
    fitting = _by_years(dated, clean) if clean else fitting[:1]
    if len(fitting) == 1:
        return DateRule(fitting[0], _decisive(fitting[0], misfits))
    return _among(dated, fitting, timezone, latest)


def _by_years(dated: list[_Open], orders: list[Order]) -> list[Order]:
    """Where the year has two figures it may stand first or last: it is the number that changes less."""
    if "year first" not in orders or len(orders) == 1:
        return orders
    first, third = len({d.numbers.first for d in dated}), len({d.numbers.third for d in dated})
    if first == third:
        return orders
    return ["year first"] if first < third else [order for order in orders if order != "year first"]


def _true_dates_among_texts(cells: Cells, dated: list[_Open]) -> DateRule | None:
    """A spreadsheet that was opened with the wrong order turns the dates that it can, and leaves the others as text."""
    true = next(((row, cell) for row, cell in cells if isinstance(cell, date)), None)
    if true is None:
        return None
    order: Order = "day first" if any(d.numbers.first > 12 for d in dated) else "month first"
    exchanged = _are_exchanged(cells, order)
    so = (
        "with day and month exchanged, for so the readings follow each other; they are changed back"
        if exchanged
        else "perhaps with day and month exchanged"
    )
    reason = (
        f'{dated[0].row} holds the text "{dated[0].text}" while {true[0]} holds a true date: a spreadsheet has '
        f"turned only those dates that it could read, {so}"
    )
    return DateRule(order, reason, asked=True, text=dated[0].text, exchanged=exchanged)


def _are_exchanged(cells: Cells, order: Order) -> bool:
    """Whether all true dates could have day and month exchanged, and the readings only then follow each other."""
    if not all(cell.day <= MOST_MONTHS for _, cell in cells if isinstance(cell, date)):
        return False
    leaps = []
    for turned in (False, True):
        moments = [read_moment(exchange(cell) if turned else cell, order) for _, cell in cells]
        times = [moment.at.replace(tzinfo=None) for moment in moments if moment is not None]
        leaps.append(sum(abs((after - before).days) for before, after in itertools.pairwise(times)))
    return leaps[1] * 2 < leaps[0]


def _contradiction(dated: list[_Open], misfits: dict[Order, list[_Open]]) -> DateRule:
    day = next((d for d in dated if d.numbers.first > 12 >= d.numbers.second), None)
    month = next((d for d in dated if d.numbers.second > 12 >= d.numbers.first), None)
    best = min(misfits, key=lambda order: len(misfits[order]))
    if day is None or month is None:
        bad = misfits[best][0]
        return DateRule(best, f'{bad.row} holds "{bad.text}", which is no date in any order', asked=True)
    reason = (
        f'{day.row} holds "{day.text}", which has the day first, and {month.row} "{month.text}", which has the '
        "month first"
    )
    return DateRule(best, reason, asked=True, text=day.text)


def _decisive(order: Order, misfits: dict[Order, list[_Open]]) -> str:
    other = next((d for name, bad in misfits.items() if name != order for d in bad), None)
    return f'"{other.text}" in {other.row} can only be {order}' if other else f"every date fits {order}"


def _among(dated: list[_Open], orders: list[Order], timezone: str, latest: datetime | None) -> DateRule:
    """Choose between orders that all fit: by the future, by the flow of the readings, else ask."""
    times = {order: _times(dated, order) for order in orders}
    if latest is not None:
        past = [order for order in orders if max(times[order]) <= latest.replace(tzinfo=None)]
        if len(past) == 1:
            return DateRule(past[0], "read in the other order, some would lie in the future", text=dated[0].text)
        orders = past or orders
    if all("." in d.text for d in dated) and "day first" in orders:
        return DateRule("day first", "dates written with points have the day first", text=dated[0].text)
    smooth = _flowing(times, orders)
    if smooth is not None:
        reason = "that way the readings follow each other day by day, the other way by months"
        return DateRule(smooth, reason, text=dated[0].text)
    american = timezone.startswith(UNITED_STATES)
    usual: Order = "month first" if american else "day first"
    best = usual if usual in orders else orders[0]
    where = f"where the site lies, {best} is usual" if timezone else "nothing in the file tells"
    reason = f'"{dated[0].text}" in {dated[0].row} can be read in two ways, and so can all others; {where}'
    return DateRule(best, reason, asked=True, text=dated[0].text)


def _times(dated: list[_Open], order: Order) -> list[datetime]:
    moments = [read_moment(d.text, order) for d in dated]
    return [moment.at.replace(tzinfo=None) for moment in moments if moment is not None]


def _flowing(times: dict[Order, list[datetime]], orders: list[Order]) -> Order | None:
    """The order in which readings of several a day go on day by day, where another makes them leap by months.

    Dates without clock times could be monthly as well as daily; they tell nothing.
    """
    leaps = {}
    for order in orders:
        days = sorted({at.date() for at in times[order]})
        if len(days) < 3 or len(times[order]) < 2 * len(days):
            return None
        leaps[order] = statistics.median((after - before).days for before, after in itertools.pairwise(days))
    best = min(leaps, key=lambda order: leaps[order])
    others = [leap for order, leap in leaps.items() if order != best]
    return best if leaps[best] <= 2 and all(leap > 20 for leap in others) else None
