"""Events files `time,kind,stage,detail`."""

from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from analytics.events import Event
from server.errors import FileProblem
from server.events.events_file import read_events

HEADER = "time,kind,stage,detail\n"


def read(text: str | bytes, **given: Any) -> tuple[Event, ...]:
    content = text.encode() if isinstance(text, str) else text
    return read_events(content, **{"filename": "events.csv", "timezone": "Europe/Lisbon"} | given)


def test_events_come_in_order_of_time_in_utc() -> None:
    text = HEADER + '2026-07-05 10:00,Cleaning,2,"high pH, then low"\n2026-07-01T10:00Z,note,,\n'
    assert read(text) == (
        Event(datetime(2026, 7, 1, 10, tzinfo=UTC), "note"),
        Event(datetime(2026, 7, 5, 9, tzinfo=UTC), "cleaning", 2, "high pH, then low"),
    )


def test_stage_and_detail_may_be_left_out_and_other_columns_are_ignored() -> None:
    assert read("kind,who,time\nelement replacement,Ana,2026-01-05\n") == (
        Event(datetime(2026, 1, 5, 12, tzinfo=UTC), "element-replacement"),
    )


@pytest.mark.parametrize("text", [HEADER, HEADER + "\n,,,\n"])
def test_no_events(text: str) -> None:
    assert read(text) == ()


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "events.csv: is empty"),
        ("when,kind\n", 'events.csv, row 1: has no "time" column; expected headers time,kind,stage,detail'),
        ("time,what\n2026-01-05,note\n", 'events.csv, row 1: has no "kind" column'),
        (HEADER + "2026-01-05,note,,\nsoon,note,,\n", 'events.csv, row 3, column "time": "soon" is not a time'),
        (HEADER + ",note,,\n", 'events.csv, row 2, column "time": the cell is empty; expected a time'),
        (HEADER + "2026-01-05,washing,,\n", 'events.csv, row 2, column "kind": "washing" is not a kind of event'),
        (HEADER + "2026-01-05,,,x\n", 'events.csv, row 2, column "kind": the cell is empty; expected one of start-up'),
        (HEADER + "2026-01-05,note,3,\n", 'row 2, column "stage": "3" is not a stage of this train; expected 1 to 2'),
        (HEADER + "2026-01-05,note,1.5,\n", 'row 2, column "stage": "1.5" is not a stage'),
        (HEADER + "2026-01-05,note,first,\n", 'row 2, column "stage": "first" is not a stage'),
    ],
)
def test_what_cannot_be_meant_gets_one_plain_line(text: str, message: str) -> None:
    with pytest.raises(FileProblem) as raised:
        read(text, stages=2)
    assert message in str(raised.value)
    assert "\n" not in str(raised.value)


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(FileProblem, match="cannot be read"):
        read_events(tmp_path / "none.csv", timezone="UTC")
