"""Sheets of the workbook that stand on the page of one train: what its water costs, and what could be done instead."""

import math
from collections.abc import Sequence
from typing import Protocol

from xlsxwriter import Workbook
from xlsxwriter.format import Format
from xlsxwriter.utility import xl_range
from xlsxwriter.worksheet import Worksheet

from analytics.decisions.strategy_range import LikeCosts
from server.budget.cost_page import NAMES, cost_of_water
from server.budget.plan import whole
from server.budget.units import per_volume, volume_symbol
from server.budget.view import Seen, View
from server.budget.ways import Played, contract_words, played
from server.security.spreadsheets import plain_cell

CONTRACT, FIRST_YEAR = 6, 7
"""Columns of a way before its years."""
LINE, CHARACTERS = 15, 75
"""Height of a line, and how many characters fit into the column of what is assumed. [pt, -]"""


class Book(Protocol):
    """A workbook with its formats, as far as these sheets use it."""

    view: View
    book: Workbook
    bold: Format
    bold_amount: Format
    money: Format
    sum: Format
    wrap: Format

    def printed(self, sheet: Worksheet) -> None: ...


def add_water(of: Book) -> None:
    """What the water of each train costs at today's prices, by component."""
    sheet, view = of.book.add_worksheet("Water"), of.view
    heads = ("Site", "Train", "Component", "Currency", f"Cost per {volume_symbol(view.units)}", "Share")
    _heads(of, sheet, heads, texts=range(4), frozen=4)
    row = 1
    for seen in view.trains:
        row = _water_of(of, sheet, row, seen)
    for column, width in enumerate((24, 16, 36, 10, 14, 10)):
        sheet.set_column(column, column, width)
    of.printed(sheet)


def _water_of(of: Book, sheet: Worksheet, first: int, seen: Seen) -> int:
    """The components of one train and their sum; returns the row behind them."""
    found = cost_of_water(seen)
    if found is None:
        return first
    exact, share = of.book.add_format({"num_format": "0.0000"}), of.book.add_format({"num_format": "0%"})
    names = (seen.site.site.name, seen.train.facts.train.name)
    costs = [per_volume(one.per_m3, of.view.units) for one in found.cost.components]
    for row, (one, cost) in enumerate(zip(found.cost.components, costs, strict=True), start=first):
        _texts(sheet, row, (*names, NAMES[one.name], seen.site.currency))
        sheet.write_number(row, 4, cost, exact)
        sheet.write_number(row, 5, one.share, share)
    last = first + len(costs)
    _texts(sheet, last, (*names, "Sum", seen.site.currency))
    sheet.write_formula(last, 4, f"=SUM({xl_range(first, 4, last - 1, 4)})", exact, sum(costs))
    return last + 1


def add_ways(of: Book) -> None:
    """What could be done instead, of one train; a fleet has no ways of its own, and is asked train by train."""
    if len(of.view.trains) != 1:
        return
    seen = of.view.trains[0]
    found = played(seen, of.view.periods)
    if found is None:
        return
    sheet = of.book.add_worksheet("Ways")
    years = [str(of.view.periods.start.year + n + 1) for n in range(len(found.whole_set.likely.by_year))]
    heads = (f"Way, in {seen.site.currency} of today", "Likely", "Low", "High", "Against whole set", "Elements bought")
    texts = (0, CONTRACT, FIRST_YEAR + len(years))
    _heads(of, sheet, (*heads, "Contract", *years, "What it assumes"), texts=texts, frozen=1)
    for row, like in enumerate(found.alike, start=1):
        _way(of, sheet, row, like, found)
    sheet.set_column(0, 0, 24)
    sheet.set_column(1, 5, 13)
    sheet.set_column(CONTRACT, CONTRACT, 30)
    sheet.set_column(FIRST_YEAR, FIRST_YEAR + len(years) - 1, 11)
    sheet.set_column(FIRST_YEAR + len(years), FIRST_YEAR + len(years), 70)
    of.printed(sheet)


def _way(of: Book, sheet: Worksheet, row: int, like: LikeCosts, found: Played) -> None:
    cost, strategy = like.cost, like.cost.likely.course.strategy
    sheet.write_string(row, 0, strategy.title, of.wrap)
    for column, amount in enumerate((cost.likely.worth, cost.low, cost.high), start=1):
        sheet.write_number(row, column, int(whole(amount)), of.money)
    difference = whole(cost.likely.worth) - whole(found.whole_set.likely.worth)
    sheet.write_number(row, 4, int(difference), of.money)
    sheet.write_number(row, 5, sum(cost.likely.course.renewed), of.money)
    sheet.write_string(row, CONTRACT, contract_words(cost), of.wrap)
    for column, amount in enumerate(cost.likely.by_year, start=FIRST_YEAR):
        sheet.write_number(row, column, int(whole(amount)), of.money)
    same = [one.likely.course.strategy.title for one in like.others]
    assumes = f"{strategy.assumes}{' The same comes of: ' + ', '.join(same) + '.' if same else ''}"
    sheet.write_string(row, FIRST_YEAR + len(cost.likely.by_year), assumes, of.wrap)
    sheet.set_row(row, LINE * math.ceil(len(assumes) / CHARACTERS))


def _heads(of: Book, sheet: Worksheet, heads: tuple[str, ...], *, texts: Sequence[int], frozen: int) -> None:
    """The first row; heads of amounts stand to the right, those of `texts` to the left."""
    for column, head in enumerate(heads):
        sheet.write_string(0, column, head, of.bold if column in texts else of.bold_amount)
    sheet.freeze_panes(1, frozen)


def _texts(sheet: Worksheet, row: int, texts: tuple[str, ...]) -> None:
    for column, text in enumerate(texts):
        sheet.write_string(row, column, plain_cell(text))
