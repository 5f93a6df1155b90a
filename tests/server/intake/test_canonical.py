"""From the bytes of a log to readings in canonical units; every doubt is named, nothing is guessed in silence."""

import io
import math
import re
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
import xlsxwriter
from hypothesis import given, settings
from hypothesis import strategies as st

from server.errors import FileProblem
from server.intake.canonical import read_readings
from server.intake.mapping_text import mapping_from_text
from server.intake.table import ReadingsTable

HEADER = "time,feed_pressure [psi],permeate_flow [gpm]\n"
BAR_PER_PSI = 0.06894757  # NIST SP 811 (2008), Appendix B.8


def read(text: str | bytes, **given: Any) -> ReadingsTable:
    content = text.encode() if isinstance(text, str) else text
    return read_readings(content, **{"filename": "log.csv", "timezone": "Europe/Lisbon"} | given)


def refusal(text: str | bytes, **given: Any) -> str:
    """The one line with which a file is refused."""
    with pytest.raises(FileProblem) as raised:
        read(text, **given).require_clean()
    line = str(raised.value)
    assert "\n" not in line
    assert line.startswith("log.csv")
    return line


def workbook(*rows: list[Any], sheet: str = "Log") -> bytes:
    stream = io.BytesIO()
    book = xlsxwriter.Workbook(stream, {"default_date_format": "yyyy-mm-dd hh:mm"})
    page = book.add_worksheet(sheet)
    for number, row in enumerate(rows):
        page.write_row(number, 0, row)
    book.close()
    return stream.getvalue()


def test_values_arrive_in_canonical_units_at_their_instants() -> None:
    table = read(HEADER + "2026-07-05 06:10,174.5,10\n2026-07-05 14:00,200,\n")
    assert table.frame.index.tolist() == [
        pd.Timestamp("2026-07-05T05:10Z"),
        pd.Timestamp("2026-07-05T13:00Z"),
    ]
    assert table.frame.index.name == "taken_at"
    assert table.frame["feed_pressure_bar"].tolist() == pytest.approx([174.5 * BAR_PER_PSI, 200 * BAR_PER_PSI])
    assert table.frame["permeate_flow_m3h"].iloc[0] == pytest.approx(10 * 3.785411784 * 0.06)  # L per US gallon
    assert math.isnan(table.frame["permeate_flow_m3h"].iloc[1])
    assert table.units == {"feed_pressure_bar": "psi", "permeate_flow_m3h": "gpm"}
    assert (table.rows, table.problems, table.notes, table.unknown_columns) == (2, (), (), ())


def test_rows_are_put_in_order_of_time_and_know_their_row_in_the_file() -> None:
    table = read(HEADER + "2026-07-05 06:00,3,\n2026-07-03 06:00,1,\n2026-07-05 06:00,4,\n2026-07-04 06:00,2,\n")
    assert table.row_numbers.tolist() == [3, 5, 2, 4]
    assert (table.frame["feed_pressure_bar"] / BAR_PER_PSI).round().tolist() == [1, 2, 3, 4]


def test_a_byte_order_mark_is_no_part_of_the_header() -> None:
    assert len(read(b"\xef\xbb\xbf" + HEADER.encode() + b"2026-01-05 06:10,1,2\n").frame) == 1


@pytest.mark.parametrize("newline", ["\n", "\r\n", "\r"])
def test_any_line_ending(newline: str) -> None:
    text = (HEADER + "2026-01-05 06:10,1,2\n2026-01-05 07:10,1,x\n").replace("\n", newline)
    assert refusal(text).startswith('log.csv, row 3, column "permeate_flow [gpm]"')


@pytest.mark.parametrize("cell", ["", "NA", "N/A", "n/a", "-", "--", "null", "Null", "NaN", " NA", '""'])
def test_a_missing_value_is_missing(cell: str) -> None:
    table = read(HEADER + f"2026-01-05 06:10,1,{cell}\n")
    assert math.isnan(table.frame["permeate_flow_m3h"].iloc[0])
    assert table.problems == ()


@pytest.mark.parametrize(("cell", "value"), [("1e2", 100.0), (" 5 ", 5.0), ('"5"', 5.0), ("+5.", 5.0), ("-.5", -0.5)])
def test_a_number_may_be_written_in_many_ways(cell: str, value: float) -> None:
    table = read(f"time,feed_ph\n2026-01-05 06:10,{cell}\n2026-01-05 07:10,x\n")
    assert table.frame["feed_ph"].iloc[0] == value


def test_a_word_in_a_column_of_numbers() -> None:
    assert refusal(HEADER + "2026-01-05 06:10,1,2\n\n2026-01-05 07:10,12;o,2\n2026-01-05 07:10,1,z\n") == (
        'log.csv, row 4, column "feed_pressure [psi]": "12;o" is not a number; expected a number such as 174.5'
        " (and 1 more problem)"
    )


@pytest.mark.parametrize("cell", ["True", "0x10", "1_0", "1 2", "12,5", "١٢x", "=A1", "1e"])
def test_what_is_not_quite_a_number(cell: str) -> None:
    assert f'"{cell}" is not a number' in refusal(HEADER + f'2026-01-05 06:10,"{cell}",2\n')


@pytest.mark.parametrize("cell", ["inf", "-inf", "Infinity", "1e999"])
def test_an_endless_number(cell: str) -> None:
    assert "is not a finite number" in refusal(HEADER + f"2026-01-05 06:10,{cell},2\n")


def test_every_problem_is_counted_and_the_first_are_listed_by_row() -> None:
    rows = "".join(f"2026-01-{day:02},a,b\n" for day in range(1, 32)) * 40
    table = read(HEADER + rows)
    assert table.problem_count == 2 * 31 * 40
    assert [problem.row for problem in table.problems[:4]] == [2, 2, 3, 3]
    assert len(table.problems) == 100


def test_problems_come_first_by_row_whatever_their_column() -> None:
    rows = ["2026-01-05 06:10,1,2"] * 300
    rows[250], rows[3] = "2026-01-05 06:10,x,2", "2026-01-05 06:10,1,y"
    assert 'row 5, column "permeate_flow [gpm]"' in refusal(HEADER + "\n".join(rows))


def test_rows_without_a_time_or_with_none_that_can_be_read() -> None:
    table = read(HEADER + ",1,2\nsoon,1,2\n1066-10-14,1,2\n2026-01-05 06:10,1,2\n")
    assert [problem.text for problem in table.problems] == [
        'row 2, column "time": has no time; expected a time such as 2026-01-05 06:10 (ISO 8601)',
        'row 3, column "time": "soon" is not a time; expected a time such as 2026-01-05 06:10 (ISO 8601)',
        'row 4, column "time": "1066-10-14" lies before 1970; expected a time such as 2026-01-05 06:10 (ISO 8601)',
    ]
    assert table.rows == 4


def test_a_year_typed_wrong_lies_in_the_future() -> None:
    latest = datetime(2026, 3, 1, tzinfo=UTC)
    assert 'row 2, column "time": "2062-01-05" lies in the future' in refusal(
        HEADER + "2062-01-05,1,2\n", latest=latest
    )
    assert len(read(HEADER + "2062-01-05,1,2\n").frame) == 1


def test_blank_rows_are_no_readings() -> None:
    table = read(HEADER + "\n2026-01-05 06:10,1,2\n,,\n\n")
    assert (table.rows, len(table.frame)) == (1, 1)


def test_headers_without_a_unit_take_the_canonical_one_and_say_so() -> None:
    table = read("time,feed_pressure,feed_ph\n2026-01-05 06:10,12,7\n")
    assert table.frame["feed_pressure_bar"].tolist() == [12.0]
    assert table.notes == ("No unit is given for these, so the canonical one was taken: feed_pressure [bar].",)
    assert table.units == {"feed_pressure_bar": "bar", "feed_ph": "-"}


def test_unknown_columns_are_reported_and_ignored() -> None:
    table = read("time,operator,feed_presure [bar],feed_ph\n2026-01-05 06:10,Ana,x,7\n")
    assert table.unknown_columns[0] == "operator"
    assert table.unknown_columns[1].startswith("feed_presure [bar] (did you mean feed_pressure")
    assert list(table.frame.columns) == ["feed_ph"]
    assert table.problems == ()


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "log.csv: is empty"),
        (" \n\n", "log.csv: is empty"),
        (b"\xff\xfet\x00i\x00", "log.csv: is UTF-16 text; expected a CSV file in UTF-8"),
        (bytes(range(256)) * 4, "log.csv: is not a text file"),
        (b"PK\x03\x04 and then something else", "log.csv: cannot be read as an XLSX file"),
        (HEADER, "log.csv: has a header but no readings"),
        (HEADER + "\n,,\n", "log.csv: has a header but no readings"),
        ("feed_ph\n7\n", 'log.csv, row 1: has no "time" column'),
        ("time,TIME,feed_ph\n2026-01-05,2026-01-05,7\n", 'log.csv, row 1: has two "time" columns'),
        ("time,colour\n2026-01-05,red\n", "log.csv, row 1: has no column that names a known quantity"),
        ("<html><body>Log in</body></html>", 'log.csv, row 1: has no "time" column'),
        (HEADER + "2026-01-05 06:10,1,2,3\n", "log.csv, row 2: has more than 3 cells; expected 3"),
        (HEADER + "2026-01-05,1,2\n2026-01-05,1,2,,,9\n", "log.csv, row 3: has 6 cells; expected 3"),
        (HEADER + '2026-01-05,1,2\n2026-01-05,1,"2\n', "log.csv, row 3: opens a quotation mark"),
        (
            HEADER.encode() + b"2026-01-05,1,2\n2026-01-05,\xb01,2\n",
            "log.csv, row 3: holds a byte .0xb0. that is not UTF-8",
        ),
        (
            "time,feed_pressure [gpm]\n2026-01-05,1\n",
            'log.csv, row 1, column "feed_pressure .gpm.": the unit does not fit; expected one of bar, mbar, psi',
        ),
        (
            "time,feed_flow [gpm],feed_flow [m3/h]\n2026-01-05,1,2\n",
            'log.csv, row 1, column "feed_flow .m3/h.": is feed_flow again',
        ),
    ],
)
def test_a_file_that_cannot_be_used_gets_one_plain_line(text: str | bytes, message: str) -> None:
    assert re.search(message, refusal(text))


def test_empty_cells_beyond_the_header_do_no_harm() -> None:
    assert read(HEADER + "2026-01-05 06:10,1,2,\n").problems == ()


@pytest.mark.parametrize("delimiter", [";", "\t"])
def test_semicolons_and_tabs_are_seen_from_the_header(delimiter: str) -> None:
    table = read((HEADER + "2026-01-05 06:10,1.5,2\n").replace(",", delimiter))
    assert table.frame["feed_pressure_bar"].tolist() == pytest.approx([1.5 * BAR_PER_PSI])


def test_more_rows_or_bytes_than_allowed_are_refused(tmp_path: Path) -> None:
    text = HEADER + "2026-01-05 06:10,1,2\n" * 11
    assert refusal(text, max_rows=10) == "log.csv: has 11 rows; expected at most 10"
    path = tmp_path / "log.csv"
    path.write_text(text)
    with pytest.raises(FileProblem, match=r"^log.csv: has \d+ bytes; expected at most 100$"):
        read_readings(path, timezone="UTC", max_bytes=100)


def test_a_file_that_is_not_there_is_named(tmp_path: Path) -> None:
    with pytest.raises(FileProblem, match=r"none\.csv: cannot be read"):
        read_readings(tmp_path / "none.csv", timezone="UTC")


def test_state_and_remark_come_along() -> None:
    table = read("time,state,remark,feed_ph\n2026-01-05 06:10,Running,\n2026-01-05 07:10,, gauge sticks \n")
    assert table.frame["state"].tolist() == ["running", ""]
    assert table.frame["remark"].tolist() == ["", "gauge sticks"]
    assert 'column "state": "off" is not a state; expected one of running, starting, stopped' in refusal(
        "time,state,feed_ph\n2026-01-05 06:10,off,7\n"
    )


def test_a_workbook_says_the_same_as_the_text() -> None:
    book = workbook(
        ["time", "feed_pressure [psi]", "permeate_flow [gpm]"],
        [datetime(2026, 7, 5, 6, 10), 174.5, 10],  # noqa: DTZ001  # workbooks know no zones
        [date(2026, 7, 6), "200", "n/a"],
        ["2026-07-07T06:10Z", 12, None],
    )
    text = HEADER + "2026-07-05 06:10,174.5,10\n2026-07-06 00:00,200,\n2026-07-07T06:10Z,12,\n"
    pd.testing.assert_frame_equal(read(book).frame, read(text).frame)


def test_a_word_in_a_workbook_is_found_by_its_row() -> None:
    book = workbook(["time", "feed_ph"], ["2026-01-05 06:10", 7.1], ["2026-01-05 07:10", "seven"], [46027.25, 7.2])
    assert [problem.text for problem in read(book).problems] == [
        'sheet "Log", row 3, column "feed_ph": "seven" is not a number; expected a number such as 174.5',
        'sheet "Log", row 4, column "time": "46027.25" is not a time; expected '
        "a time such as 2026-01-05 06:10 (ISO 8601)",
    ]


def test_a_workbook_without_readings() -> None:
    assert refusal(workbook(["time", "feed_ph"])) == "log.csv: has a header but no readings"
    assert "has no header" in refusal(workbook())


MAPPED = """
[file]
encoding = "cp1252"
delimiter = ";"
decimal = ","
skip_rows = 2
missing = ["Störung"]
[time]
column = "Zeit"
format = "%d.%m.%Y %H:%M"
timezone = "Europe/Vienna"
[columns]
"Druck °" = "feed_pressure [bar]"
"Notiz" = "remark"
[constants]
"permeate_pressure [kPa]" = 50
"""


def test_a_mapping_reads_a_foreign_log() -> None:
    text = "Anlage 7\n\nZeit;Druck °;Notiz;Leer\n05.07.2026 06:10;12,5;gut;9\n05.07.2026 07:10;Störung;;9\n"
    table = read(text.encode("cp1252"), mapping=mapping_from_text(MAPPED, file="m.toml"))
    assert table.frame.index[0] == pd.Timestamp("2026-07-05T04:10Z")
    assert table.frame["feed_pressure_bar"].tolist() == pytest.approx([12.5, math.nan], nan_ok=True)
    assert table.frame["permeate_pressure_bar"].tolist() == [0.5, 0.5]
    assert table.frame["remark"].tolist() == ["gut", ""]
    assert table.row_numbers.tolist() == [4, 5]
    assert table.unknown_columns == ("Leer",)
    assert "Permeate pressure: 50 kPa, a constant of the mapping." in table.notes


def test_a_column_that_the_mapping_names_must_be_there() -> None:
    mapping = mapping_from_text('[columns]\n"P1" = "feed_pressure [bar]"', file="m.toml")
    assert refusal("time,P2\n2026-01-05,1\n", mapping=mapping) == (
        'log.csv, row 1: has no column "P1", which the mapping names; expected one of: time, P2'
    )


def test_a_sheet_that_the_mapping_names_must_be_there() -> None:
    mapping = mapping_from_text('[file]\nsheet = "June"\n[columns]\n"P" = "feed_ph"', file="m.toml")
    book = workbook(["time", "P"], ["2026-01-05", 7], sheet="May")
    assert refusal(book, mapping=mapping) == 'log.csv: has no sheet "June"; expected one of: May'


@settings(max_examples=150, deadline=None)
@given(st.lists(st.tuples(st.text(max_size=12), st.text(max_size=12)), min_size=1, max_size=8))
def test_odd_cells_never_break_and_never_vanish(cells: list[tuple[str, str]]) -> None:
    """Every cell is a number in the frame, missing, or a problem; every row is in the frame or a problem."""
    stream = io.StringIO()
    frame = pd.DataFrame(cells, columns=["time", "feed_ph"])
    frame.to_csv(stream, index=False, quoting=1)
    try:
        table = read(stream.getvalue().encode("utf-8", "replace"))
    except FileProblem as error:
        assert "\n" not in str(error)
        return
    bad_times = sum(problem.column == "time" for problem in table.problems)
    before_1970 = sum("before 1970" in problem.what for problem in table.problems)
    assert len(table.frame) + bad_times - before_1970 == table.rows
    assert np.isfinite(table.frame["feed_ph"].dropna()).all() or table.problem_count


@settings(max_examples=60, deadline=None)
@given(st.lists(st.floats(allow_nan=False, allow_infinity=False, width=32), min_size=1, max_size=20))
def test_numbers_come_through_unchanged(values: list[float]) -> None:
    rows = "".join(f"2026-01-05 06:{minute:02},{value!r}\n" for minute, value in enumerate(values))
    table = read("time,feed_ph\n" + rows)
    assert table.frame["feed_ph"].tolist() == pytest.approx(values, rel=1e-14)
