"""Files that do not fit their mapping, and cells that no clock shows: said in one line, never an error of ours."""

import pytest

from server.errors import FileProblem
from server.intake.canonical import read_readings
from server.intake.mapping_text import mapping_from_text
from server.intake.moments import read_clock, read_moment

LOG = b"Time,S,P\n2026-01-02 06:00,,12\n"
MAPPING = (
    '[file]\ntolerant = true\nparts = "{parts}"\n[time]\ncolumn = "Time"\n[columns]\n"X" = "feed_pressure [bar]"\n'
)
LONG = MAPPING.replace('parts = "{parts}"', "").replace("[columns]", '[long]\ntag = "S"\nvalue = "P"\n[columns]')


@pytest.mark.parametrize("text", [*(MAPPING.format(parts=parts) for parts in ("times", "sheets", "S", "Skid")), LONG])
@pytest.mark.parametrize("log", [LOG, LOG.splitlines()[0] + b"\n"])
def test_a_file_without_the_parts_of_its_mapping_is_refused_in_words(text: str, log: bytes) -> None:
    mapping = mapping_from_text(text, file="m.toml")
    with pytest.raises(FileProblem, match=r"^a\.csv"):
        read_readings(log, timezone="UTC", filename="a.csv", mapping=mapping)


@pytest.mark.parametrize("encoding", ["hex", "rot13", "undefined", "none-such"])
def test_an_encoding_that_is_none_of_text_is_refused_in_words(encoding: str) -> None:
    with pytest.raises(FileProblem, match="is not an encoding"):
        mapping_from_text(MAPPING.format(parts="times").replace("[time]", f'encoding = "{encoding}"\n[time]'), file="m")


@pytest.mark.parametrize("zone", ["+99:00", "+14:99", "-24:00"])
def test_an_offset_that_no_clock_has_is_no_time(zone: str) -> None:
    assert read_moment(f"2026-01-02 06:00 {zone}", "year first") is None
    assert read_moment("2026-01-02 06:00 +05:45", "year first") is not None


@pytest.mark.parametrize("number", [float("inf"), float("nan"), 1e300])
def test_a_number_that_is_no_clock_is_none(number: float) -> None:
    assert read_clock(number) is None
