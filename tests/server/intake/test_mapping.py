"""Mappings of foreign logs, and what is wrong with them."""

import pytest

from server.errors import FileProblem
from server.intake.mapping_text import mapping_from_text

WHOLE = """
[file]
encoding = "cp1252"
delimiter = ";"
decimal = ","
sheet = "Log"
skip_rows = 2
missing = ["Bad"]

[time]
column = "Datum"
format = "%d.%m.%Y %H:%M"
timezone = "Europe/Vienna"

[columns]
"Druck ein" = "feed_pressure [bar]"
"Anmerkung" = "remark"

[constants]
"permeate_pressure [psi]" = 20
"""
COLUMNS = '[columns]\n"P" = "feed_pressure [bar]"\n'


def test_everything_that_a_mapping_may_say() -> None:
    found = mapping_from_text(WHOLE, file="m.toml")
    assert found.columns == {"Druck ein": "feed_pressure [bar]", "Anmerkung": "remark"}
    assert (found.time_column, found.time_format, str(found.zone)) == ("Datum", "%d.%m.%Y %H:%M", "Europe/Vienna")
    assert [(c.header.quantity.name, c.header.unit, c.value) for c in found.constants] == [
        ("permeate_pressure", "psi", 20.0)
    ]
    layout = found.layout
    assert (layout.encoding, layout.delimiter, layout.decimal) == ("cp1252", ";", ",")
    assert (layout.sheet, layout.skip_rows, layout.missing) == ("Log", 2, ("Bad",))


def test_only_the_columns_are_needed() -> None:
    found = mapping_from_text(COLUMNS, file="m.toml")
    assert (found.time_column, found.time_format, found.zone, found.constants) == ("time", "", None, ())


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", r"\[columns\] is missing"),
        ("[columns]\nx = = 1", "m.toml: is not valid TOML: .*line 2"),
        (COLUMNS + '[times]\ncolumn = "x"', 'm.toml: times: not a key known here; did you mean "time"'),
        (COLUMNS + '[time]\ncolum = "x"', 'time.colum: not a key known here; did you mean "column"'),
        (COLUMNS + "[time]\ncolumn = 3", "time.column: found 3; expected text"),
        (COLUMNS + '[time]\ntimezone = "Mars"', '"Mars" is not a time zone'),
        (
            '[columns]\n"P" = "feed_presure [bar]"',
            'columns."P": "feed_presure .bar." names no quantity .*feed_pressure',
        ),
        ('[columns]\n"P" = "feed_pressure [gpm]"', 'columns."P": the unit of .* does not fit; expected one of bar'),
        ('[columns]\n"P" = 3', 'columns."P": found 3'),
        ('[columns]\n"P" = "feed_ph"\n"Q" = "feed_ph [-]"', '"P" and "Q" both stand for feed_ph'),
        (COLUMNS + '[constants]\n"feed_pressure [psi]" = 3', "feed_pressure is a column or constant already"),
        (COLUMNS + '[constants]\n"feed_ph" = "x"', """constants."feed_ph": found 'x'; expected a number"""),
        (COLUMNS + '[constants]\n"feed_ph" = true', "found True; expected a number"),
        (COLUMNS + '[constants]\n"feed_ph" = nan', "found nan; expected a number"),
        (COLUMNS + '[file]\nencoding = "klingon"', '"klingon" is not an encoding'),
        (COLUMNS + '[file]\ndelimiter = ";;"', "file.delimiter: .*expected one character"),
        (COLUMNS + '[file]\ndecimal = ","\ndelimiter = ","', "file.decimal"),
        (COLUMNS + "[file]\nskip_rows = -1", "file.skip_rows: found -1"),
        (COLUMNS + '[file]\nmissing = "Bad"', "file.missing: .*expected a list"),
        ("columns = 3", "columns: found 3"),
    ],
)
def test_a_slip_is_named_by_its_key(text: str, message: str) -> None:
    with pytest.raises(FileProblem, match=message) as raised:
        mapping_from_text(text, file="m.toml")
    assert "\n" not in str(raised.value)
