"""What a method cannot know of an indicator is not judged, and said."""

import pytest

from analytics.judgement.closure import BEYOND_USE, beyond_use, beyond_use_note, closure_error
from analytics.judgement.verdict_words import has_worthy_date
from tests.analytics.judgement.judged_values import TODAY, flow

TAIL = {"train": 0.5, "stage1": 0.3, "stage2": 8.0}
COLUMNS = ("train_permeate_flow", "stage1_permeate_flow", "stage2_permeate_flow", "stage2_salt_passage")


def test_where_no_pressure_is_left_the_standard_method_says_nothing_of_flow() -> None:
    assert beyond_use((*COLUMNS, "stage2_pressure_drop"), (), TAIL) == ("stage2_permeate_flow",)


def test_the_model_knows_such_a_stage_better() -> None:
    assert beyond_use(COLUMNS, COLUMNS, TAIL) == ()
    assert closure_error("permeate_flow", 8.0, modelled=True) < BEYOND_USE


def test_errors_by_hand() -> None:
    """0.035 r and 0.02 r2 by the standard method, 0.03 r by the model; 4 and 2 % of r for salt."""
    assert closure_error("permeate_flow", 1.0, modelled=False) == pytest.approx((0.035**2 + 0.02**2) ** 0.5)
    assert closure_error("permeate_flow", 2.0, modelled=False) == pytest.approx((0.07**2 + 0.08**2) ** 0.5)
    assert closure_error("permeate_flow", 1.0, modelled=True) == pytest.approx(0.03)
    assert closure_error("salt_passage", 2.0, modelled=False) == pytest.approx(0.08)
    assert closure_error("pressure_drop", 9.0, modelled=False) == 0.0


def test_what_is_not_judged_is_said_once_for_all_stages() -> None:
    note = beyond_use_note(("stage2_permeate_flow", "stage3_permeate_flow"))
    assert note.startswith("Permeate flow of stage 2 and stage 3 is not judged")


def test_a_date_of_a_level_that_is_hardly_known_calls_for_nothing() -> None:
    sure, unsure = (flow(0.94, reaches=TODAY, closure=closure) for closure in (0.0, 0.05))
    assert has_worthy_date(sure) and not has_worthy_date(unsure)
