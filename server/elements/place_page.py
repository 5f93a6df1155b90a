"""One place of the map as typed values: its element and what it has lived through, what lay there, and the forms."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from analytics.decisions.element_condition import ElementCondition
from analytics.decisions.element_map import Place, Problem
from server.display import THIN, counted, day, number, sentence, short_day
from server.elements.colours import DAYS_PER_YEAR
from server.elements.page import StayLine, stay_line
from server.elements.queries import Placed
from server.plants.models import Train
from server.templating import Frame


@dataclass(frozen=True)
class PlacePage:
    """One place: what lies there, what lay there, and the forms to change it.

    `form` names the one that was refused, `entered` what it held.
    """

    frame: Frame
    site: str
    train: str
    train_id: int
    at: str
    title: str
    now: StayLine | None
    lived: tuple[str, ...]
    condition: tuple[str, ...]
    before: tuple[StayLine, ...]
    ways: tuple[StayLine, ...]
    problems: tuple[str, ...]
    errors: Mapping[str, str]
    form: str
    entered: Mapping[str, str]
    today: str
    others: tuple[tuple[str, str], ...]


def place_page(
    frame: Frame, train: Train, place: Place, placed: Sequence[Placed], ways: Sequence[Placed],
    condition: ElementCondition | None, *, today: date, problems: Sequence[Problem] = (),
    entered: Mapping[str, str] | None = None,
) -> PlacePage:  # fmt: skip
    """Put one place together; after a refusal it holds what was `entered`, and what is wrong beside each field."""
    here = [one for one in placed if one.stay.place == place]
    now = next((one for one in here if one.stay.until is None), None)
    entered = entered or {}
    lying = sorted((one.stay.place, one.stay.serial) for one in placed if one.stay.until is None)
    return PlacePage(
        frame=frame,
        site=train.site.name,
        train=train.name,
        train_id=train.id,
        at=_at(place),
        title=sentence(str(place)),
        now=None if now is None else stay_line(now),
        lived=_lived(now),
        condition=() if condition is None else condition.reasons,
        before=tuple(stay_line(one) for one in reversed(here) if one is not now),
        ways=tuple(stay_line(one) for one in reversed(ways) if one.stay.until is not None),
        problems=tuple(problem.text for problem in problems if not problem.field),
        errors={problem.field: problem.text for problem in reversed(problems) if problem.field},
        form=form_of(entered),
        entered=entered,
        today=today.isoformat(),
        others=tuple((_at(at), f"{sentence(str(at))}: {serial}") for at, serial in lying if at != place),
    )


def form_of(sent: Mapping[str, str]) -> str:
    """Which form of the page was sent: "swap", "weigh", "replace", or none."""
    return "swap" if "to" in sent else "weigh" if "weight_kg" in sent else "replace" if sent else ""


def _at(place: Place) -> str:
    return f"{place.stage}.{place.vessel}.{place.position}"


def _lived(one: Placed | None) -> tuple[str, ...]:
    if one is None or one.lived is None:
        return ()
    lived = one.lived
    said = [f"In a train for {number(lived.days / DAYS_PER_YEAR, 1)} years, {counted(lived.cleanings, 'cleaning')}."]
    if lived.hours is not None:
        said.append(f"{number(lived.hours)}{THIN}h by the hour counter.")
    if lived.exposure is not None:
        said.append(
            f"Free chlorine: {number(lived.exposure.least)} to {number(lived.exposure.most)} ppm·h, as if the train had"
            " run all day."
        )
    if one.made_on is not None:
        said.append(f"Made on {day(one.made_on)}.")
    if one.weights:
        weighed = "; ".join(f"{weight.weight_kg:g}{THIN}kg on {short_day(weight.day)}" for weight in one.weights)
        said.append(f"Weighed, drained: {weighed}.")
    return tuple(said)
