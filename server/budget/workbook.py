"""The budget as a workbook: amounts as numbers, every sum as a formula, and one sheet of all that was assumed.

Cells hold the amounts of the ledger; formulas also carry their result, for programs that show files without reckoning.
"""

import io
from collections.abc import Sequence
from datetime import datetime
from decimal import Decimal
from typing import Any

import xlsxwriter
from xlsxwriter.utility import xl_range, xl_rowcol_to_cell
from xlsxwriter.worksheet import Worksheet

import analytics
from analytics.decisions.budget import RUNNING
from server.budget.answers import answers, headline
from server.budget.assumptions import AssumptionRow, LifeRow, assumption_rows, life_rows
from server.budget.money_tables import by_year, year_label
from server.budget.plan import BUDGET_COMPONENTS
from server.budget.train_sheets import add_water, add_ways
from server.budget.view import View
from server.budget.words import COMPONENT_NAMES
from server.display import day
from server.security.spreadsheets import plain_cell

MONEY, DATE = "#,##0", "yyyy-mm-dd"
FIRST_AMOUNT = 3
"""Columns of names before the amounts."""
PERIODS_ROW = 0
SUMMARY_COLUMNS = 6
"""So wide are the sentences of the summary, which are wrapped."""
A4 = 9


class BudgetWorkbook:
    """Writes a view into a workbook, sheet by sheet."""

    def __init__(self, view: View) -> None:
        self.view = view
        self.stream = io.BytesIO()
        self.book = xlsxwriter.Workbook(self.stream, {"in_memory": True})
        self.book.set_properties({"title": headline(view), "comments": f"Skidbook {analytics.__version__}"})
        self.bold = self.book.add_format({"bold": True, "text_wrap": True, "valign": "top"})
        self.bold_amount = self.book.add_format({"bold": True, "text_wrap": True, "align": "right"})
        self.money = self.book.add_format({"num_format": MONEY})
        self.sum = self.book.add_format({"num_format": MONEY, "bold": True, "top": 1})
        self.wrap = self.book.add_format({"text_wrap": True, "valign": "top", "indent": 1})

    def content(self) -> bytes:
        """The bytes of the file."""
        summary = self.book.add_worksheet("Summary")
        rows = self._amounts("Amounts", BUDGET_COMPONENTS)
        total_row = self._years("Years", rows)
        self._amounts("Running costs", RUNNING)
        self._summary(summary, total_row)
        self._lives(life_rows(self.view))
        add_ways(self)
        add_water(self)
        self._assumptions(assumption_rows(self.view))
        self.book.close()
        return self.stream.getvalue()

    def _amounts(self, name: str, components: Sequence[str]) -> int:
        """One row a train and component, one column a quarter; returns the number of rows."""
        sheet = self.book.add_worksheet(name)
        quarters = self.view.periods.quarters
        heads = [f"Q{quarter.number} {quarter.year}" for quarter in quarters]
        self._heads(sheet, ["Site", "Train", f"Component, {self.view.currency}", *heads, "Sum"])
        row = 0
        sums = [Decimal()] * len(quarters)
        for seen in self.view.trains:
            for component in components:
                row += 1
                cells = seen.cells[component]
                names = (seen.site.site.name, seen.train.facts.train.name, COMPONENT_NAMES[component])
                self._row(sheet, row, names, cells)
                sums = [a + b for a, b in zip(sums, cells, strict=True)]
        self._foot(sheet, row, sums)
        sheet.set_column(FIRST_AMOUNT, FIRST_AMOUNT + len(quarters), 11)
        return row

    def _heads(self, sheet: Worksheet, heads: Sequence[str]) -> None:
        for column, head in enumerate(heads):
            style = self.bold if column < FIRST_AMOUNT else self.bold_amount
            sheet.write_string(PERIODS_ROW, column, head, style)
        sheet.freeze_panes(1, FIRST_AMOUNT)
        sheet.set_column(0, 1, 22)
        sheet.set_column(2, 2, 24)
        self.printed(sheet)

    def printed(self, sheet: Worksheet) -> None:
        """Wide pages, as many as it takes, their first row again on each."""
        sheet.set_landscape()
        sheet.set_paper(A4)
        sheet.fit_to_pages(1, 0)
        sheet.repeat_rows(0)

    def _row(self, sheet: Worksheet, row: int, names: Sequence[str], cells: Sequence[Decimal]) -> None:
        for column, name in enumerate(names):
            sheet.write_string(row, column, plain_cell(name))
        for column, cell in enumerate(cells, start=FIRST_AMOUNT):
            sheet.write_number(row, column, int(cell), self.money)
        self._sum(sheet, row, FIRST_AMOUNT + len(cells), row, FIRST_AMOUNT, sum(cells, Decimal()))

    def _foot(self, sheet: Worksheet, last: int, sums: Sequence[Decimal]) -> None:
        """Sums of the columns, below the last row."""
        sheet.write_string(last + 1, 0, "Sum", self.bold)
        if not last:
            return
        for column, value in enumerate([*sums, sum(sums, Decimal())], start=FIRST_AMOUNT):
            formula = f"=SUM({xl_range(1, column, last, column)})"
            sheet.write_formula(last + 1, column, formula, self.sum, int(value))

    def _sum(self, sheet: Worksheet, row: int, column: int, of_row: int, first: int, value: Decimal) -> None:
        formula = f"=SUM({xl_range(of_row, first, of_row, column - 1)})"
        sheet.write_formula(row, column, formula, self.sum, int(value))

    def _years(self, name: str, rows: int) -> int:
        """The same rows by year, each a sum of its quarters; returns the row of the sums."""
        sheet = self.book.add_worksheet(name)
        view, years = self.view, self.view.periods.years
        self._heads(
            sheet, ["Site", "Train", f"Component, {view.currency}", *(year_label(view, y) for y in years), "Sum"]
        )
        row, sums = 0, [Decimal()] * len(years)
        for seen in view.trains:
            for component in BUDGET_COMPONENTS:
                row += 1
                names = (seen.site.site.name, seen.train.facts.train.name, COMPONENT_NAMES[component])
                for column, text in enumerate(names):
                    sheet.write_string(row, column, text)
                for n, year in enumerate(years):
                    first, end = view.periods.span(year, year)
                    value = sum(seen.cells[component][first:end], Decimal())
                    place = xl_range(row, FIRST_AMOUNT + first, row, FIRST_AMOUNT + end - 1)
                    sheet.write_formula(row, FIRST_AMOUNT + n, f"=SUM(Amounts!{place})", self.money, int(value))
                    sums[n] += value
                whole = sum(seen.cells[component], Decimal())
                self._sum(sheet, row, FIRST_AMOUNT + len(years), row, FIRST_AMOUNT, whole)
        self._foot(sheet, rows, sums)
        sheet.set_column(FIRST_AMOUNT, FIRST_AMOUNT + len(years), 13)
        return rows + 1

    def _summary(self, sheet: Worksheet, total_row: int) -> None:
        view = self.view
        sheet.set_column(0, 0, 26)
        sheet.set_column(1, SUMMARY_COLUMNS, 20)
        title = self.book.add_format({"bold": True, "font_size": 14, "text_wrap": True, "valign": "top"})
        sheet.merge_range(0, 0, 0, SUMMARY_COLUMNS, headline(view), title)
        sheet.set_row(0, 38)
        sheet.write_string(1, 0, f"From {day(view.periods.start)}, the last reading. Amounts in {view.currency}.")
        for row, said in enumerate(answers(view), start=3):
            sheet.write_string(row, 0, said.question, self.bold)
            sheet.merge_range(row, 1, row, SUMMARY_COLUMNS, f"{said.answer}. {said.more}", self.wrap)
            sheet.set_row(row, 32)
        for column, head in enumerate(("Year", "Expected", "Low, 1 in 10 below", "High, 1 in 10 above")):
            sheet.write_string(7, column, head, self.bold_amount if column else self.bold)
        rows = by_year(view)
        for n, one in enumerate(rows):
            sheet.write_string(8 + n, 0, one.label)
            if view.trains:
                cell = xl_rowcol_to_cell(total_row, FIRST_AMOUNT + n)
                sheet.write_formula(8 + n, 1, f"=Years!{cell}", self.money, int(one.expected))
            sheet.write_number(8 + n, 2, int(one.low), self.money)
            sheet.write_number(8 + n, 3, int(one.high), self.money)
        last = 8 + len(rows)
        sheet.write_string(last, 0, "Sum", self.bold)
        total = sum((one.expected for one in rows), Decimal())
        sheet.write_formula(last, 1, f"=SUM({xl_range(8, 1, last - 1, 1)})", self.sum, int(total))
        sheet.write_string(last + 1, 0, "Low and high do not add up over years: not everything goes wrong at once.")
        self.printed(sheet)

    def _lives(self, rows: Sequence[LifeRow]) -> None:
        sheet = self.book.add_worksheet("Lives")
        date = self.book.add_format({"num_format": DATE})
        heads = ["Train", "Stage", "Elements", "Due early (1 in 10 before)", "Due likely", "Due late (1 in 10 after)"]
        for column, head in enumerate(
            [*heads, "First limit", "Life of a new set, years", "Price of a change today", "Currency"]
        ):
            sheet.write_string(0, column, head, self.bold)
        for row, one in enumerate(rows, start=1):
            sheet.write_string(row, 0, plain_cell(one.train))
            sheet.write_number(row, 1, one.stage)
            sheet.write_number(row, 2, one.elements)
            for column, due in enumerate(one.due, start=3):
                if due is None:
                    sheet.write_string(row, column, "beyond 25 years")
                else:
                    sheet.write_datetime(row, column, datetime(due.year, due.month, due.day), date)  # noqa: DTZ001
            sheet.write_string(row, 6, one.why, self.wrap)
            sheet.write_number(row, 7, one.next_life)
            sheet.write_number(row, 8, int(one.change), self.money)
            sheet.write_string(row, 9, one.currency, self.wrap)
        sheet.set_row(0, 32)
        sheet.set_column(0, 0, 34)
        sheet.set_column(1, 2, 10)
        sheet.set_column(3, 5, 16)
        sheet.set_column(6, 6, 36)
        sheet.set_column(7, 9, 16)
        self.printed(sheet)

    def _assumptions(self, rows: Sequence[AssumptionRow]) -> None:
        sheet = self.book.add_worksheet("Assumptions")
        for column, head in enumerate(("Where", "Assumption", "Value", "From", "Meaning")):
            sheet.write_string(0, column, head, self.bold)
        for row, one in enumerate(rows, start=1):
            texts: tuple[Any, ...] = (one.where, one.label, one.value, one.source, one.meaning)
            for column, value in enumerate(texts):
                if isinstance(value, float):
                    sheet.write_number(row, column, value)
                else:
                    sheet.write_string(row, column, plain_cell(value), self.wrap)
        for column, width in enumerate((36, 52, 16, 24, 110)):
            sheet.set_column(column, column, width)
        self.printed(sheet)
