"""Probings whose leak is known: shapes by hand, and what a balance of salt makes of a leak that others dilute."""

import numpy as np
import pytest

from analytics.errors import InvalidSettings
from analytics.judgement.probing import probe_step

PLACES = [0.1, 0.9, 1.1, 1.9, 2.1, 2.9, 3.1, 3.9, 4.1, 4.9, 5.1, 5.9]
SMOOTH = [40.0, 41, 42, 43, 44.5, 46, 47, 48.5, 50, 51, 53, 54]


def raised(first: int, by: float = 25.0) -> list[float]:
    """The smooth vessel with all samples from one on raised."""
    return [value + (by if n >= first else 0.0) for n, value in enumerate(SMOOTH)]


def mixed(leak_at: float | None, load: float = 40.0) -> list[float]:
    """Permeate along a tube that leaves at the concentrate end: a balance of salt with even flux, and a leak."""
    at = np.array(PLACES)
    return [float(v) for v in 40 + 1.5 * at + (0 if leak_at is None else np.where(at > leak_at, load / at, 0.0))]


@pytest.mark.parametrize(
    "values",
    [
        SMOOTH,
        mixed(None),
        [40.0] * 12,
        [40, 42, 40, 43, 42, 44, 43, 46, 45, 48, 46, 49],
        [40, 40.5, 41, 42, 43, 44.5, 46, 48.5, 51, 54.5, 58, 63],
    ],
)
def test_a_smooth_rise_is_no_leak(values: list[float]) -> None:
    assert probe_step(PLACES, values).kind == "none"


@pytest.mark.parametrize("connector", [1, 2, 3, 4, 5])
def test_a_step_at_a_connector_is_a_seal(connector: int) -> None:
    for values in (raised(2 * connector), mixed(float(connector))):
        found = probe_step(PLACES, values)
        assert (found.kind, found.place, found.odd) == ("connector", connector, ())
        assert f"between element {connector} and {connector + 1}" in found.said


@pytest.mark.parametrize("element", [2, 3, 4, 5])
def test_a_step_within_an_element_is_its_membrane(element: int) -> None:
    for values in (raised(2 * element - 1), mixed(element - 0.5)):
        found = probe_step(PLACES, values)
        assert (found.kind, found.place, found.odd) == ("element", element, ())


@pytest.mark.parametrize(("share", "kind"), [(0.3, "odd"), (0.7, "connector")])
def test_a_step_must_stay_behind_the_leak(share: float, kind: str) -> None:
    """Of a leak between elements 3 and 4 the samples further on keep a share of what mixing leaves: half is asked."""
    later = np.where(np.array(PLACES) > 3.2, share, 1.0)
    smooth, leaking = np.array(mixed(None)), np.array(mixed(3.0))
    assert probe_step(PLACES, [float(v) for v in smooth + later * (leaking - smooth)]).kind == kind


def test_permeate_that_leaves_at_the_feed_end_carries_the_leak_there() -> None:
    values = [value + (25 if n < 6 else 0) for n, value in enumerate(SMOOTH)]
    found = probe_step(PLACES, values)
    assert (found.kind, found.place) == ("connector", 3) and found.step_us_cm < 0


@pytest.mark.parametrize("position", range(12))
@pytest.mark.parametrize("by", [30.0, -25.0])
def test_one_odd_sample_is_to_be_taken_again(position: int, by: float) -> None:
    values = [value + (by if n == position else 0) for n, value in enumerate(SMOOTH)]
    found = probe_step(PLACES, values)
    assert (found.kind, found.odd) == ("odd", (PLACES[position],))
    assert f"The sample at {PLACES[position]:g} stands alone: take it again." in found.said


def test_a_single_high_sample_of_six() -> None:
    """40 70 42 43 44 45: the jump of 29 leaves nothing of itself (worked by hand in docs/method.md)."""
    found = probe_step(PLACES[:6], [40, 70, 42, 43, 44, 45])
    assert (found.kind, found.odd, found.step_us_cm) == ("odd", (0.9,), 29.0)


def test_two_neighbours_that_fall_back_are_odd_too() -> None:
    found = probe_step(PLACES[:8], [40, 41, 70, 71, 42, 43, 44, 45])
    assert (found.kind, found.odd) == ("odd", (1.1, 1.9))


def test_a_step_is_found_behind_an_odd_sample() -> None:
    values = raised(6)
    values[2] += 60
    found = probe_step(PLACES, values)
    assert (found.kind, found.place, found.odd) == ("connector", 3, (1.1,))
    assert "take it again" in found.said


def test_an_odd_sample_behind_a_step_is_named_too() -> None:
    values = raised(4)
    values[9] += 30
    found = probe_step(PLACES, values)
    assert (found.kind, found.place, found.before, found.odd) == ("connector", 2, 1.9, (4.9,))


def test_the_last_sample_alone_is_no_step_yet() -> None:
    found = probe_step(PLACES, raised(11))
    assert (found.kind, found.odd) == ("odd", (5.9,)) and "seals of that end" in found.said
    assert probe_step(PLACES, raised(10)).kind == "connector"


def test_samples_far_apart_do_not_tell_a_seal_from_an_element() -> None:
    found = probe_step([0.5, 1.5, 2.5, 3.5, 4.5, 5.5], [40, 41, 42, 68, 69, 70])
    assert (found.kind, found.place) == ("between", 0) and "between 2.5 and 3.5" in found.said
    assert probe_step([1.0, 2.0, 3.0, 4.0, 5.0], [40, 41, 68, 69, 70]).place == 3


def test_samples_that_scatter_are_not_believed() -> None:
    found = probe_step(PLACES[:6], [40, 90, 41, 150, 42, 43])
    assert found.kind == "scatter" and "take them all again" in found.said


def test_noise_alone_hardly_ever_makes_a_step() -> None:
    """Gauges that scatter by 2 %: of 400 smooth vessels at most 1 % show a step (simulated, seed held)."""
    rng = np.random.default_rng(20261128)
    found = [probe_step(PLACES, np.array(SMOOTH) * rng.normal(1, 0.02, 12)).kind for _ in range(400)]
    assert sum(kind in ("connector", "element", "between") for kind in found) <= 4


@pytest.mark.parametrize("places", [[0.0, 1.0], [0.0, 2.0, 1.0, 3.0]])
def test_samples_that_cannot_be_are_refused(places: list[float]) -> None:
    with pytest.raises(InvalidSettings):
        probe_step(places, [50.0] * len(places))
