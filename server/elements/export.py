"""The map of a train as files that this program reads back, with what each element has lived through."""

import csv
import io
from collections.abc import Sequence
from datetime import date

import xlsxwriter

from server.elements.colours import DAYS_PER_YEAR
from server.elements.listing import COLUMNS
from server.elements.queries import Placed
from server.security.spreadsheets import plain_cell

LIVED = ("age_years", "hours", "cleanings", "chlorine_ppm_h_least", "chlorine_ppm_h_most")
"""Worked out; left aside when the file comes back."""
BEFORE = ("serial", "model", "stage", "vessel", "position", "from", "until")

Value = str | float | int | date | None


def _rows(placed: Sequence[Placed]) -> list[tuple[Value, ...]]:
    present = sorted((one for one in placed if one.stay.until is None), key=lambda one: one.stay.place)
    return [
        (
            one.stay.since, *_named(one), one.made_on,
            one.weights[-1].weight_kg if one.weights else None, one.weights[-1].day if one.weights else None,
            *_lived(one),
        )
        for one in present
    ]  # fmt: skip


def _named(one: Placed) -> tuple[Value, ...]:
    place = one.stay.place
    return plain_cell(one.stay.serial), plain_cell(one.model), place.stage, place.vessel, place.position


def _lived(one: Placed) -> tuple[Value, ...]:
    lived = one.lived
    if lived is None:
        return (None,) * len(LIVED)
    seen = lived.exposure
    return (
        round(lived.days / DAYS_PER_YEAR, 2),
        None if lived.hours is None else round(lived.hours),
        lived.cleanings,
        None if seen is None else round(seen.least, 1),
        None if seen is None else round(seen.most, 1),
    )


def as_csv(placed: Sequence[Placed]) -> bytes:
    """What lies in the train now, as CSV."""
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(COLUMNS + LIVED)
    writer.writerows(_rows(placed))
    return out.getvalue().encode()


def as_xlsx(placed: Sequence[Placed]) -> bytes:
    """The same as a workbook, with a second sheet of what lay in the train before."""
    out = io.BytesIO()
    options = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False}
    ended = [(*_named(one), one.stay.since, one.stay.until) for one in reversed(placed) if one.stay.until is not None]
    with xlsxwriter.Workbook(out, options) as workbook:
        _sheet(workbook, "Elements", (COLUMNS + LIVED, *_rows(placed)))
        _sheet(workbook, "Before", (BEFORE, *ended))
    return out.getvalue()


def _sheet(workbook: xlsxwriter.Workbook, name: str, rows: Sequence[Sequence[Value]]) -> None:
    sheet, days = workbook.add_worksheet(name), workbook.add_format({"num_format": "yyyy-mm-dd"})
    for number, row in enumerate(rows):
        for column, value in enumerate(row):
            if isinstance(value, date):
                sheet.write_datetime(number, column, value, days)
            elif value is not None:
                sheet.write(number, column, value)
    sheet.freeze_panes(1, 0)
    sheet.autofit()
