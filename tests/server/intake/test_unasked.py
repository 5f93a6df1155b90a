"""Foreign tables where nobody can be asked: read only when nothing is left to ask."""

import pytest

from server.errors import FileProblem
from server.intake.unasked import mapping_unasked
from server.intake.understand.understanding import Known

SITE = Known(timezone="Europe/Lisbon", stages=2, units="SI", train="RO 1")
CLEAR = "Date,Time,Feed pressure (bar)\n15/01/2024,06:00,12.5\n15/01/2024,14:00,12.6\n"


def test_a_clear_table_comes_with_its_mapping_and_says_how_it_was_understood() -> None:
    text, notes = mapping_unasked(CLEAR.encode(), "log.csv", SITE)
    assert '"Feed pressure (bar)" = "feed_pressure [bar]"' in text and 'clock = "Time"' in text
    assert any('"Feed pressure (bar)" as feed_pressure [bar]' in note for note in notes)


def test_a_canonical_table_needs_none() -> None:
    assert mapping_unasked(b"time,feed_pressure [bar]\n2024-01-15T06:00,12.5\n", "log.csv", SITE) == ("", ())


@pytest.mark.parametrize(
    ("table", "said"),
    [
        (CLEAR.replace("15/01", "05/01"), "In which order are dates written?"),
        (CLEAR.replace("14:00", "2:00") + "15/01/2024,10:00,12.6\n", "perhaps some are after noon and nothing says so"),
        (CLEAR.replace("Feed pressure", "Average feed pressure"), "which is a guess"),
    ],
)
def test_what_only_a_person_can_say_is_refused(table: str, said: str) -> None:
    with pytest.raises(FileProblem) as refused:
        mapping_unasked(table.encode(), "log.csv", SITE)
    assert said in refused.value.message and "--mapping" in refused.value.message


def test_units_that_nothing_in_the_file_tells_are_a_guess() -> None:
    """12.8 can be m3/h or L/s: where no column names a unit, nobody but a person can tell."""
    table = "Date,Feed pressure,Permeate flow\n15/01/2024 06:00,1320,12.8\n15/01/2024 14:00,1321,12.9\n"
    with pytest.raises(FileProblem) as refused:
        mapping_unasked(table.encode(), "log.csv", SITE)
    assert (
        "may be permeate_flow [m3/h] (its name says permeate flow; no unit is given; it could be m3/h, gpm, L/min"
        in (refused.value.message)
    )
