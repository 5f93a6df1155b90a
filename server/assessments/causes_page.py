"""The page of the causes: how likely each is, what speaks for and against it, and the table it is read from."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from analytics.decisions.cleaning_steps import CAUTIONS
from analytics.judgement.cause_words import MAIN, TOUCHED, WHAT, speaks
from analytics.judgement.observed import BALANCE, Seen, first_share_of
from analytics.judgement.signatures import COURSES, SIGNATURES, Signature
from analytics.judgement.words import all_of
from analytics.plant import Train
from server.assessments.behind import Behind
from server.assessments.cause_words import (
    as_sentence,
    cause_name,
    causes_in_order,
    check_of,
    check_words,
    probability_words,
)
from server.assessments.evidence import MonthTable, month_table
from server.assessments.graphs import MarkedCharts, cause_charts
from server.assessments.page import EventRow, event_rows
from server.display import percent, sentence, uncapitalized
from server.templating import Frame

Document = Mapping[str, Any]
AGAINST = "Against it: "
GOES_WITH = 1.5
"""Weight of a course from which the table says that it goes with a cause. [-]"""
FITS, DOES_NOT = "fits", "does not fit"
NOTHING = "Nothing was weighed: no indicator can be compared yet."


@dataclass(frozen=True)
class CauseLine:
    """One cause: how likely, what speaks for it and against it, the check and the class of remedy."""

    name: str
    probability: str
    share: float
    for_it: tuple[str, ...]
    against: tuple[str, ...]
    check: str
    remedy: str


@dataclass(frozen=True)
class SeenLine:
    """One change that the causes are held against, with its interval; `clear` when it is more than scatter."""

    name: str
    change: str
    interval: str
    clear: bool


@dataclass(frozen=True)
class SignatureCell:
    """What a cause does to one thing: an arrow, the same in words, and whether that was seen."""

    arrow: str
    words: str
    answer: str


@dataclass(frozen=True)
class SignatureLine:
    """One row of the table of signatures."""

    name: str
    cells: tuple[SignatureCell, ...]
    course: str
    prior: str
    spread: str
    source: str


@dataclass(frozen=True)
class CausesPage:
    """Everything about the causes of one train."""

    frame: Frame
    site: str
    train: str
    headline: str
    check: str
    charts: MarkedCharts
    events: tuple[EventRow, ...]
    months: MonthTable | None
    causes: tuple[CauseLine, ...]
    seen: tuple[SeenLine, ...]
    cautions: tuple[str, ...]
    columns: tuple[str, ...]
    signatures: tuple[SignatureLine, ...]


def causes_page(found: Behind) -> CausesPage:
    """Put the page together from the stored answer."""
    document, train = found.document, found.plant.train
    charts = cause_charts(document, found.history, found.events, found.zone, found.stages)
    observed = [one for one in document.get("observed", []) if one["place"] != BALANCE]
    return CausesPage(
        frame=found.frame,
        site=found.site,
        train=found.train,
        headline=_headline(document),
        check=check_words(document),
        charts=charts,
        events=event_rows(charts.marks),
        months=month_table(found.history, found.stages),
        causes=tuple(_line(cause, document["meters"]) for cause in causes_in_order(document)),
        seen=tuple(_seen(one, found.stages) for one in observed),
        cautions=CAUTIONS,
        columns=tuple(_place_words(one, found.stages) for one in observed),
        signatures=_signatures(observed, train),
    )


def _headline(document: Document) -> str:
    causes, meters = causes_in_order(document), document["meters"]
    if not causes:
        return NOTHING
    first, *others = [f"{cause_name(cause, meters)} ({probability_words(cause)})" for cause in causes[:3]]
    if causes[0]["cause"] == "none":
        first = f"Nothing has to be explained ({probability_words(causes[0])})"
    listed = all_of([uncapitalized(one) for one in others])
    return f"{first}; else {listed}." if others else f"{first}."


def _line(cause: Mapping[str, Any], meters: Sequence[Mapping[str, Any]]) -> CauseLine:
    evidence = [text for text in cause["evidence"] if text]
    return CauseLine(
        name=cause_name(cause, meters),
        probability=probability_words(cause),
        share=round(100 * cause["probability"], 1),
        for_it=tuple(text for text in evidence if not text.startswith(AGAINST)),
        against=tuple(sentence(text.removeprefix(AGAINST)) for text in evidence if text.startswith(AGAINST)),
        check=check_of(cause["next_check"], cause.get("minutes")),
        remedy=as_sentence(cause.get("remedy", "")) if cause["cause"] not in ("none", "feed-change") else "",
    )


def _place_words(one: Mapping[str, Any], stages: int) -> str:
    where = {"first": "stage 1", "last": f"stage {stages}", "all": "train"}[one["place"]]
    return f"{sentence(WHAT[one['what']])}, {where}"


def _seen(one: Mapping[str, Any], stages: int) -> SeenLine:
    low, high = (math.expm1(one["change"] + side * 1.645 * one["error"]) for side in (-1, 1))
    return SeenLine(
        _place_words(one, stages),
        percent(math.expm1(one["change"])),
        f"{percent(low)} to {percent(high)}",
        clear=speaks(1.0, one["change"], one["error"]) in ("for", "against"),
    )


def _signatures(observed: Sequence[Mapping[str, Any]], train: Train) -> tuple[SignatureLine, ...]:
    """The table of signatures for what can be seen of this train; a row that tells nothing apart here only once."""
    seen = Seen(
        tuple((one["place"], one["what"]) for one in observed),
        np.array([one["change"] for one in observed]),
        np.array([one["error"] for one in observed]),
    )
    lines: list[SignatureLine] = []
    for signature in SIGNATURES:
        line = _signature(signature, seen, train)
        if (line.name, line.cells) not in [(known.name, known.cells) for known in lines]:
            lines.append(line)
    return tuple(lines)


def _signature(signature: Signature, seen: Seen, train: Train) -> SignatureLine:
    expected = seen.expected(signature.first, signature.last, first_share_of(train))
    twice = sum(one.cause == signature.cause for one in SIGNATURES) > 1 and len(train.stages) > 1
    place = (1 if signature.first.salt else len(train.stages)) if twice else None
    courses = [c for c, weight in zip(COURSES, signature.courses, strict=True) if weight >= GOES_WITH]
    return SignatureLine(
        name=cause_name({"cause": signature.cause, "stage": place}),
        cells=tuple(map(_cell, expected.tolist(), seen.changes.tolist(), seen.errors.tolist())),
        course=all_of(courses) or "any",
        prior=f"{100 * signature.prior:.0f} in 100",
        spread=f"{100 * signature.spread:.0f} %",
        source=signature.source,
    )


def _cell(expected: float, change: float, error: float) -> SignatureCell:
    answer = {"for": FITS, "against": DOES_NOT, "left alone": DOES_NOT, "hardly moved": DOES_NOT}
    up = expected > 0
    if abs(expected) < TOUCHED:
        arrow, words = "·", "stays"
    elif abs(expected) < MAIN:
        arrow, words = ("↑", "rises") if up else ("↓", "falls")
    else:
        arrow, words = ("↑↑", "rises much") if up else ("↓↓", "falls much")
    return SignatureCell(arrow, words, answer.get(speaks(expected, change, error), ""))
