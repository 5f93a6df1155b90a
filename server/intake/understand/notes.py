"""What a person should know of how a file was understood, in plain sentences."""

from server.intake.parts import SHEETS, TIMES
from server.intake.understand.choose import Table
from server.intake.understand.understanding import TableLayout, TimeRule


def notes_of(table: Table, layout: TableLayout, times: TimeRule) -> tuple[str, ...]:
    """Notes of where the table lies and how it is laid out, then of its times."""
    return (*_notes_of_layout(table, layout), *_notes_of_times(layout, times))


def _notes_of_layout(table: Table, layout: TableLayout) -> list[str]:
    notes = []
    if layout.sideways:
        notes.append("Dates stand across the top: each column of the file is a reading.")
    if layout.skip_rows:
        notes.append(f"{_rows(layout.skip_rows)} before the header: titles, left out.")
    notes += _of_header(layout)
    if layout.dates_above:
        where = "in the names of the sheets" if len(table.sheets) > 1 else "above the readings"
        notes.append(f"Dates stand {where}, not beside them: each reading has the last date before it.")
    if layout.trains_above:
        notes.append("Several trains stand under each other, each below its name.")
    if table.best.across:
        listed = ", ".join(table.best.across)
        notes.append(f"Each row holds several readings beside each other ({listed}); each becomes one of its own.")
    notes += _of_sheets(table, layout)
    others = [name for name in layout.all_sheets if name not in table.sheets]
    if others:
        notes.append(f"Sheets that are not read: {', '.join(others)}.")
    return notes


def _of_header(layout: TableLayout) -> list[str]:
    notes = []
    if layout.header_rows > 1:
        notes.append(f"The header has {layout.header_rows} rows; they are read together.")
    if layout.header_rows == 0:
        notes.append("There is no header; the columns are called by their letters.")
    if layout.skip_below:
        notes.append(f"{_rows(layout.skip_below)} between the header and the first reading, left out.")
    return notes


def _of_sheets(table: Table, layout: TableLayout) -> list[str]:
    if layout.parts:
        return [_parts(layout.parts)]
    if len(table.sheets) > 1:
        return [f"{len(table.sheets)} sheets are made alike and are read one after the other."]
    return []


def _notes_of_times(layout: TableLayout, times: TimeRule) -> list[str]:
    notes = []
    if times.carried:
        notes.append(f'"{times.column}" is given once a day; rows without it belong to the date above.')
    if times.minute:
        notes.append(f'"{times.minute}" holds the minutes of "{times.clock}".')
    if times.day and not times.day_asked:
        notes.append(f"The file has times of day alone; {times.day_reason}, and past midnight the next day begins.")
    if times.half:
        notes.append(f'"{times.half}" says whether "{times.clock}" is before noon or after.')
    if layout.only and layout.only[1]:
        notes.append(f'Only rows where "{layout.only[0]}" says "{layout.only[1]}" are read.')
    return notes


def _parts(by: str) -> str:
    what = {SHEETS: "Each sheet holds", TIMES: "Each column of times goes with"}.get(by)
    what = what or f'Each value of "{by}" stands for'
    return f"{what} other quantities: they are put side by side, and what has the same time becomes one reading."


def _rows(count: int) -> str:
    return "1 row" if count == 1 else f"{count} rows"
