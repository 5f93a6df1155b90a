"""The workbook opened by two readers: one that shows the formulas, one that shows their results."""

import io
import re
from dataclasses import replace
from decimal import Decimal
from typing import Any

import openpyxl
import pytest
from openpyxl.utils import range_boundaries
from python_calamine import CalamineWorkbook

from server.budget.money_tables import by_year
from server.budget.view import View
from server.budget.workbook import BudgetWorkbook


@pytest.fixture
def content(view: View) -> bytes:
    return BudgetWorkbook(view).content()


def reckoned(book: Any, sheet: str, value: Any) -> float:
    """The value of a cell, its formula worked out anew; the workbook uses sums and references alone."""
    if not (isinstance(value, str) and value.startswith("=")):
        return float(value or 0)
    formula = value[1:]
    if found := re.fullmatch(r"SUM\((?:(\w+)!)?([A-Z]+\d+(?::[A-Z]+\d+)?)\)", formula):
        name, place = found[1] or sheet, found[2]
        left, top, right, bottom = range_boundaries(place)
        cells = book[name].iter_rows(top, bottom, left, right, values_only=True)
        return sum(reckoned(book, name, cell) for row in cells for cell in row)
    found = re.fullmatch(r"(\w+)!([A-Z]+\d+)", formula)
    assert found, value
    return reckoned(book, found[1], book[found[1]][found[2]].value)


def test_sheets_and_what_they_are_for(content: bytes) -> None:
    book = openpyxl.load_workbook(io.BytesIO(content))
    assert book.sheetnames == ["Summary", "Amounts", "Years", "Running costs", "Lives", "Water", "Assumptions"]


def test_the_price_of_a_change_says_its_currency(content: bytes) -> None:
    rows = list(openpyxl.load_workbook(io.BytesIO(content), data_only=True)["Lives"].iter_rows(values_only=True))
    assert rows[0][8:10] == ("Price of a change today", "Currency")
    assert all(isinstance(row[9], str) and len(row[9]) == 3 for row in rows[1:]) and len(rows) > 1


def test_every_formula_comes_to_the_result_it_carries(content: bytes) -> None:
    book = openpyxl.load_workbook(io.BytesIO(content))
    carried = openpyxl.load_workbook(io.BytesIO(content), data_only=True)
    count = 0
    for sheet in book.worksheets:
        for row in sheet.iter_rows():
            for cell in row:
                if isinstance(cell.value, str) and cell.value.startswith("="):
                    count += 1
                    result = carried[sheet.title][cell.coordinate].value
                    assert reckoned(book, sheet.title, cell.value) == float(result), (sheet.title, cell.coordinate)
    assert count > 80


def test_sums_are_those_of_the_page(content: bytes, view: View) -> None:
    rows = CalamineWorkbook.from_filelike(io.BytesIO(content)).get_sheet_by_name("Summary").to_python()
    expected = {row[0]: Decimal(row[1]) for row in rows if row and isinstance(row[1], float)}
    for year in by_year(view):
        assert expected[year.label] == year.expected
    assert expected["Sum"] == view.total()
    amounts = CalamineWorkbook.from_filelike(io.BytesIO(content)).get_sheet_by_name("Amounts").to_python()
    assert Decimal(amounts[-1][-1]) == view.total()


def test_every_assumption_stands_on_its_sheet(content: bytes) -> None:
    rows = CalamineWorkbook.from_filelike(io.BytesIO(content)).get_sheet_by_name("Assumptions").to_python()
    by_label = {(row[0], row[1]): row[2:4] for row in rows[1:]}
    assert by_label[("Pell Harrow Hospital, USD", "Price of one element")] == [641.37, "given"]
    assert by_label[("Tolmera Glasshouses, EUR", "Tax on elements, seals and freight [%]")] == [7.5, "given"]
    assert by_label[("Tolmera Glasshouses, EUR", "Price of one kWh")] == [0.12, "default"]
    assert {"Method", "Made by"} <= {row[0] for row in rows}


def test_assumptions_are_in_the_units_of_the_reader(view: View) -> None:
    """0.02 for a m3 are 0.0757 for 1000 gallons."""
    content = BudgetWorkbook(replace(view, units="US")).content()
    rows = CalamineWorkbook.from_filelike(io.BytesIO(content)).get_sheet_by_name("Assumptions").to_python()
    by_label = {(row[0], row[1]): row[2] for row in rows[1:]}
    assert by_label[("Pell Harrow Hospital, USD", "Chemicals per kgal")] == pytest.approx(0.02 * 3.785411784, abs=1e-6)
    assert not [row for row in rows if "m³" in f"{row}"]


def test_an_empty_logbook_has_an_empty_workbook(view: View) -> None:
    empty = replace(view, trains=())
    book = openpyxl.load_workbook(io.BytesIO(BudgetWorkbook(empty).content()))
    assert book["Amounts"].max_row == 2


def test_the_water_of_a_train_costs_the_sum_of_its_components(content: bytes, view: View) -> None:
    rows = list(openpyxl.load_workbook(io.BytesIO(content), data_only=True)["Water"].iter_rows(values_only=True))[1:]
    for seen in view.trains:
        own = [row for row in rows if row[1] == seen.train.facts.train.name and row[0] == seen.site.site.name]
        assert own[-1][2] == "Sum"
        assert sum(row[4] for row in own[:-1]) == pytest.approx(own[-1][4])
        assert sum(row[5] for row in own[:-1]) == pytest.approx(1)


def test_the_ways_stand_in_the_workbook_of_one_train(view: View) -> None:
    one = replace(view, trains=view.trains[:1])
    rows = list(openpyxl.load_workbook(io.BytesIO(BudgetWorkbook(one).content()))["Ways"].iter_rows(values_only=True))
    assert rows[0][:7] == (
        f"Way, in {one.trains[0].site.currency} of today", "Likely", "Low", "High", "Against whole set",
        "Elements bought", "Contract",
    )  # fmt: skip
    titles = [row[0] for row in rows[1:]]
    reference = next(row[1] for row in rows[1:] if row[0] == "Whole set at once")
    assert len(titles) > 1
    assert all(row[2] <= row[1] <= row[3] and row[4] == row[1] - reference for row in rows[1:])
