"""The elements page as typed values: the map as the train is built, and what was refused."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from analytics.decisions.element_condition import ElementCondition
from analytics.decisions.element_map import Layout, Place, Problem
from analytics.judgement.words import all_of
from server.display import counted, number, sentence, short_day
from server.elements.colours import COLOURS, DAYS_PER_YEAR, EMPTY, Coloured, Mark, coloured
from server.elements.listing import COLUMNS, LARGEST_FILE, Listed
from server.elements.queries import Placed
from server.plants.models import Train
from server.templating import Frame

MOST_PROBLEMS = 20


@dataclass(frozen=True)
class Cell:
    """One place of the map."""

    link: str
    mark: Mark
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
class StayLine:
    serial: str
    model: str
    place: str
    since: str
    until: str
    author: str


@dataclass(frozen=True)
class ElementsPage:
    """The map, its legend, lists to paste or hand in, and all stays that have ended."""

    frame: Frame
    site: str
    train: str
    train_id: int
    headline: str
    done: str
    stages: tuple[StageMap, ...]
    colours: tuple[tuple[str, str], ...]
    colour: str
    legend: tuple[Mark, ...]
    columns: str
    example: str
    largest: str
    pasted: str
    open: str
    problems: tuple[str, ...]
    past: tuple[StayLine, ...]
    today: str
    vessels: tuple[tuple[str, str], ...]


def elements_page(
    frame: Frame, train: Train, layout: Layout, placed: Sequence[Placed],
    conditions: Mapping[Place, ElementCondition], *, colour: str, today: date, done: str = "", pasted: str = "",
    refused: Listed | None = None, problems: Sequence[Problem] = (), opened: str = "",
) -> ElementsPage:  # fmt: skip
    """Put the map of a train together; `refused` is the list in which the problems stand."""
    colour = colour if colour in COLOURS else "age"
    lying = {one.stay.place: one for one in placed if one.stay.until is None}
    marks = coloured(lying, colour, conditions)
    places = sum(vessels * elements for vessels, elements in layout.stages)
    return ElementsPage(
        frame=frame,
        site=train.site.name,
        train=train.name,
        train_id=train.id,
        headline=_headline(places, list(lying.values())),
        done=done,
        stages=tuple(_stage(n, layout, train.id, lying, marks) for n in range(1, len(layout.stages) + 1)),
        colours=tuple(COLOURS.items()),
        colour=colour,
        legend=(*marks.legend, *([EMPTY] if len(lying) < places else [])),
        columns=", ".join(COLUMNS),
        example=_example(layout, today),
        largest=f"{LARGEST_FILE // 1_000_000} MB",
        pasted=pasted,
        open=opened or ("" if lying else "paste"),
        problems=_told(problems, refused),
        past=tuple(stay_line(one) for one in reversed(placed) if one.stay.until is not None),
        today=today.isoformat(),
        vessels=tuple(
            (f"{s}.{v}", f"Stage {s}, vessel {v}")
            for s, (vessels, _) in enumerate(layout.stages, start=1)
            for v in range(1, vessels + 1)
        ),
    )


def _headline(places: int, lying: Sequence[Placed]) -> str:
    if not lying:
        return f"This train holds {places} elements. Bring in their list once, and their age and history are kept."
    ages = [one.lived.days / DAYS_PER_YEAR for one in lying if one.lived is not None]
    oldest, newest = number(max(ages), 1), number(min(ages), 1)
    known = f"{len(lying)} of {places} elements are known"
    if oldest == newest:
        return f"{known}, all in a train for {oldest} years."
    return f"{known}; the oldest has been in a train for {oldest} years, the newest {newest}."


def _example(layout: Layout, today: date) -> str:
    """Two rows under the names of the columns, as the first places of this train would be listed."""
    rows = [
        [today.isoformat(), f"A1000{n}", "any 400", "1", "1", str(n), "", "", ""]
        for n in (1, 2)[: layout.elements_in(1)]
    ]
    return "\n".join("\t".join(row) for row in [list(COLUMNS), *rows])


def _told(problems: Sequence[Problem], refused: Listed | None) -> tuple[str, ...]:
    """Each problem with its place, the first `MOST_PROBLEMS`, and how many more there are."""
    listed = Listed(()) if refused is None else refused
    told = []
    for problem in problems[:MOST_PROBLEMS]:
        place = listed.place_of(problem)
        told.append(f"{place}: {problem.text}" if place else problem.text)
    more = len(problems) - MOST_PROBLEMS
    return (*told, f"And {more} more.") if more > 0 else tuple(told)


def done_words(changed: int, same: int, noted: int) -> str:
    """What a list did, as a sentence."""
    parts = [f"{counted(changed, 'element')} came, moved or left"] if changed else []
    parts += [f"{same} lay there already"] if same else []
    parts += [f"{counted(noted, 'model, date or weight', 'models, dates or weights')} noted"] if noted else []
    return f"{sentence(all_of(parts))}." if parts else ""


def _stage(stage: int, layout: Layout, train_id: int, lying: Mapping[Place, Placed], marks: Coloured) -> StageMap:
    vessels, elements = layout.stages[stage - 1]
    rows = tuple(
        VesselRow(
            vessel,
            tuple(_cell(Place(stage, vessel, n), train_id, lying, marks) for n in range(1, elements + 1)),
        )
        for vessel in range(1, vessels + 1)
    )
    return StageMap(stage, elements, rows)


def _cell(place: Place, train_id: int, lying: Mapping[Place, Placed], marks: Coloured) -> Cell:
    link = f"/trains/{train_id}/elements/place?at={place.stage}.{place.vessel}.{place.position}"
    if place not in lying:
        return Cell(link, EMPTY, f"Position {place.position}: {EMPTY.words}")
    mark = marks.marks[place]
    return Cell(link, mark, f"Position {place.position}: {lying[place].stay.serial}, {mark.words}")


def stay_line(one: Placed) -> StayLine:
    """One stay, for the tables of what lay where."""
    stay = one.stay
    until = "" if stay.until is None else short_day(stay.until)
    where = f"{one.train}, {stay.place}" if one.train else str(stay.place)
    return StayLine(stay.serial, one.model, where, short_day(stay.since), until, one.author)
