"""The map of elements: what may be, and what is refused in words."""

from datetime import date

import pytest

from analytics.decisions.element_map import Change, Layout, Place, Stay, apply_changes, present, turned_around

LAYOUT = Layout(((2, 3), (1, 3)))
START, LATER = date(2026, 1, 10), date(2026, 6, 1)


def fill(vessel: int, stage: int = 1, prefix: str = "A") -> list[Change]:
    return [Change(n, START, f"{prefix}{vessel}{n}", Place(stage, vessel, n)) for n in (1, 2, 3)]


def filled() -> tuple[Stay, ...]:
    applied = apply_changes((), [*fill(1), *fill(2), *fill(1, 2, "B")], LAYOUT)
    assert not applied.problems
    return applied.stays


def test_a_new_train_is_filled() -> None:
    now = present(filled())
    assert len(now) == 9 and now[Place(2, 1, 3)].serial == "B13"


def test_one_element_is_replaced_and_its_stay_ends() -> None:
    applied = apply_changes(filled(), [Change(1, LATER, "C1", Place(2, 1, 3))], LAYOUT)
    assert not applied.problems
    assert present(applied.stays)[Place(2, 1, 3)].serial == "C1"
    old = next(stay for stay in applied.stays if stay.serial == "B13")
    assert old.until == LATER


def test_two_change_places_on_one_day() -> None:
    moves = [Change(1, LATER, "A11", Place(1, 1, 3)), Change(2, LATER, "A13", Place(1, 1, 1))]
    now = present(apply_changes(filled(), moves, LAYOUT).stays)
    assert (now[Place(1, 1, 3)].serial, now[Place(1, 1, 1)].serial) == ("A11", "A13")


def test_a_vessel_is_turned_around() -> None:
    changes = turned_around(filled(), (1, 2), LATER, LAYOUT)
    now = present(apply_changes(filled(), changes, LAYOUT).stays)
    assert [now[Place(1, 2, n)].serial for n in (1, 2, 3)] == ["A23", "A22", "A21"]


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ([Change(1, LATER, "A11", Place(1, 2, 1))], "would have a hole at position 1"),
        ([Change(1, LATER, "A11", None)], "would have a hole at position 1"),
        ([Change(1, LATER, "N1", Place(1, 1, 1)), Change(2, LATER, "N1", Place(1, 1, 2))], "N1 stands in row 1, too"),
        ([Change(1, LATER, "N1", Place(1, 1, 1)), Change(2, LATER, "N2", Place(1, 1, 1))], "Row 1 puts another"),
        ([Change(1, LATER, "N1", Place(3, 1, 1))], "This train has no stage 3"),
        ([Change(1, LATER, "N1", Place(1, 1, 1), made=date(2026, 7, 1))], "was made on 2026-07-01, after"),
        ([Change(1, date(2025, 1, 1), "N1", Place(1, 1, 1))], "something later is known"),
        ([Change(1, LATER, "X", None)], "X is not in this train"),
        ([Change(1, LATER, " ", Place(1, 1, 1))], "serial number is missing"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_is_applied(changes: list[Change], said: str) -> None:
    before = filled()
    applied = apply_changes(before, changes, LAYOUT)
    assert said in applied.problems[0].text
    assert applied.stays == before


def test_a_whole_vessel_may_be_emptied() -> None:
    applied = apply_changes(filled(), [Change(n, LATER, f"A1{n}", None) for n in (1, 2, 3)], LAYOUT)
    assert not applied.problems and len(present(applied.stays)) == 6


def test_what_lies_there_already_is_left_alone() -> None:
    again = [Change(n, stay.since, stay.serial, stay.place) for n, stay in enumerate(filled(), start=2)]
    later = [Change(c.row, LATER, c.serial, c.place) for c in again]
    new = Change(90, LATER, "C1", Place(2, 1, 3))
    assert apply_changes(filled(), again, LAYOUT) == apply_changes(filled(), later, LAYOUT)
    assert apply_changes(filled(), again, LAYOUT).stays == filled()
    mixed = apply_changes(filled(), [*(c for c in later if c.place != new.place), new], LAYOUT)
    assert mixed.changes == (new,) and len(mixed.stays) == len(filled()) + 1
