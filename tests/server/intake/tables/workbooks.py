"""Awkward workbooks, each made by hand cell by cell. All plants and numbers are invented."""

import io
from collections.abc import Callable
from datetime import date, datetime, time
from typing import Any

import xlsxwriter

from server.intake.understand.compile import Corrections
from server.intake.understand.understanding import Choices
from tests.server.intake.tables.awkward import GPM, PSI, Awkward

Rows = list[list[Any]]


def at(day: date, hour: int, minute: int) -> datetime:
    """A cell with date and time; a workbook knows no zone."""
    return datetime.combine(day, time(hour, minute))


def workbook(sheets: dict[str, Rows], more: Callable[[Any, dict[str, Any]], None] | None = None) -> bytes:
    """A workbook of plain cells; dates and times look like such. `more` may write what needs more."""
    content = io.BytesIO()
    book = xlsxwriter.Workbook(content)
    formats = {
        datetime: book.add_format({"num_format": "dd/mm/yyyy hh:mm"}),
        date: book.add_format({"num_format": "dd/mm/yyyy"}),
        time: book.add_format({"num_format": "hh:mm"}),
    }
    written = {}
    for name, rows in sheets.items():
        written[name] = sheet = book.add_worksheet(name)
        for number, row in enumerate(rows):
            for column, cell in enumerate(row):
                if type(cell) in formats:
                    sheet.write_datetime(number, column, cell, formats[type(cell)])
                elif cell is not None:
                    sheet.write(number, column, cell)
    if more is not None:
        more(book, written)
    book.close()
    return content.getvalue()


def _merged(book: Any, sheets: dict[str, Any]) -> None:
    sheet, middle = sheets["Log"], book.add_format({"align": "center"})
    sheet.merge_range(0, 0, 0, 5, "Quay Laundry, reverse osmosis 1", middle)
    sheet.merge_range(2, 1, 2, 2, "Feed", middle)
    sheet.merge_range(2, 3, 2, 4, "Permeate", middle)


def _formulas(_book: Any, sheets: dict[str, Any]) -> None:
    sheets["Log"].write_formula(1, 1, "=12+0.5", None, 12.5)
    sheets["Log"].write_formula(2, 1, "=B2+0.1", None, "")
    sheets["Log"].write_formula(3, 1, "=1/0", None, "#DIV/0!")


HEAD = ["Date", "Feed pressure (bar)", "Permeate flow (m3/h)"]
WORKBOOKS = (
    Awkward(
        "Merged titles",
        "a title merged over all columns; groups merged over their columns; true dates and times in two columns",
        workbook(
            {
                "Log": [
                    [], [], ["", "", None, "", None, "Remarks"], ["Date", "Pressure", "Temp", "Flow", "Cond", ""],
                    ["", "psi", "°F", "gpm", "µS/cm", ""],
                    [date(2024, 1, 5), 174, 63, 62, 23, "ok"], [date(2024, 1, 6), 175, 63, 62, 23, None],
                ]
            },
            _merged,
        ),
        rows={
            "2024-01-05T12:00": {
                "feed_pressure_bar": 174 * PSI, "permeate_flow_m3h": 62 * GPM, "permeate_conductivity_us_cm": 23,
                "remark": "ok",
            }
        },
        count=2,
    ),
    Awkward(
        "A sheet a month",
        "three sheets made alike, one with notes; day names; times as times; midnight",
        workbook(
            {
                "Notes": [["Written by the shift"], ["Call before changing"]],
                "Jan": [["Date", "Time", *HEAD[1:]], [date(2024, 1, 30), time(6, 0), 12.5, 14.1]],
                "Feb": [["Date", "Time", *HEAD[1:]], [date(2024, 2, 1), time(6, 0), 12.6, 14.1],
                        [date(2024, 2, 1), time(0, 0), 12.7, "oops"]],
                "Mar": [["Date", "Time", *HEAD[1:]], [date(2024, 3, 1), time(22, 30), 12.8, 14.1]],
            }
        ),
        rows={"2024-01-30T06:00": {"feed_pressure_bar": 12.5}, "2024-03-01T22:30": {"feed_pressure_bar": 12.8}},
        count=4,
        problems=((3, "Permeate flow (m3/h)", 'sheet "Feb", row 3, column "Permeate flow (m3/h)": "oops" is not'),),
        notes=("3 sheets are made alike", "Sheets that are not read: Notes"),
    ),
    Awkward(
        "The table on the second sheet",
        "a summary first, the log behind it; dates with times as true dates",
        workbook(
            {
                "Summary": [["Total permeate", 1234], ["Days", 31]],
                "Data": [["Timestamp", *HEAD[1:]], [at(date(2024, 1, 5), 6, 30), 12.5, 14.1],
                         [at(date(2024, 1, 6), 0, 0), 12.6, 14.1], [at(date(2024, 1, 6), 6, 30), 12.6, 14.1]],
            }
        ),
        rows={"2024-01-05T06:30": {"feed_pressure_bar": 12.5}, "2024-01-06T00:00": {"feed_pressure_bar": 12.6}},
        count=3,
    ),
    Awkward(
        "Dates as numbers",
        "date numbers that nobody formatted; numbers kept as text with a decimal comma",
        workbook({"Log": [HEAD, [45296.25, "12,5", 14.1], [45297.25, "12,6", 14.2]]}),
        rows={"2024-01-05T06:00": {"feed_pressure_bar": 12.5, "permeate_flow_m3h": 14.1}},
        count=2,
    ),
    Awkward(
        "Dates half turned",
        "a spreadsheet opened with the wrong order: days up to 12 became dates with day and month exchanged, the "
        "others "
        "stayed text",
        workbook({"Log": [HEAD, [date(2024, 5, 1), 12.5, 14.1], ["13/01/2024", 12.6, 14.1]]}),
        asks=("a spreadsheet has turned only those dates that it could read",),
        says=Corrections(order="day first"),
        rows={"2024-01-13T12:00": {"feed_pressure_bar": 12.6}},
    ),
    Awkward(
        "Formulas",
        "a formula with its value; one that was never worked out; an error; a date in a cell of numbers",
        workbook(
            {"Log": [HEAD, [date(2024, 1, 5), None, 14.1], [date(2024, 1, 6), None, 14.1],
                     [date(2024, 1, 7), None, 14.1], [date(2024, 1, 8), date(2024, 5, 12), 14.1]]},
            _formulas,
        ),
        rows={"2024-01-05T12:00": {"feed_pressure_bar": 12.5}},
        problems=(
            (3, "Feed pressure (bar)", "is a formula that was saved without its value"),
            (5, "Feed pressure (bar)", "is a date, perhaps a number that a spreadsheet has turned into one"),
        ),
    ),
    Awkward(
        "A chosen sheet",
        "sheets called after trains; the one of this train is taken unless a person says otherwise",
        workbook(
            {
                "RO 1": [HEAD, [date(2024, 1, 5), 12.5, 14.1]],
                "RO 2": [HEAD, [date(2024, 1, 5), 11.5, 13.1]],
            }
        ),
        layout=Choices(sheets=("RO 2",)),
        rows={"2024-01-05T12:00": {"feed_pressure_bar": 11.5}},
        count=1,
    ),
    Awkward("A workbook without cells", "nothing in it", workbook({"Log": []}),
            refused="log.xlsx: holds no table of readings"),
    Awkward("An encrypted workbook", "a password",
            b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + "EncryptedPackage".encode("utf-16-le"),
            refused="log.xlsx: is encrypted with a password; expected the workbook saved without a password"),
    Awkward("An old workbook", "XLS", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\x00" * 600,
            refused="is a workbook of the old binary kind (XLS); expected it saved as XLSX or CSV"),
    Awkward("An archive", "a zip without a workbook", b"PK\x03\x04 photos/gauge.jpg",
            refused="log.xlsx: is an archive without a workbook in it"),
)  # fmt: skip
WORKBOOKS = tuple(Awkward(**(vars(table) | {"file": "log.xlsx"})) for table in WORKBOOKS)
