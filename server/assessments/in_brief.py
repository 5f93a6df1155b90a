"""The answer in brief: where, why, when, how sure and what next, one line each, under the sentence that says what."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from analytics.judgement.words import all_of, either
from server.assessments.cause_words import causes_in_order, first_check, probability_words
from server.assessments.figures import is_judged, is_over
from server.assessments.levels import CAUSES, SHORT_INDICATORS, scope_words
from server.assessments.meter_words import in_question, meter_name, off_between, off_by
from server.assessments.panels import reach_of
from server.display import THIN, counted, number, percent, sentence, short_day, signed, uncapitalized

Document = Mapping[str, Any]


@dataclass(frozen=True)
class BriefLine:
    """One of the questions with its answer; `page` is the page behind the verdict that says more."""

    question: str
    answer: str
    page: str = ""


def in_brief(document: Document, units: str) -> tuple[BriefLine, ...]:
    """Where, why, when, how sure, what next; a question without an answer is left out."""
    lines = (
        BriefLine("Where", _where(document)),
        BriefLine("Why", _why(document), "causes"),
        BriefLine("When", _when(document)),
        BriefLine("How sure", _how_sure(document, units)),
        BriefLine("What next", _what_next(document)),
    )
    return tuple(line for line in lines if line.answer)


def brief_words(document: Document) -> dict[str, str]:
    """The same for a list of many trains, in canonical units: question and answer."""
    return {line.question: line.answer for line in in_brief(document, "SI")}


def _where(document: Document) -> str:
    if document["verdict"]["level"] == "check a meter" and document["meters"]:
        return sentence(in_question(document["meters"]))
    places: dict[str, list[str]] = {}
    for entry in document["indicators"]:
        if is_over(entry):
            places.setdefault(entry["scope"], []).append(SHORT_INDICATORS[entry["name"]])
    stages = {scope: names for scope, names in places.items() if scope != "train"} or places
    if stages:
        return f"{sentence('; '.join(f'{scope_words(scope)}: {all_of(names)}' for scope, names in stages.items()))}"
    leading = leading_indicator(document)
    return f"Nearest to its limit: {_named(leading)}" if leading else ""


def leading_indicator(document: Document) -> Mapping[str, Any] | None:
    """The indicator that a planned cleaning is for, else the one furthest on its way to its limit."""
    judged: list[Mapping[str, Any]] = [entry for entry in document["indicators"] if is_judged(entry)]
    window = document.get("cleaning") or {}
    governs = [e for e in judged if (e["scope"], e["name"]) == (window.get("scope"), window.get("name"))]
    if governs and document["verdict"]["level"] == "plan cleaning":
        return governs[0]
    return max(judged, key=_closeness, default=None)


def _closeness(entry: Mapping[str, Any]) -> float:
    return float((entry["value"] - (entry.get("season_allowance") or 0.0) - 1) / (entry["limit"] - 1))


def _named(entry: Mapping[str, Any]) -> str:
    where = "the train" if entry["scope"] == "train" else scope_words(entry["scope"])
    return f"{SHORT_INDICATORS[entry['name']]} of {where}"


def _why(document: Document) -> str:
    causes = causes_in_order(document)
    if not causes or document["verdict"]["level"] == "not enough data":
        return ""
    named = [f"{_cause_in_place(one, document)} ({probability_words(one)})" for one in causes[:2]]
    return f"{sentence(named[0])}{f', else {named[1]}' if len(named) > 1 else ''}"


def _cause_in_place(one: Mapping[str, Any], document: Document) -> str:
    if one["cause"] == "none":
        return "nothing to explain"
    if one["cause"] == "meter" and document["meters"]:
        return in_question(document["meters"])
    name = uncapitalized(CAUSES.get(one["cause"], one["cause"]))
    return f"{name} in stage {one['stage']}" if one["stage"] else name


def _when(document: Document) -> str:
    level, window = document["verdict"]["level"], document.get("cleaning") or {}
    if level == "act now":
        return "Now"
    if level == "check a meter":
        return "Before the membranes are judged"
    if level == "not enough data":
        return ""
    if window.get("advice") in ("now", "plan") and window.get("aim"):
        first, last = (_day(window.get(key)) for key in ("earliest", "latest"))
        return f"Clean about {_day(window['aim'])}{f', between {first} and {last}' if first and last else ''}"
    reaches = [(entry, reach) for entry in document["indicators"] if is_judged(entry) and (reach := reach_of(entry))]
    if not reaches:
        return "No limit is in sight"
    entry, reach = min(reaches, key=lambda pair: pair[1].likely or pair[1].earliest)
    words = f"between {reach.text.replace(' to ', ' and ')}" if reach.latest else reach.text
    return f"Limit of {_named(entry)} {words}"


def _day(text: str | None) -> str:
    return short_day(date.fromisoformat(text)) if text else ""


def _how_sure(document: Document, units: str) -> str:
    readings = document["readings"]
    rests = f"{number(readings['used'])} of {counted(readings['total'], 'reading')}"
    if document["verdict"]["level"] == "check a meter" and document["meters"]:
        return f"{_how_sure_of(document['meters'], units)}; {rests}"
    entry = leading_indicator(document)
    if entry is None:
        return rests
    interval = _span(entry["low"] - 1, entry["high"] - 1)
    change, limit = (percent(entry[key] - 1, 0) for key in ("value", "limit"))
    return f"{sentence(_named(entry))} {change} ({interval}, 90 times in 100), limit {limit}; {rests}"


def _how_sure_of(meters: Sequence[Mapping[str, Any]], units: str) -> str:
    if len(meters) == 1:
        return f"Off by {off_by(meters[0], units, 0)} ({off_between(meters[0], units)}, 90 times in 100)"
    each = [f"{uncapitalized(meter_name(one['quantity']))} by {off_by(one, units, 0)}" for one in meters]
    return f"One of them is off, nothing tells which: {either(each)}"


def _span(low: float, high: float) -> str:
    return f"{signed(100 * low)} to {signed(100 * high)}{THIN}%"


def _what_next(document: Document) -> str:
    level = document["verdict"]["level"]
    if level == "steady":
        return "Go on logging; nothing has to be done"
    if level == "not enough data":
        helpful = (document.get("helpful_meter") or {}).get("sentence", "")
        return helpful or "Log more readings; the reference needs steady days"
    check = first_check(document).rstrip(".")
    if level == "plan cleaning" and check:
        return f"{check}; then plan the cleaning"
    return check
