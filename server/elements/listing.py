"""A list of elements as people keep it: pasted from a spreadsheet, or a CSV or XLSX file, also one of this program."""

import csv
import io
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime

from analytics.decisions.element_map import Change, Place, Problem
from server.elements.lived import Weighed
from server.errors import FileProblem
from server.intake.header_rows import cell_text
from server.intake.kinds import is_workbook, refuse_wrong_kind
from server.intake.rows import Cell, Decoding, Row, decode, read_rows, sheet_names
from server.intake.table import shortened
from server.intake.understand.encoding import find_encoding
from server.typed_numbers import number_problem, typed_number

COLUMNS = ("day", "serial", "model", "stage", "vessel", "position", "made", "weight_kg", "weighed")
NEEDED = ("day", "serial", "stage", "vessel", "position")
ALSO_CALLED = {
    "date": "day", "installed": "day", "installed on": "day", "serial number": "serial", "serial no": "serial",
    "s/n": "serial", "element model": "model", "type": "model", "pressure vessel": "vessel", "pos": "position",
    "made on": "made", "manufactured": "made", "weight kg": "weight_kg", "weight [kg]": "weight_kg",
    "weight (kg)": "weight_kg", "weight": "weight_kg", "weighed on": "weighed",
}  # fmt: skip
"""What people call the columns, in small letters."""
HEADER_WITHIN = 30
"""Rows within which the names of the columns must stand; titles may stand above."""
MOST_ROWS = 5_000
MOST_SHEETS = 60
LARGEST_FILE = 5_000_000
"""[bytes]"""
LARGEST_COUNT = 9_999
LONGEST_SERIAL, LONGEST_MODEL = 60, 100
HEAVIEST_KG = 100.0
OUT = ("out", "-", "")
A_DAY = "a day such as 2026-03-01"
A_WEIGHT = f"a number above 0 and below {HEAVIEST_KG:g}, in kg"


@dataclass(frozen=True)
class Listed:
    """Changes of a list, with what the map itself does not need: model and weight by serial number.

    `source` says where the list came from, file and sheet, empty where it was typed; `headers` how a column is called
    there.
    """

    changes: tuple[Change, ...]
    models: Mapping[str, str] = field(default_factory=dict)
    weights: Mapping[str, Weighed] = field(default_factory=dict)
    problems: tuple[Problem, ...] = ()
    source: str = ""
    headers: Mapping[str, str] = field(default_factory=dict)

    def place_of(self, problem: Problem) -> str:
        """Where a problem stands: file, sheet, row and column, as far as it has one."""
        parts = [self.source] if self.source else []
        parts += [f"row {problem.row}"] if problem.row else []
        parts += [f'column "{self.headers[problem.field]}"'] if problem.field in self.headers else []
        place = ", ".join(parts)
        return place if self.source else place[:1].upper() + place[1:]


def read_list(text: str) -> Listed:
    """Read a pasted list; tab, semicolon or comma between cells, the names of the columns in its first row."""
    try:
        return _read_table(_text_rows(text.replace("\ufeff", "")), "")
    except csv.Error:
        return _refused("The list cannot be read as a table: a quotation mark is never closed.", "")


def read_file(content: bytes, file: str) -> Listed:
    """Read a CSV or XLSX file: of a workbook, the first sheet that has the columns.

    Raises
    ------
    FileProblem
        When it is no table at all.
    """
    refuse_wrong_kind(content, file)
    if not is_workbook(content):
        text = decode(content, file, find_encoding(content, file).name)
        try:
            return _read_table(_text_rows(text), file)
        except csv.Error as error:
            raise FileProblem(file, "opens a quotation mark that is never closed", expected='a closing "') from error
    tables = []
    for sheet in sheet_names(content, file)[:MOST_SHEETS]:
        found = _read_table(read_rows(content, file, Decoding(sheets=(sheet,))), f'{file}, sheet "{sheet}"')
        if found.headers:
            return found
        tables.append(found)
    return tables[0]


def one_row(cells: Mapping[str, str]) -> Listed:
    """A list of one row, from the fields of a form by the names of `COLUMNS`."""
    return _read_rows([*cells], [Row(0, tuple(cells.values()))], "", {})


def _text_rows(text: str) -> Iterator[Row]:
    lines = [line for line in text.splitlines() if line.strip()][:HEADER_WITHIN]
    head = next((line for line in lines if _is_header(_split(line))), lines[0] if lines else "")
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=_delimiter(head), skipinitialspace=True)
    for number, cells in enumerate(reader, start=1):
        yield Row(number, tuple(cell.strip() or None for cell in cells))


def _delimiter(line: str) -> str:
    return max("\t;,", key=line.count)


def _split(line: str) -> list[Cell]:
    return [*line.split(_delimiter(line))]


def _names(cells: Iterable[Cell]) -> list[str]:
    """The columns of a header as this program calls them; what it does not know stays as it is."""
    texts = [" ".join(cell_text(cell).strip('" .').lower().split()) for cell in cells]
    return [ALSO_CALLED.get(text.replace("_", " "), text.replace(" ", "_")) for text in texts]


def _is_header(cells: Sequence[Cell]) -> bool:
    names = _names(cells)
    return "serial" in names and len({*names} & {*NEEDED}) > 1


def _read_table(rows: Iterator[Row], source: str) -> Listed:
    seen: list[Row] = []
    header = None
    for row in rows:
        if len(seen) >= HEADER_WITHIN:
            break
        seen.append(row)
        if _is_header(row.cells):
            header = row
            break
    filled = [row for row in seen if any(cell is not None for cell in row.cells)]
    if not filled:
        return _refused("There is nothing in it.", source)
    names = _names((header or filled[0]).cells)
    missing = [name for name in NEEDED if name not in names]
    if missing:
        text = f"{', '.join(missing)} not found; expected a row that names the columns, out of {', '.join(COLUMNS)}."
        return _refused(text, source, (header or filled[0]).number)
    assert header is not None
    headers = {name: cell_text(cell).strip() for name, cell in zip(names, header.cells, strict=True)}
    twice = [name for name in COLUMNS if names.count(name) > 1]
    if twice:
        return _refused(f"The column {twice[0]} stands there twice.", source, header.number)
    body = [row for row in rows if any(cell is not None for cell in row.cells)]
    if not body:
        return _refused("There is no row below the names of the columns.", source, header.number)
    if len(body) > MOST_ROWS:
        return _refused(f"It has {len(body)} rows; at most {MOST_ROWS} at a time, please.", source)
    return _read_rows(names, body, source, {name: headers[name] for name in COLUMNS if name in headers})


def _refused(text: str, source: str, row: int = 0) -> Listed:
    return Listed((), problems=(Problem(row, text),), source=source)


def _read_rows(names: Sequence[str], rows: Sequence[Row], source: str, headers: Mapping[str, str]) -> Listed:
    changes: list[Change] = []
    models: dict[str, str] = {}
    weights: dict[str, Weighed] = {}
    problems: list[Problem] = []
    for row in rows:
        cells = _Cells(row.number, {name: _text(cell) for name, cell in zip(names, row.cells, strict=False)})
        change = _change(cells)
        if cells.text("model"):
            models[change.serial] = cells.text("model").removeprefix("'")[:LONGEST_MODEL]
        if (weighing := _weighing(cells, change.day)) is not None:
            weights[change.serial] = weighing
        changes.append(change)
        problems += cells.problems
    return Listed(tuple(changes), models, weights, tuple(problems), source, headers)


def _text(cell: Cell) -> str:
    """A cell as text, a day as ISO 8601 writes it."""
    if isinstance(cell, datetime):
        return cell.date().isoformat()
    return cell.isoformat() if isinstance(cell, date) else cell_text(cell).strip()


class _Cells:
    """The cells of one row by name, and what is wrong with them."""

    def __init__(self, row: int, cells: Mapping[str, str]) -> None:
        self.row, self.cells = row, cells
        self.problems: list[Problem] = []

    def text(self, name: str) -> str:
        return self.cells.get(name, "")

    def refuse(self, name: str, what: str, expected: str) -> None:
        value = shortened(self.text(name))
        given = f'"{value}" {what}' if value else "Nothing is given"
        self.problems.append(Problem(self.row, f"{given}; expected {expected}.", name))

    def day(self, name: str) -> date | None:
        try:
            return date.fromisoformat(self.text(name))
        except ValueError:
            self.refuse(name, "is not a day", A_DAY)
            return None

    def count(self, name: str) -> int:
        text = self.text(name)
        number = -1.0 if number_problem(text) else float(typed_number(text))
        if number.is_integer() and 0 <= number <= LARGEST_COUNT:
            return int(number)
        self.refuse(name, "is not a whole number", "a whole number such as 2")
        return 0


def _change(cells: _Cells) -> Change:
    serial = cells.text("serial").removeprefix("'")
    if len(serial) > LONGEST_SERIAL:
        cells.refuse("serial", "is too long", f"at most {LONGEST_SERIAL} characters")
    made = cells.day("made") if cells.text("made") else None
    place = None
    if cells.text("stage").lower() not in OUT:
        place = Place(cells.count("stage"), cells.count("vessel"), cells.count("position"))
    elif cells.text("vessel") or cells.text("position"):
        cells.refuse("stage", "does not say the stage", "the number of the stage, or no vessel and position either")
    return Change(cells.row, cells.day("day") or date.min, serial, place, made)


def _weighing(cells: _Cells, day: date) -> Weighed | None:
    text = cells.text("weight_kg")
    if not text:
        return None
    weight = 0.0 if number_problem(text) else float(typed_number(text))
    if not 0 < weight < HEAVIEST_KG:
        cells.refuse("weight_kg", "is no weight", A_WEIGHT)
    return Weighed((cells.day("weighed") if cells.text("weighed") else None) or day, weight)
