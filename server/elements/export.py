"""The map of a train as files that this program reads back."""

import csv
import io
from collections.abc import Sequence

import xlsxwriter

from server.elements.listing import COLUMNS
from server.elements.queries import Placed
from server.security.spreadsheets import plain_cell


def _rows(placed: Sequence[Placed]) -> list[tuple[str | int, ...]]:
    rows: list[tuple[str | int, ...]] = []
    for one in sorted((one for one in placed if one.stay.until is None), key=lambda one: one.stay.place):
        place = one.stay.place
        made = "" if one.made_on is None else one.made_on.isoformat()
        rows.append(
            (
                one.stay.since.isoformat(), plain_cell(one.stay.serial), plain_cell(one.model), place.stage,
                place.vessel, place.position, made, "",
            )
        )  # fmt: skip
    return rows


def as_csv(placed: Sequence[Placed]) -> bytes:
    """What lies in the train now, as CSV."""
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(COLUMNS)
    writer.writerows(_rows(placed))
    return out.getvalue().encode()


def as_xlsx(placed: Sequence[Placed]) -> bytes:
    """The same as a workbook of one sheet."""
    out = io.BytesIO()
    options = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False}
    with xlsxwriter.Workbook(out, options) as workbook:
        sheet = workbook.add_worksheet("Elements")
        for number, row in enumerate([COLUMNS, *_rows(placed)]):
            sheet.write_row(number, 0, row)
        sheet.freeze_panes(1, 0)
        sheet.autofit()
    return out.getvalue()
