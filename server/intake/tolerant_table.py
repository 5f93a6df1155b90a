"""The header of a table that is read tolerantly, and then its readings one by one."""

from collections.abc import Iterator
from dataclasses import replace

from server.errors import FileProblem
from server.intake.across import find_across
from server.intake.dates_above import DATE_ABOVE, date_heading
from server.intake.header_rows import cell_text, header_names
from server.intake.mapping import FileMapping
from server.intake.rows import Row, cell_at, place_of
from server.intake.tolerant_numbers import Told
from server.intake.trains_above import TRAIN_ABOVE
from server.intake.understand.words import knows_words


class Table:
    """The header of a table, and then its readings one by one."""

    def __init__(self, file: str, mapping: FileMapping, rows: Iterator[Row]) -> None:
        self.file, self.mapping = file, mapping
        self.tags: tuple[str, ...] = ()
        layout = (
            replace(mapping.layout, skip_rows=0, header_rows=1, skip_below=0)
            if mapping.layout.parts
            else mapping.layout
        )
        self._rows = rows
        self._above = layout.skip_rows + layout.header_rows + layout.skip_below
        head = [row for _, row in zip(range(self._above), rows, strict=False)]
        header = [row.cells for row in head[layout.skip_rows : layout.skip_rows + layout.header_rows]]
        self._first = next(rows, None)
        width = len(self._first.cells) if self._first else 0
        names = header_names(header) if header else header_names([(None,) * width])
        above = DATE_ABOVE if layout.dates_above else TRAIN_ABOVE if layout.trains_above else ""
        self.names = (above, *header_names([cells[1:] for cells in header])) if above else names
        self._across = find_across(self.names) if layout.across else None
        self._time = self.names.index(mapping.time_column) if mapping.time_column in self.names else -1
        if self._across is not None:
            self.names = self._across.names
        self.header_row = layout.skip_rows + max(layout.header_rows, 1)
        self._head = {tuple(cell_text(cell).lower() for cell in row if cell is not None) for row in header}

    def number(self, name: str) -> int:
        """Position of a column."""
        if name not in self.names:
            listed = ", ".join(name for name in self.names if name)
            what = f'has no column "{name}", which the mapping names'
            raise FileProblem(self.file, what, row=self.header_row, expected=f"one of: {listed}")
        return self.names.index(name)

    def readings(self, told: Told) -> Iterator[Row]:
        """Rows that hold anything and are no header, of the train that is meant."""
        only = {self.number(name): value for name, value in self.mapping.only.items()}
        rows = self._rows if self._first is None else (row for part in ([self._first], self._rows) for row in part)
        for row in rows:
            if place_of(row.number, ())[1] <= self._above or all(cell is None for cell in row.cells):
                continue
            if self._is_header(row):
                told.note("The header comes again and was left out", row.number)
                continue
            if self.mapping.layout.dates_above and date_heading(Row(row.number, row.cells[1:])) is not None:
                continue
            self._refuse_other_header(row)
            for part in [row] if self._across is None else self._across.apart([row]):
                if all(cell_text(cell_at(part, number)) == value for number, value in only.items()):
                    yield part

    def _refuse_other_header(self, row: Row) -> None:
        """Below another header each column may hold something else: nobody can leave out that row and go on."""
        name = cell_text(cell_at(row, self._time)).lower() if self._time >= 0 else ""
        texts = [cell for cell in row.cells if isinstance(cell, str)]
        named = len(texts) > 1 and name and any(name == cell for head in self._head for cell in head)
        if named and sum(knows_words(text) and not any(s.isdigit() for s in text) for text in texts) > 0.5 * len(texts):
            sheet, number = place_of(row.number, self.mapping.layout.sheets)
            where = f'{self.file}, sheet "{sheet}"' if sheet else self.file
            expected = f"the same columns as in row {self.header_row}, or each table in a file of its own"
            raise FileProblem(where, "begins a table with other columns", row=number, expected=expected)

    def _is_header(self, row: Row) -> bool:
        layout = self.mapping.layout
        cells = row.cells[1:] if layout.dates_above or layout.trains_above else row.cells
        filled = tuple(cell_text(cell).lower() for cell in cells if cell is not None)
        return len(filled) > 1 and filled in self._head
