"""The course of a change, from lines drawn by hand."""

from datetime import date, timedelta

import pytest

from analytics.judgement.course import course_of
from analytics.judgement.trend import Segment, Trend

START = date(2026, 1, 1)


def trend(levels: list[float], *, month: int = 30) -> Trend:
    days = [START + timedelta(days=month * n) for n in range(len(levels))]
    segments = tuple(
        Segment(a, b, va, vb, va, vb, va, vb)
        for a, b, va, vb in zip(days[:-1], days[1:], levels[:-1], levels[1:], strict=True)
    )
    return Trend("train", "permeate_flow", levels[-1], 0, 2, 0, 0, 0, 30, days[0], days[-1], segments, None)


@pytest.mark.parametrize(
    ("levels", "course"),
    [
        ([1.00, 0.98, 0.96, 0.94, 0.92, 0.90], "steady"),
        ([1.00, 0.995, 0.985, 0.97, 0.94, 0.88], "accelerating"),
        ([1.00, 0.94, 0.91, 0.90, 0.895, 0.893], "levelling off"),
        ([1.00, 1.00, 1.00, 1.20, 1.20, 1.20, 1.20], "step"),
    ],
)
def test_the_course_is_named(levels: list[float], course: str) -> None:
    found = course_of([trend(levels)])
    assert found is not None
    assert found.course == course


def test_half_of_the_change_is_dated() -> None:
    """By hand: 1.00 to 0.90 in five equal months passes 0.95 half-way, after 75 days."""
    found = course_of([trend([1.00, 0.98, 0.96, 0.94, 0.92, 0.90])])
    assert found is not None
    assert found.half_after_days == pytest.approx(75.0)


def test_the_largest_change_decides() -> None:
    small = trend([1.00, 0.99, 0.985, 0.98, 0.975, 0.97])
    large = trend([1.00, 0.90, 0.87, 0.865, 0.864, 0.863])
    found = course_of([small, large])
    assert found is not None
    assert found.course == "levelling off"


@pytest.mark.parametrize("levels", [[1.0, 0.99, 1.0, 0.99], [1.0, 0.9]])
def test_too_little_has_no_course(levels: list[float]) -> None:
    assert course_of([trend(levels)]) is None
