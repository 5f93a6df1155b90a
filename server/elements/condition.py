"""What is known of the condition of each element of a train, from its latest assessment and rounds."""

from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from zoneinfo import ZoneInfo

from sqlalchemy.orm import Session

from analytics.decisions.element_condition import ElementCondition, element_condition
from analytics.decisions.element_map import Place
from analytics.judgement.limits import Standing
from analytics.judgement.vessel_rounds import FOUND_DAYS
from analytics.judgement.vessels import VesselStanding, judge_vessels
from server.assessments.queries import latest_assessment
from server.elements.queries import Placed, rounds_of
from server.plants.models import Train
from server.plants.queries import plant_of

Vessel = tuple[int, int]


def conditions_of(
    session: Session, train: Train, placed: Sequence[Placed], today: date
) -> dict[Place, ElementCondition]:
    """By place, for the elements that lie there now."""
    record = latest_assessment(session, train.id)
    judged = _standings([] if record is None else record.document["indicators"])
    judged_on = today if record is None else record.as_of.astimezone(ZoneInfo(train.site.timezone)).date()
    vessels = _vessels(session, train, placed, judged_on)
    most = plant_of(session, train.id).train.limits.max_chlorine_exposure_ppm_h
    found = {}
    for one in placed:
        if one.lived is None:
            continue
        place = one.stay.place
        scope = f"stage{place.stage}" if f"stage{place.stage}" in judged else "train"
        found[place] = element_condition(
            judged.get(scope, {}), vessels.get((place.stage, place.vessel)), one.lived.exposure,
            of=f"Stage {place.stage}" if scope != "train" else "The whole train", max_chlorine_exposure_ppm_h=most,
        )  # fmt: skip
    return found


def _standings(indicators: Sequence[Mapping[str, str]]) -> dict[str, dict[str, Standing]]:
    found: dict[str, dict[str, Standing]] = {}
    for one in indicators:
        found.setdefault(one["scope"], {})[one["name"]] = one["standing"]  # type: ignore[assignment]
    return found


def _vessels(session: Session, train: Train, placed: Sequence[Placed], judged_on: date) -> dict[Vessel, VesselStanding]:
    """The newest standing of each vessel, from after its elements came and not long before the day judged."""
    changed: dict[Vessel, date] = {}
    for one in placed:
        vessel, day = (one.stay.place.stage, one.stay.place.vessel), max(one.stay.since, one.stay.until or date.min)
        changed[vessel] = max(changed.get(vessel, date.min), day)
    found: dict[Vessel, VesselStanding] = {}
    zone = ZoneInfo(train.site.timezone)
    for measured in rounds_of(session, train.id):
        day = measured.time.astimezone(zone).date()
        if day < judged_on - timedelta(days=FOUND_DAYS):
            break
        for stage, values in measured.conductivities_us_cm.items():
            profile = judge_vessels(values)
            for standing in profile.vessels if profile is not None else ():
                if day > changed.get((stage, standing.vessel), date.min):
                    found.setdefault((stage, standing.vessel), standing)
    return found
