"""The condition of an element: the worst of what is known, and unknown where nothing is."""

from analytics.decisions.dechlorination import Exposure
from analytics.decisions.element_condition import Condition, ElementCondition, element_condition
from analytics.judgement.vessels import VesselStanding

QUIET, APART, OUT = (VesselStanding(2, 60.0 + 30 * n, 0.0, n / 2, n > 1) for n in (0, 1, 2))


def judged(
    stage: dict[str, str] | None = None, vessel: VesselStanding | None = None, seen: Exposure | None = None
) -> ElementCondition:
    stage = {} if stage is None else stage
    return element_condition(stage, vessel, seen, of="Stage 2", max_chlorine_exposure_ppm_h=200.0)  # type: ignore[arg-type]


def test_nothing_known_is_said_so() -> None:
    assert judged().condition is Condition.UNKNOWN


def test_the_worst_that_is_known_counts_and_all_of_it_is_said() -> None:
    stage = {"permeate_flow": "fine", "salt_passage": "warn", "pressure_drop": "too late"}
    found = judged(stage, OUT, Exposure(150.0, 250.0, 1000.0, 0.0))
    assert found.condition is Condition.PAST_A_LIMIT
    assert found.reasons == (
        "Stage 2: salt passage nears its limit.",
        "Stage 2: pressure drop is past its limit.",
        "Its vessel reads 120 µS/cm, 100 % above the median of its stage, and stands out.",
        "It has perhaps seen more than 200 ppm·h of free chlorine.",
    )


def test_each_source_alone() -> None:
    assert judged({"salt_passage": "fine"}).condition is Condition.NOTHING_FOUND
    assert judged({"salt_passage": "warn"}).condition is Condition.WATCH
    assert judged(vessel=QUIET).condition is Condition.NOTHING_FOUND
    assert judged(vessel=APART).condition is Condition.WATCH
    assert judged(vessel=OUT).condition is Condition.PAST_A_LIMIT
    assert judged(seen=Exposure(10.0, 20.0, 100.0, 0.0)).condition is Condition.NOTHING_FOUND
    assert judged(seen=Exposure(210.0, 220.0, 100.0, 0.0)).condition is Condition.PAST_A_LIMIT
