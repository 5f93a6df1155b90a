"""Which quantity of the glossary a column is, from what its name says and from how the train is built."""

from dataclasses import dataclass, replace
from typing import Literal

from server.intake.understand.facets import UNIT_OF_MEASURE, Facets
from server.intake.understand.words import facet_of

Confidence = Literal["sure", "likely", "guess", "unknown"]
CERTAINTY: dict[Confidence, int] = {"sure": 3, "likely": 2, "guess": 1, "unknown": 0}
STAGED = frozenset(("flow", "pressure", "conductivity"))
_WORDS_IN_USE = {"state": "state", "remark": "remark"}
_LEFT_OUT = {
    "recovery": "recovery is worked out here from the flows",
    "rejection": "rejection is worked out here from the conductivities",
    "passage": "salt passage is worked out here from the conductivities",
    "percent": "a percentage is not a measured quantity here",
    "drop": "the pressure drop is worked out here from the pressures before and behind",
    "person": "names of people are not kept with readings",
    "index": "a running number says nothing about the water",
    "quality": "it says how good another column is",
    "shift": "the shift is known from the time",
    "year": "the year is known from the time",
    "month": "the month is known from the time",
    "date": "the times are taken from another column",
    "time": "the times are taken from another column",
}
_NOT_READ = {
    "normalized": "normalized values are worked out here",
    "setpoint": "it is a set-point or a limit, not a reading",
    "worked_out": "it was worked out, not read from an instrument",
    "controller": "it is what a controller sends, not a reading",
    "statistic": "it is the lowest or highest of some time, not a reading",
}
"""Kinds of columns that look like a quantity and are none."""


@dataclass(frozen=True)
class Meaning:
    """Quantity (or `state`, `remark`, or nothing), how sure that is, and why in plain words."""

    name: str
    confidence: Confidence
    reason: str


def left_out(reason: str) -> Meaning:
    """A column that is known, and not needed."""
    return Meaning("", "sure", reason)


def meaning_of(facets: Facets, stages: int) -> Meaning:
    """What a column is; `stages` is the number of stages of the train (0 where that is not known)."""
    measure = facets.measure
    if measure in _WORDS_IN_USE and not facets.unit:
        return Meaning(_WORDS_IN_USE[measure], "sure", "its name says so")
    if "other_step" in facets.kinds and "train_word" not in {(facet_of(word) or ("", ""))[1] for word in facets.words}:
        return left_out("it belongs to another step of treatment, before or behind the membranes")
    if facets.second_pass:
        return left_out("it belongs to a second pass, which is another train here")
    not_read = next((reason for kind, reason in _NOT_READ.items() if kind in facets.kinds), "")
    if not_read:
        return left_out(not_read)
    if measure in _LEFT_OUT:
        return left_out(_LEFT_OUT[measure])
    found = _by_measure(facets, stages)
    if facets.tagged and found.name:
        weaker: Confidence = "likely" if found.confidence == "sure" else "guess"
        found = replace(found, confidence=weaker)
    if "mean" in facets.kinds and found.name:
        return Meaning(found.name, "guess", f"{found.reason}; it is a mean over some time, taken as a reading")
    return found


def _by_measure(facets: Facets, stages: int) -> Meaning:
    measure = facets.measure
    if measure == "pressure":
        return _pressure(facets, stages)
    if measure in STAGED:
        if not facets.places and "in" in facets.sides and facets.stage <= 1:
            return Meaning(f"feed_{measure}", "likely", "its name says what comes in")
        return _staged(measure, facets, stages)
    if measure in {"dose", "level"}:
        return _dosing(measure, facets)
    if measure in {"power", "energy", "hours", "volume", "frequency", "current"}:
        return _plant(measure, facets)
    return _quality(measure, facets)


def _quality(measure: str, facets: Facets) -> Meaning:
    if measure == "temperature":
        return _temperature(facets)
    if measure in {"ph", "tds"}:
        return _of_water(measure, facets)
    if measure == "chlorine":
        return _chlorine(facets)
    if measure in {"orp", "turbidity"}:
        if "raw" in facets.places or facets.water in {"permeate", "concentrate"}:
            return Meaning("", "unknown", f"there is no quantity for {measure} there")
        return Meaning(f"feed_{measure}", _sure_if("feed" in facets.places), "it is measured in the feed")
    if measure == "sdi":
        return Meaning("feed_sdi", "sure", "its name says so")
    return Meaning("", "unknown", "its name says nothing that is known here")


def _sure_if(told: bool) -> Confidence:
    return "sure" if told else "likely"


def _pressure(facets: Facets, stages: int) -> Meaning:
    places, sides = facets.places, facets.sides
    found = _filter_pressure(facets) or _pump_pressure(facets, stages)
    if found is not None:
        return found
    if "interstage" in places:
        return Meaning("stage1_concentrate_pressure", "likely", "between the stages the first has given its pressure")
    if facets.water == "recycle":
        return Meaning("", "unknown", "there is no quantity for a pressure there")
    if facets.water == "raw" and not facets.stage:
        return Meaning("raw_pressure", "sure", "its name says raw water")
    if not facets.water and ("in" in sides or "out" in sides):
        water = "feed" if "in" in sides else "concentrate"
        confidence: Confidence = "likely" if facets.stage or "in" in sides else "guess"
        if "membrane" in facets.kinds:
            confidence = "sure"
        found = _staged("pressure", replace(facets, places=frozenset({water})), stages)
        return replace(found, confidence=confidence if found.name else found.confidence)
    return _staged("pressure", facets, stages)


def _filter_pressure(facets: Facets) -> Meaning | None:
    for place, name in (("cartridge", "cartridge"), ("media", "media_filter"), ("filter", "cartridge")):
        if place in facets.places:
            side = "inlet" if "in" in facets.sides else "outlet" if "out" in facets.sides else ""
            if not side:
                return Meaning("", "unknown", "before or behind the filter is not said")
            sure: Confidence = "guess" if place == "filter" else "sure"
            return Meaning(f"{name}_{side}_pressure", sure, f"its name says {side} of the filter")
    return None


def _pump_pressure(facets: Facets, stages: int) -> Meaning | None:
    places, sides = facets.places, facets.sides
    if "booster" in places and stages > 1:
        if "discharge" in places or "out" in sides:
            return Meaning("stage2_feed_pressure", "likely", "a booster pump feeds the second stage")
        return Meaning("stage1_concentrate_pressure", "likely", "the booster pump takes what leaves stage 1")
    if "suction" in places or ("pump" in places and "in" in sides):
        return Meaning("pump_suction_pressure", "sure", "its name says the suction side of the pump")
    if "discharge" in places or ("pump" in places and not facets.water and not facets.stage):
        told = "discharge" in places or "out" in sides
        return Meaning("pump_discharge_pressure", _sure_if(told), "its name says the pump")
    return None


def _staged(measure: str, facets: Facets, stages: int) -> Meaning:
    """Pressures, flows and conductivities: of the train, or of one of its stages."""
    stage = facets.stage
    water = facets.water or ("concentrate" if "interstage" in facets.places else "")
    if water == "raw":
        water = "feed"
        if measure == "conductivity":
            return Meaning("feed_conductivity", "likely", "raw water is the feed, but for what is dosed")
        return Meaning("feed_flow", "guess", "raw water is the feed where nothing is taken off between")
    if not water:
        return Meaning("", "unknown", f"whose {measure} it is, its name does not say")
    if water == "recycle":
        known = measure == "flow"
        return Meaning("recycle_flow" if known else "", _sure_if(known), "its name says recycle")
    reason = f"its name says {water} {measure}" + (f" of stage {stage}" if stage else "")
    if "interstage" in facets.places and not stage:
        stage, reason = 1, "between the stages flows the concentrate of the first"
    if water == "feed":
        return _feed(measure, stage, reason)
    if water == "concentrate" and (stage == 0 or (stages and stage >= stages)):
        return Meaning(f"concentrate_{measure}", "sure", reason + (", the last" if stage else ""))
    if water == "permeate" and (stage == 0 or stages == 1):
        return Meaning(f"permeate_{measure}", "sure", reason)
    if water == "concentrate" and measure == "flow":
        return left_out(f"the concentrate of stage {stage} feeds the next stage; it follows from the other flows")
    return Meaning(f"stage{stage}_{water}_{measure}", "sure", reason)


def _feed(measure: str, stage: int, reason: str) -> Meaning:
    if stage <= 1:
        return Meaning(f"feed_{measure}", "sure", reason)
    if measure == "pressure":
        return Meaning(f"stage{stage}_feed_pressure", "sure", reason)
    return left_out(f"the feed of stage {stage} is the concentrate of the stage before")


def _temperature(facets: Facets) -> Meaning:
    if facets.places & {"air", "tank", "pump"}:
        return left_out("it is not the temperature of the water")
    if "feed" in facets.places or facets.water == "raw":
        return Meaning("feed_temperature", _sure_if("feed" in facets.places), "temperature of the feed")
    if facets.water:
        return Meaning("feed_temperature", "guess", f"the {facets.water} is about as warm as the feed")
    return Meaning("feed_temperature", "likely", "no other water is named, so it is taken as that of the feed")


def _of_water(measure: str, facets: Facets) -> Meaning:
    if facets.water in {"feed", "permeate", "concentrate"} and facets.stage <= 1:
        return Meaning(f"{facets.water}_{measure}", "sure", f"its name says {facets.water}")
    if not facets.places and "in" in facets.sides and facets.stage <= 1:
        return Meaning(f"feed_{measure}", "likely", "its name says what comes in")
    if facets.water == "raw":
        return Meaning("", "unknown", f"{measure} of the raw water is not that of the feed")
    if facets.stage or facets.water:
        return Meaning("", "unknown", f"there is no quantity for {measure} there")
    if measure == "ph":
        return Meaning("feed_ph", "guess", "no water is named, so it is taken as that of the feed")
    return Meaning("", "unknown", "whose it is, its name does not say")


def _chlorine(facets: Facets) -> Meaning:
    if "total_word" in facets.kinds or "volume" in facets.words:
        return Meaning("", "unknown", "total chlorine is not free chlorine")
    if "raw" in facets.places:
        return Meaning("raw_free_chlorine", _sure_if("free" in facets.kinds), "its name says raw water")
    return Meaning(
        "feed_free_chlorine", "likely" if "feed" in facets.places else "guess", "chlorine before the membranes"
    )


def _dosing(measure: str, facets: Facets) -> Meaning:
    chemical = next((name for name in ("antiscalant", "bisulfite", "acid") if name in facets.places), "")
    if not chemical or (measure == "level" and chemical == "acid"):
        return Meaning("", "unknown", "of which chemical, its name does not say" if not chemical else "not kept here")
    name = f"{chemical}_dose" if measure == "dose" else f"{chemical}_tank_level"
    return Meaning(name, "sure", f"its name says {chemical}")


def _plant(measure: str, facets: Facets) -> Meaning:
    if measure == "energy":
        return Meaning("energy_counter", "likely", "a meter of energy")
    if measure == "hours":
        return Meaning("hours_counter", "sure", "its name says hours run")
    if measure == "volume":
        if facets.water == "permeate":
            return Meaning("permeate_counter", "sure", "its name says a total of permeate")
        return Meaning("", "unknown", "only the total of permeate is kept")
    if facets.places & {"booster"}:
        return Meaning("", "unknown", "only the high-pressure pump is kept")
    return Meaning(f"pump_{measure}", _sure_if("pump" in facets.places), "of the high-pressure pump")


def canonical_unit(facets: Facets) -> str:
    """Canonical unit of what a column measures, "" where that is not known."""
    return UNIT_OF_MEASURE.get(facets.measure, "")
