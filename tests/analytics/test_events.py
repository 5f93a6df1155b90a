"""Events: which kinds there are and which of them end a run."""

from datetime import UTC, datetime

import pytest

from analytics.events import INTERVENTIONS, KINDS, Event


@pytest.mark.parametrize("kind", KINDS)
def test_a_run_ends_where_the_membranes_themselves_were_changed(kind: str) -> None:
    event = Event(datetime(2026, 3, 1, tzinfo=UTC), kind)
    assert event.ends_run == (kind in ("cleaning", "element-replacement", "element-move"))


def test_the_kinds_are_the_ones_of_the_events_file() -> None:
    assert set(INTERVENTIONS) < set(KINDS)
    assert len(set(KINDS)) == len(KINDS)
    assert all(kind == kind.lower() and " " not in kind and "_" not in kind for kind in KINDS)


def test_an_event_concerns_the_whole_train_unless_a_stage_is_named_and_cannot_be_changed() -> None:
    event = Event(datetime(2026, 3, 1, tzinfo=UTC), "note")
    assert (event.stage, event.detail) == (None, "")
    with pytest.raises(AttributeError):
        event.stage = 2  # type: ignore[misc]
