"""Slips of the pen are few, known, and of the kinds that people make."""

import numpy as np
import pandas as pd
import pytest

from demo_data.simulator.meters import Meter
from demo_data.simulator.mistakes import Mistake, type_wrong

METERS = {
    "feed_pressure_bar": Meter("psi", 1.0),
    "permeate_flow_m3h": Meter("m3/h", 0.1),
    "feed_orp_mv": Meter("mV", 1.0),
}
INDEX = pd.date_range("2026-01-01", periods=400, freq="8h", tz="UTC", name="taken_at")
FRAME = pd.DataFrame(
    {"feed_pressure_bar": 145.0, "permeate_flow_m3h": 30.2, "feed_orp_mv": 210.0, "remark": "x"}, index=INDEX
)


def made(share: float = 0.2) -> tuple[Mistake, ...]:
    return type_wrong(FRAME, METERS, share, np.random.default_rng(5))


def test_share_of_mistakes() -> None:
    assert len(made()) == pytest.approx(0.2 * 1200, rel=0.15)
    assert made(0.0) == ()


def test_the_frame_is_left_alone() -> None:
    before = FRAME.copy()
    made()
    pd.testing.assert_frame_equal(FRAME, before)


@pytest.mark.parametrize(
    ("column", "kind", "typed"),
    [
        ("feed_pressure_bar", "digits swapped", 415.0),
        ("feed_pressure_bar", "zero too many", 1450.0),
        ("feed_pressure_bar", "wrong unit", 9.997),  # 145 psi x 0.0689476 bar/psi
        ("permeate_flow_m3h", "digits swapped", 3.2),  # 03.2
        ("permeate_flow_m3h", "decimal point lost", 302.0),
        ("permeate_flow_m3h", "wrong unit", 132.967),  # 30.2 m3/h / 0.2271247 m3/h per gpm
        ("feed_orp_mv", "digits swapped", 120.0),
        ("feed_orp_mv", "zero too many", 2100.0),
    ],
)
def test_each_kind(column: str, kind: str, typed: float) -> None:
    found = {mistake.typed for mistake in made() if (mistake.column, mistake.kind) == (column, kind)}
    assert len(found) == 1
    assert found.pop() == pytest.approx(typed, abs=5e-4)


def test_no_other_kinds() -> None:
    assert len({(mistake.column, mistake.kind) for mistake in made()}) == 8


def test_what_stands_at_zero_or_is_empty_is_not_mistyped() -> None:
    nothing = FRAME.assign(feed_pressure_bar=0.0, permeate_flow_m3h=np.nan, feed_orp_mv=11.0)
    kinds = {mistake.kind for mistake in type_wrong(nothing, METERS, 1.0, np.random.default_rng(5))}
    assert kinds == {"zero too many"}  # swapping 11 changes nothing
