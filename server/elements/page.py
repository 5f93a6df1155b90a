"""The elements page as typed values: the map as the train is built, one place with its history, what was refused."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from analytics.decisions.element_map import Layout, Place, Problem
from server.display import THIN, UNKNOWN, counted, day, number, short_day
from server.elements.listing import COLUMNS
from server.elements.queries import Placed
from server.plants.models import Train
from server.templating import Frame

SHADES = 5
COLOURS = {"age": "Age", "cleanings": "Cleanings lived through", "chlorine": "Free chlorine seen"}
DAYS_PER_YEAR = 365.25


@dataclass(frozen=True)
class Cell:
    """One place of the map; `shade` is 0 (least) to 4, -1 where nothing is known, -2 where nothing lies."""

    link: str
    text: str
    shade: int
    words: str


@dataclass(frozen=True)
class VesselRow:
    number: int
    cells: tuple[Cell, ...]


@dataclass(frozen=True)
class StageMap:
    number: int
    elements: int
    vessels: tuple[VesselRow, ...]


@dataclass(frozen=True)
class LegendStep:
    shade: int
    text: str


@dataclass(frozen=True)
class StayLine:
    serial: str
    model: str
    place: str
    since: str
    until: str
    weight: str
    author: str


@dataclass(frozen=True)
class ElementsPage:
    """The map, its legend, the list to paste, and all stays that have ended."""

    frame: Frame
    site: str
    train: str
    train_id: int
    headline: str
    stages: tuple[StageMap, ...]
    colours: tuple[tuple[str, str], ...]
    colour: str
    legend: tuple[LegendStep, ...]
    columns: str
    pasted: str
    problems: tuple[Problem, ...]
    past: tuple[StayLine, ...]
    today: str
    vessels: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class PlacePage:
    """One place: what lies there, what lay there, and the forms to change it."""

    frame: Frame
    site: str
    train: str
    train_id: int
    at: str
    title: str
    now: StayLine | None
    lived: tuple[str, ...]
    before: tuple[StayLine, ...]
    ways: tuple[StayLine, ...]
    problems: tuple[Problem, ...]
    errors: Mapping[str, str]
    entered: Mapping[str, str]
    today: str


def elements_page(
    frame: Frame, train: Train, layout: Layout, placed: Sequence[Placed], *, colour: str, today: date,
    pasted: str = "", problems: Sequence[Problem] = (),
) -> ElementsPage:  # fmt: skip
    """Put the map of a train together."""
    colour = colour if colour in COLOURS else "age"
    lying = {one.stay.place: one for one in placed if one.stay.until is None}
    values = {place: _value(one, colour) for place, one in lying.items()}
    bounds = _bounds([value for value in values.values() if value is not None], colour)
    return ElementsPage(
        frame=frame,
        site=train.site.name,
        train=train.name,
        train_id=train.id,
        headline=_headline(layout, list(lying.values())),
        stages=tuple(
            _stage(n, layout, train.id, lying, values, bounds, colour) for n in range(1, len(layout.stages) + 1)
        ),
        colours=tuple(COLOURS.items()),
        colour=colour,
        legend=tuple(_legend(bounds, colour)) if lying else (),
        columns=", ".join(COLUMNS),
        pasted=pasted,
        problems=tuple(problems[:20]),
        past=tuple(_line(one) for one in reversed(placed) if one.stay.until is not None),
        today=today.isoformat(),
        vessels=tuple(
            (f"{s}.{v}", f"Stage {s}, vessel {v}")
            for s, (vessels, _) in enumerate(layout.stages, start=1)
            for v in range(1, vessels + 1)
        ),
    )


def _headline(layout: Layout, lying: Sequence[Placed]) -> str:
    places = sum(vessels * elements for vessels, elements in layout.stages)
    if not lying:
        return f"This train holds {places} elements. Paste their list once, and their age and history are kept."
    ages = [one.lived.days / DAYS_PER_YEAR for one in lying if one.lived is not None]
    known = f"{len(lying)} of {places} elements are known"
    if not ages:
        return f"{known}."
    oldest, newest = number(max(ages), 1), number(min(ages), 1)
    return f"{known}; the oldest has been in the train for {oldest} years, the newest {newest}."


def _value(one: Placed, colour: str) -> float | None:
    """What a place is coloured by: years, cleanings, or the least chlorine seen [ppm h]."""
    if one.lived is None:
        return None
    if colour == "cleanings":
        return float(one.lived.cleanings)
    if colour == "chlorine":
        return None if one.lived.exposure is None else one.lived.exposure.least
    return one.lived.days / DAYS_PER_YEAR


def _bounds(values: Sequence[float], colour: str) -> tuple[float, ...]:
    """Lower ends of the shades: round steps from 0 that reach the highest value."""
    highest = max(values, default=0.0)
    steps = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 5000, 1e9)
    fine = (0.25, 0.5, *steps) if colour == "age" else steps
    step = next(step for step in fine if step * SHADES > highest)
    return tuple(step * n for n in range(SHADES))


def _legend(bounds: Sequence[float], colour: str) -> list[LegendStep]:
    unit = {"age": "years", "cleanings": "", "chlorine": "ppm·h"}[colour]
    decimals = 2 if bounds[1] < 0.5 else 1 if bounds[1] < 1 else 0
    ends = [number(bound, decimals) for bound in bounds]
    return [LegendStep(n, f"from {end} {unit}".strip()) for n, end in enumerate(ends)]


def _stage(
    stage: int, layout: Layout, train_id: int, lying: dict[Place, Placed], values: dict[Place, float | None],
    bounds: Sequence[float], colour: str,
) -> StageMap:  # fmt: skip
    vessels, elements = layout.stages[stage - 1]
    rows = tuple(
        VesselRow(
            vessel,
            tuple(
                _cell(place, train_id, lying.get(place), values.get(place), bounds, colour)
                for place in (Place(stage, vessel, n) for n in range(1, elements + 1))
            ),
        )
        for vessel in range(1, vessels + 1)
    )
    return StageMap(stage, elements, rows)


def _cell(
    place: Place, train_id: int, one: Placed | None, value: float | None, bounds: Sequence[float], colour: str
) -> Cell:
    link = f"/trains/{train_id}/elements/place?at={place.stage}.{place.vessel}.{place.position}"
    if one is None:
        return Cell(link, "", -2, f"Position {place.position}: not known")
    words = f"Position {place.position}: {one.stay.serial}"
    if value is None:
        return Cell(link, UNKNOWN, -1, f"{words}, {COLOURS[colour].lower()} not known")
    text = number(value, 1 if colour == "age" else 0)
    shade = sum(value >= bound for bound in bounds) - 1
    return Cell(link, text, shade, f"{words}, {COLOURS[colour].lower()} {text}")


def _line(one: Placed) -> StayLine:
    stay = one.stay
    until = "" if stay.until is None else short_day(stay.until)
    return StayLine(stay.serial, one.model, str(stay.place), short_day(stay.since), until, one.weight, one.author)


def place_page(
    frame: Frame, train: Train, place: Place, placed: Sequence[Placed], *, today: date,
    problems: Sequence[Problem] = (), entered: Mapping[str, str] | None = None,
) -> PlacePage:  # fmt: skip
    """Put one place together: its element, all that lay there, and the ways of the present element.

    After a refusal it holds what was `entered`, and what is wrong beside the field that a problem names.
    """
    here = [one for one in placed if one.stay.place == place]
    now = next((one for one in here if one.stay.until is None), None)
    ways = [] if now is None else [one for one in placed if one.stay.serial == now.stay.serial and one is not now]
    text = str(place)
    return PlacePage(
        frame=frame,
        site=train.site.name,
        train=train.name,
        train_id=train.id,
        at=f"{place.stage}.{place.vessel}.{place.position}",
        title=text[:1].upper() + text[1:],
        now=None if now is None else _line(now),
        lived=_lived(now),
        before=tuple(_line(one) for one in reversed(here) if one is not now),
        ways=tuple(_line(one) for one in reversed(ways)),
        problems=tuple(replace(problem, row=0) for problem in problems if not problem.field),
        errors={problem.field: problem.text for problem in reversed(problems) if problem.field},
        entered=entered or {},
        today=today.isoformat(),
    )


def _lived(one: Placed | None) -> tuple[str, ...]:
    if one is None or one.lived is None:
        return ()
    lived = one.lived
    said = [f"In the train for {number(lived.days / DAYS_PER_YEAR, 1)} years, {counted(lived.cleanings, 'cleaning')}."]
    if lived.hours is not None:
        said.append(f"{number(lived.hours)}{THIN}h by the hour counter.")
    if lived.exposure is not None:
        said.append(
            f"Free chlorine: {number(lived.exposure.least)} to {number(lived.exposure.most)} ppm·h, as if the train had"
            " run all day."
        )
    if one.made_on is not None:
        said.append(f"Made on {day(one.made_on)}.")
    if one.weight:
        said.append(f"Weighed {one.weight}.")
    return tuple(said)
