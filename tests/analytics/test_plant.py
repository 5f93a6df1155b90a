"""What follows from how a plant is built."""

import pytest

from analytics.plant import Membrane, Stage, Train

TRAIN = Train("Train 1", (Stage(2, 6, Membrane(37.2)), Stage(1, 6, Membrane(30.0), booster=True)))


def test_elements_and_area_by_hand() -> None:
    """12 elements of 37.2 m2 and 6 of 30 m2."""
    assert [stage.elements for stage in TRAIN.stages] == [12, 6]
    assert [stage.area_m2 for stage in TRAIN.stages] == pytest.approx([446.4, 180.0])
    assert TRAIN.area_m2 == pytest.approx(626.4)


def test_scopes_follow_the_water() -> None:
    assert TRAIN.scopes == ("train", "stage1", "stage2")


def test_a_plant_cannot_be_changed() -> None:
    with pytest.raises(AttributeError):
        TRAIN.name = "other"  # type: ignore[misc]
