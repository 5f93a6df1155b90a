"""Which table of a file is meant: its sheets, where it lies in them, its readings."""

from dataclasses import dataclass

from server.errors import FileProblem
from server.intake.dates_above import date_heading
from server.intake.header_rows import cell_text
from server.intake.rows import Row
from server.intake.understand.place import Place
from server.intake.understand.sample import FileSample, SheetSample
from server.intake.understand.trains import own_number, owner_of, trains_named
from server.intake.understand.understanding import Choices, Known
from server.intake.understand.words import facet_of, words_of

EXPECTED = "a row of headers, and below it rows with a date or time and numbers"


@dataclass(frozen=True)
class Table:
    """The table that was chosen: its sheets, headers and readings (of the first of the sheets)."""

    sheets: tuple[str, ...]
    place: Place
    rows: tuple[Row, ...]
    titles: tuple[str, ...]
    sideways: bool
    sheet_of: tuple[int, ...]
    trains: tuple[str, ...]
    best: SheetSample


def choose_table(sample: FileSample, file: str, choices: Choices, known: Known) -> Table:
    """The sheet whose table knows most columns and has most readings, and those that are made alike."""
    sheets = [sheet for sheet in sample.sheets if sheet.place is not None]
    if choices.sheets:
        sheets = [sheet for sheet in sheets if sheet.name in choices.sheets]
    if not sheets:
        raise FileProblem(file, "holds no table of readings", expected=EXPECTED)
    sheets = _of_this_train(sheets, known)
    best = max(sheets, key=_worth)
    owner = _owner(best)
    alike = [sheet for sheet in sheets if _alike(sheet, best) and _owner(sheet) == owner]
    place = best.place or Place(0, 0, 0, ())  # there is one, by the choice above
    above = (cell for row in best.rows[: place.before] for cell in row.cells)
    titles = tuple(cell_text(cell) for cell in (*best.titles, *above) if cell is not None)
    rows = [
        (n, row)
        for n, sheet in enumerate(alike)
        for row in sheet.rows[place.first :]
        if any(cell is not None for cell in row.cells)
        and not (best.dates_above and date_heading(Row(row.number, row.cells[1:])) is not None)
    ]
    return Table(
        sheets=tuple(sheet.name for sheet in alike if sheet.name),
        place=place,
        rows=tuple(row for _, row in rows),
        titles=titles,
        sideways=best.sideways,
        sheet_of=tuple(n for n, _ in rows),
        trains=() if choices.sheets else trains_named([sheet.name for sheet in sheets], known.train, whole=True),
        best=best,
    )


def _owner(sheet: SheetSample) -> str:
    return owner_of(sheet.name)


def _of_this_train(sheets: list[SheetSample], known: Known) -> list[SheetSample]:
    """Where sheets are called after trains, that of this one."""
    owners = {owner for sheet in sheets if (owner := _owner(sheet))}
    ours = own_number(known.train, owners)
    kept = [sheet for sheet in sheets if _owner(sheet) == ours] if len(owners) > 1 and ours else []
    return kept or sheets


def _worth(sheet: SheetSample) -> tuple[int, int]:
    names = sheet.place.names if sheet.place else ()
    known = sum(any(facet_of(word) for word in words_of(name)) for name in names)
    return known, len(sheet.rows)


def _alike(sheet: SheetSample, best: SheetSample) -> bool:
    if sheet.place is None or best.place is None:
        return False
    if (sheet.sideways, sheet.dates_above, sheet.trains_above, sheet.across) != (
        best.sideways,
        best.dates_above,
        best.trains_above,
        best.across,
    ):
        return False
    same = (sheet.place.before, sheet.place.header) == (best.place.before, best.place.header)
    return same and [name.lower() for name in sheet.place.names] == [name.lower() for name in best.place.names]
