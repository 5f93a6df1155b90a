"""The demo fleet's headline numbers are those recorded: whoever moves one says so under "Results change"."""

import json
from datetime import date
from functools import cache
from typing import Any

import pytest

from analytics.assessment import Assessment
from server.assessments.document import assessment_document
from server.assessments.what_if import sliders_of, verdict_with
from tests.regression.record import CHANGELOG, RECORDED, SLUGS, assessed, headline_numbers, results_change

HOW = (
    'docs/changelog.md needs an entry under "Results change"; then run'
    ' `uv run python -m tests.regression.record "that entry"`'
)
ROUNDING = 0.0011
"""A third digit may fall the other way on another machine. [-]"""


@cache
def recorded() -> dict[str, Any]:
    found: dict[str, Any] = json.loads(RECORDED.read_text(encoding="utf-8"))
    return found


@cache
def answer(slug: str) -> Assessment:
    return assessed(slug)


@pytest.mark.parametrize("slug", SLUGS)
def test_the_limits_of_the_plant_tried_give_its_verdict(slug: str) -> None:
    """From the document as it is kept, rounded and turned to text and back."""
    document = json.loads(json.dumps(assessment_document(answer(slug), series=False), allow_nan=False))
    assert verdict_with(document, sliders_of(document, {})) == answer(slug).verdict


@pytest.mark.parametrize("slug", SLUGS)
def test_headline_numbers_are_those_recorded(slug: str) -> None:
    then, now = recorded()["trains"][slug], headline_numbers(answer(slug))
    for what in ("method", "verdict", "used", "set_aside", "runs", "first_cause"):
        assert now[what] == then[what], f"{what} of {slug} has changed: {HOW}"
    for what in ("indicators", "meters"):
        assert set(now[what]) == set(then[what]), f"{what} of {slug} have changed: {HOW}"
        for name, numbers in now[what].items():
            assert numbers == pytest.approx(then[what][name], abs=ROUNDING), f"{name} of {slug} has moved: {HOW}"
    assert set(now["reaches_limit"]) == set(then["reaches_limit"]), f"dates of {slug} have changed: {HOW}"
    for name, day in now["reaches_limit"].items():
        days = (date.fromisoformat(day) - date.fromisoformat(then["reaches_limit"][name])).days
        assert abs(days) <= 2, f"the date of {name} of {slug} has moved by {days} days: {HOW}"


def test_every_train_is_recorded_and_no_other() -> None:
    assert set(recorded()["trains"]) == set(SLUGS)


def test_the_recording_is_explained_in_the_changelog() -> None:
    assert recorded()["because"] in results_change(CHANGELOG.read_text(encoding="utf-8"))


def test_only_what_stands_under_results_change_counts() -> None:
    text = "# Changelog\n\nflow up\n\n## 0.2.0\n\n### Results change\n\nflow\ndown by 1 %\n\n## 0.1.0\n\nsalt up\n"
    assert results_change(text) == "flow down by 1 %"
