"""What rounds of the single vessels say of causes; sizes of factors are judgement, directions after the trade's way of
finding a leak (rows of a leak among published symptoms: one vessel stands out)."""

from datetime import UTC, date, datetime

import pytest

from analytics.events import Event
from analytics.judgement.cause import Cause, Context
from analytics.judgement.causes import likely_causes
from analytics.judgement.observed import Layout
from analytics.judgement.vessel_rounds import VesselReadings, VesselsSaid, vessels_said
from tests.analytics.judgement.judged_values import drop, flow, salt

MARCH = datetime(2026, 3, 12, 9, tzinfo=UTC)
LEAKY = {1: 80.0, 2: 210.0, 3: 84.0, 4: 90.0}
ALIKE = {1: 80.0, 2: 84.0, 3: 82.0, 4: 88.0}


def said(
    first: dict[int, float], *, time: datetime = MARCH, events: tuple[Event, ...] = (), day: date = date(2026, 3, 20)
) -> dict[int, VesselsSaid]:
    rounds = [VesselReadings(time, {1: first})]
    return vessels_said(rounds, events, {1: 4, 2: 2}, day=day, after=date(2025, 6, 30), timezone="UTC")


def causes(vessels: dict[int, VesselsSaid], *, stages: int = 2) -> tuple[Cause, ...]:
    """Salt passage of the first stage (or of the train) is up by a quarter (a fifth), all else hardly."""
    moved = [flow(1.02), salt(1.2), drop(1.0)]
    if stages == 2:
        moved = [flow(1.02, scope="stage1"), salt(1.25, scope="stage1"), drop(1.0, scope="stage1")]
        moved += [flow(1.01, scope="stage2"), salt(1.05, scope="stage2"), drop(1.0, scope="stage2")]
    layout = Layout(stages=stages, first_share=2 / 3 if stages == 2 else 1.0)
    return likely_causes(moved, (), Context(vessels=vessels), layout)


def probability(found: tuple[Cause, ...], cause: str, stage: int | None = 1) -> float:
    return sum(one.probability for one in found if one.cause == cause and stage in (None, one.stage))


def test_a_vessel_that_stands_out_is_told_with_numbers_and_is_probed_next() -> None:
    found = said(LEAKY)[1]
    assert found.sentence == "Vessel 2 of stage 1 reads 210 µS/cm where the others read 80 to 90 (12 March)."
    assert found.factor > 1 and "probe vessel 2 of stage 1" in found.next_check


def test_the_vessels_of_the_facts() -> None:
    """Row B11 32 of the facts of the trade: 58, 61, 59, 63, 60, 118: the sixth stands out."""
    rounds = [VesselReadings(MARCH, {1: dict(enumerate([58.0, 61, 59, 63, 60, 118], start=1))})]
    found = vessels_said(rounds, (), {1: 6}, day=date(2026, 3, 20), after=date(2025, 6, 30), timezone="UTC")
    assert found[1].sentence.startswith("Vessel 6 of stage 1 reads 118 µS/cm where the others read 58 to 63")


@pytest.mark.parametrize("stages", [1, 2])
def test_it_makes_a_leak_likelier_than_wear_of_all_elements(stages: int) -> None:
    before, after = causes({}, stages=stages), causes(said(LEAKY), stages=stages)
    assert probability(after, "seal-leak") > 1.5 * probability(before, "seal-leak")
    assert probability(after, "oxidation", None) < probability(before, "oxidation", None)
    assert probability(after, "seal-leak") > probability(after, "oxidation", None)
    leak = next(one for one in after if one.cause == "seal-leak")
    assert said(LEAKY)[1].sentence in leak.evidence and "probe vessel 2" in leak.next_check and leak.minutes
    worn = [one for one in after if one.cause == "oxidation"]
    assert all(any("Against it: vessel 2 of stage 1" in text for text in one.evidence) for one in worn)


def test_vessels_that_agree_speak_against_a_leak_and_for_what_meets_them_all() -> None:
    found = said(ALIKE)
    assert found[1].sentence == "All 4 vessels of stage 1 agree: 80 to 88 µS/cm (12 March)."
    before, after = causes({}), causes(found)
    assert probability(after, "seal-leak") < 0.5 * probability(before, "seal-leak")
    assert probability(after, "oxidation") > probability(before, "oxidation")
    assert found[1].sentence in next(one for one in after if one.cause == "oxidation").evidence


def test_a_leak_of_one_stage_is_none_of_another() -> None:
    other = {2: VesselsSaid(6.0, "Vessel 1 of stage 2 reads 900 µS/cm where the others read 300 (12 March).", "probe")}
    before, after = causes({}), causes(other)
    assert probability(after, "seal-leak", 1) <= probability(before, "seal-leak", 1)


@pytest.mark.parametrize(
    ("values", "day"),
    [
        (LEAKY, date(2026, 6, 20)),  # found too long ago
        (ALIKE, date(2026, 4, 20)),  # all alike, but a leak may have come since
        (LEAKY, date(2026, 1, 1)),  # long after what is judged
        ({1: 80.0, 2: 84.0, 3: 82.0}, date(2026, 3, 20)),  # one was not measured
        ({1: 80.0, 2: 84.0, 3: 90.0, 4: 110.0}, date(2026, 3, 20)),  # they neither agree nor does one stand out
        ({1: 80.0, 2: 210.0}, date(2026, 3, 20)),  # two say nothing
    ],
)
def test_what_says_neither_is_left_out(values: dict[int, float], day: date) -> None:
    assert said(values, day=day) == {}


def test_a_round_from_before_the_elements_came_or_from_the_reference_says_nothing() -> None:
    replaced = Event(datetime(2026, 3, 14, tzinfo=UTC), "element-replacement", 1)
    other = Event(datetime(2026, 3, 14, tzinfo=UTC), "element-replacement", 2)
    assert said(LEAKY, events=(replaced,)) == {}
    assert 1 in said(LEAKY, events=(other,))
    assert said(LEAKY, time=datetime(2025, 6, 20, tzinfo=UTC), day=date(2025, 7, 10)) == {}


def test_the_newest_round_of_a_stage_counts() -> None:
    """The seal was renewed: a later round in which all agree takes the place of the one with the leak."""
    later = VesselReadings(datetime(2026, 3, 18, tzinfo=UTC), {1: ALIKE})
    rounds = [later, VesselReadings(MARCH, {1: LEAKY})]
    found = vessels_said(rounds, (), {1: 4}, day=date(2026, 3, 20), after=date(2025, 6, 30), timezone="UTC")
    assert found[1].factor < 1
