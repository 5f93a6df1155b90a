"""Which element lies where: changes of one day are applied together, and what cannot be is refused in words."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

Vessel = tuple[int, int]
"""Stage and vessel."""


@dataclass(frozen=True, order=True)
class Place:
    """Stage, vessel and position, each from 1; position 1 is at the feed end."""

    stage: int
    vessel: int
    position: int

    def __str__(self) -> str:
        return f"stage {self.stage}, vessel {self.vessel}, position {self.position}"


@dataclass(frozen=True)
class Stay:
    """One element at one place, from a day until another; `until` is None while it is there."""

    serial: str
    place: Place
    since: date
    until: date | None = None


@dataclass(frozen=True)
class Change:
    """An element comes to a place on a day, or, with no place, leaves the train. `row` is where it was entered."""

    row: int
    day: date
    serial: str
    place: Place | None
    made: date | None = None


@dataclass(frozen=True)
class Problem:
    """What is wrong with a change, in words; `field` is the column that it is about, where it is about one."""

    row: int
    text: str
    field: str = ""


@dataclass(frozen=True)
class Applied:
    """The map after the changes; when there are problems, nothing was applied.

    `changes` are those that changed something: an element that lies where a list puts it stays as it is.
    """

    stays: tuple[Stay, ...]
    problems: tuple[Problem, ...]
    changes: tuple[Change, ...] = ()


@dataclass(frozen=True)
class Layout:
    """How a train is built: for each stage its vessels and the elements in each."""

    stages: tuple[tuple[int, int], ...]

    def holds(self, place: Place) -> bool:
        if not 1 <= place.stage <= len(self.stages):
            return False
        vessels, elements = self.stages[place.stage - 1]
        return 1 <= place.vessel <= vessels and 1 <= place.position <= elements

    def said(self, stage: int) -> str:
        """What there is, in words: of a stage, or how many stages."""
        if not 1 <= stage <= len(self.stages):
            return f"its stages are numbered 1 to {len(self.stages)}"
        vessels, elements = self.stages[stage - 1]
        return f"stage {stage} has vessels 1 to {vessels} of positions 1 to {elements}"

    def elements_in(self, stage: int) -> int:
        return self.stages[stage - 1][1]


def present(stays: Iterable[Stay]) -> Mapping[Place, Stay]:
    """What lies where now."""
    return {stay.place: stay for stay in stays if stay.until is None}


def apply_changes(stays: Sequence[Stay], changes: Sequence[Change], layout: Layout) -> Applied:
    """Apply changes, those of one day together, days in order.

    An element that comes to a place that is taken replaces what was there, which leaves the train unless the same day
    gives it another place. After each day every vessel is full or empty. What lies there already is left alone, so that
    a list that was taken out of the map can come in again.
    """
    problems = [p for change in changes for p in _wrong_alone(change, layout)]
    after: list[Stay] = list(stays)
    done: list[Change] = []
    if not problems:
        for day in sorted({change.day for change in changes}):
            batch = [change for change in changes if change.day == day]
            problems += _wrong_together(batch, after)
            if problems:
                break
            lying = {(stay.serial, stay.place) for stay in after if stay.until is None}
            moving = [change for change in batch if (change.serial, change.place) not in lying]
            done += moving
            after = _applied(moving, after, day)
            problems += _holes(batch, after, layout)
    if problems:
        return Applied(tuple(stays), tuple(problems))
    return Applied(tuple(after), (), tuple(done))


def _wrong_alone(change: Change, layout: Layout) -> list[Problem]:
    found = []
    if not change.serial.strip():
        found.append(Problem(change.row, "The serial number is missing.", "serial"))
    if change.place is not None and not layout.holds(change.place):
        found.append(Problem(change.row, f"This train has no {change.place}; {layout.said(change.place.stage)}."))
    if change.made is not None and change.made > change.day:
        found.append(
            Problem(change.row, f"{change.serial} was made on {change.made}, after it is said to be installed.", "made")
        )
    return found


def _wrong_together(batch: Sequence[Change], stays: Sequence[Stay]) -> list[Problem]:
    """Two places for one element, two elements at one place, or a day before what is known already."""
    found = []
    serials: dict[str, int] = {}
    places: dict[Place, int] = {}
    latest = {stay.serial: max(stay.since, stay.until or stay.since) for stay in stays}
    by_place = {stay.place: max(stay.since, stay.until or stay.since) for stay in stays}
    there = {stay.serial for stay in stays if stay.until is None}
    for change in batch:
        if change.serial in serials:
            found.append(Problem(change.row, f"{change.serial} stands in row {serials[change.serial]}, too."))
        serials[change.serial] = change.row
        if change.place is None:
            if change.serial not in there:
                found.append(Problem(change.row, f"{change.serial} is not in this train."))
            continue
        if change.place in places:
            found.append(Problem(change.row, f"Row {places[change.place]} puts another element at {change.place}."))
        places[change.place] = change.row
        known = max(latest.get(change.serial, date.min), by_place.get(change.place, date.min))
        if change.day < known:
            text = f"On {known} something later is known of {change.serial} or its place."
            found.append(Problem(change.row, text, "day"))
    return found


def _applied(batch: Sequence[Change], stays: Sequence[Stay], day: date) -> list[Stay]:
    moving = {change.serial for change in batch}
    taken = {change.place for change in batch if change.place is not None}
    ended = [
        replace(stay, until=day) if stay.until is None and (stay.serial in moving or stay.place in taken) else stay
        for stay in stays
    ]
    return ended + [Stay(change.serial, change.place, day) for change in batch if change.place is not None]


def _holes(batch: Sequence[Change], stays: Sequence[Stay], layout: Layout) -> list[Problem]:
    """Vessels that were touched and are neither full nor empty now."""
    now = present(stays)
    touched = {(change.place.stage, change.place.vessel) for change in batch if change.place is not None}
    left = {stay.serial: stay.place for stay in stays if stay.until is not None and stay.until == batch[0].day}
    touched |= {(place.stage, place.vessel) for place in left.values()}
    found = []
    for stage, vessel in sorted(touched):
        total = layout.elements_in(stage)
        missing = [n for n in range(1, total + 1) if Place(stage, vessel, n) not in now]
        if missing and len(missing) < total:
            which = ", ".join(map(str, missing))
            row = next((c.row for c in batch if c.place and (c.place.stage, c.place.vessel) == (stage, vessel)), 0)
            found.append(
                Problem(
                    row or batch[0].row,
                    f"Stage {stage}, vessel {vessel} would have a hole at position {which}: a vessel is full or empty.",
                )
            )
    return found


def turned_around(stays: Sequence[Stay], vessel: Vessel, day: date, layout: Layout) -> tuple[Change, ...]:
    """The changes that turn a vessel end for end: the lead element becomes the tail."""
    total = layout.elements_in(vessel[0])
    here = [stay for place, stay in sorted(present(stays).items()) if (place.stage, place.vessel) == vessel]
    return tuple(
        Change(n, day, stay.serial, Place(*vessel, total + 1 - stay.place.position))
        for n, stay in enumerate(here, start=1)
    )
