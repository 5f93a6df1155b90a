"""The pretreatment page as typed values."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial

from analytics.decisions.antiscalant_dose import TOLERANCE
from analytics.decisions.dechlorination import DETECTION_LIMIT_MG_L, agents
from analytics.decisions.silt_density import USUAL_HIGHEST
from analytics.physics.oxidants import LEAST_SULFITE_PER_CHLORINE
from analytics.quantities import QUANTITIES
from analytics.units import display_unit, from_canonical
from server.display import THIN, day, number, unit_symbol
from server.plants.models import Train
from server.pretreatment.forms import Sheet, antiscalant_answer, filled, sdi_answer, sulfite_answer
from server.pretreatment.queries import LastTests, Pretreatment
from server.reader_words import in_reader_words
from server.templating import Frame

FLOW = QUANTITIES["feed_flow"]
SDI = ("first_time", "second_time", "minutes")
SULFITE = ("agent", "flow", "chlorine", "factor", "strength", "density")
NOTHING = "Nothing before the membranes needs you today."
PERHAPS_SPENT = "The membranes may have seen more free chlorine than they stand: look at what is left in the feed."
CERTAIN_PART = 0.5
"""Part of the limit that must be certain before it is said that it may be past. Our choice, no source. [-]"""
NOT_LOGGED = "The log does not show what happens before the membranes."
ANTISCALANT = ("product", "density", "flow", "target", "active", "column", "seconds", "tank", "hours")


@dataclass(frozen=True)
class PretreatmentPage:
    frame: Frame
    site: str
    train: str
    train_id: int
    headline: str
    said: tuple[str, ...]
    alarms: tuple[str, ...]
    lives: str
    sdi: Sheet
    sulfite: Sheet
    antiscalant: Sheet
    agents: tuple[tuple[str, str], ...]
    flow_unit: str


def pretreatment_page(frame: Frame, train: Train, found: Pretreatment, query: Mapping[str, str]) -> PretreatmentPage:
    """Put the page together from the log and from the address."""
    unit = display_unit(FLOW.unit, frame.units)
    flow = f"{from_canonical(found.feed_flow_m3h, FLOW.unit, unit):.1f}" if found.feed_flow_m3h else ""
    chlorine = f"{found.raw_chlorine_mg_l:.2f}" if found.raw_chlorine_mg_l else ""
    said, alarms = _filters(found, frame.units)
    doubt = _perhaps_spent(found)
    unknown = found.oxidants.exposure is None and not any(found.filters.values())
    for text, bad in (*_sdi(found), *_dosing(found), *_chlorine(found), *_orp(found)):
        (alarms if bad else said).append(text)
    return PretreatmentPage(
        frame=frame,
        site=train.site.name,
        train=train.name,
        train_id=train.id,
        headline=alarms[0] if alarms else NOT_LOGGED if unknown else PERHAPS_SPENT if doubt else NOTHING,
        said=tuple(said),
        alarms=tuple(alarms[1:]),
        lives=_lives(found, frame.units),
        sdi=filled(SDI, query, {"minutes": "15"}, "second_time", sdi_answer),
        sulfite=filled(
            SULFITE, query,
            {"flow": flow, "chlorine": chlorine, "factor": "3", "strength": "10", "density": "1.07"},
            "factor", partial(sulfite_answer, flow_unit=unit),
        ),
        antiscalant=filled(
            ANTISCALANT, query, {"flow": flow, "active": "100"} | _tank(found),
            "product", partial(antiscalant_answer, flow_unit=unit),
        ),
        flow_unit=unit_symbol(unit),
        agents=tuple((name, name.capitalize()) for name in agents()),
    )  # fmt: skip


def _tank(found: Pretreatment) -> dict[str, str]:
    """What stands in the set-up, else what is usual."""
    dosing = found.dosing
    return {
        "product": f"{100 * (dosing.antiscalant_tank_share or 0.10):g}",
        "density": f"{dosing.antiscalant_density_kg_l or 1.15:g}",
        "target": f"{dosing.antiscalant_mg_l or 3:g}",
    }


def _filters(found: Pretreatment, units: str) -> tuple[list[str], list[str]]:
    said: list[str] = []
    alarms: list[str] = []
    for name, state in found.filters.items():
        if state is None:
            said.append(f"The pressure drop of the {name} is not known: its two pressures are not in the log.")
        else:
            (alarms if state.urgent else said).append(in_reader_words(state.advice, units))
    return said, alarms


def _lives(found: Pretreatment, units: str) -> str:
    if not found.lives_m3:
        return "Write each cartridge change down as an event, and this page says how much water a set lasts."
    volume = display_unit("m3", units)
    last = [
        f"{number(float(from_canonical(life, 'm3', volume)))}{THIN}{unit_symbol(volume)}"
        for life in found.lives_m3[-3:]
    ]
    return f"A set of cartridges lasted {', '.join(last)} of feed, the latest last."


def _sdi(found: Pretreatment) -> list[tuple[str, bool]]:
    sdi = found.sdi
    if sdi is None:
        return [("No SDI stands in the log: a test a week tells whether the filters hold.", False)]
    text = f"SDI {number(sdi.value, 1)} on {day(sdi.day)}; the last tests lay between {_between(sdi)}."
    if sdi.value <= USUAL_HIGHEST:
        return [(text, False)]
    return [(f"{text} Above {USUAL_HIGHEST:g}, the most that element makers accept: look at the filters.", True)]


def _dosing(found: Pretreatment) -> list[tuple[str, bool]]:
    """Antiscalant against what is meant, and sulfite against the chlorine before it."""
    said: list[tuple[str, bool]] = []
    dose, meant, factor = found.antiscalant_mg_l, found.dosing.antiscalant_mg_l, found.bisulfite_factor
    if dose is not None:
        text = f"Antiscalant {number(dose.value, 1)} mg/L on {day(dose.day)}, lately between {_between(dose)}"
        off = meant is not None and abs(dose.value / meant - 1) > TOLERANCE
        wanted = f"; {meant:g} are meant" if meant is not None else ""
        said.append((f"{text}{wanted}{': draw the pump down' if off else ''}.", off))
    if factor is not None:
        text = f"Sulfite is {number(factor.value, 1)} times the chlorine before it, lately between {_between(factor)}"
        low = factor.value < LEAST_SULFITE_PER_CHLORINE
        said.append((f"{text}; the reaction takes {LEAST_SULFITE_PER_CHLORINE:.2f}.", low))
    return said


def _between(tests: LastTests) -> str:
    return f"{number(tests.low, 1)} and {number(tests.high, 1)}"


def _chlorine(found: Pretreatment) -> list[tuple[str, bool]]:
    exposure, since = found.oxidants.exposure, found.oxidants.since
    if exposure is None or since is None:
        return [("Free chlorine in the feed is not in the log, so what the membranes have seen is not known.", False)]
    most = found.limits.max_chlorine_exposure_ppm_h
    spread = number(exposure.most) if exposure.most < 1 else f"{number(exposure.least)} to {number(exposure.most)}"
    text = (
        f"Since {day(since)} the membranes have seen {spread} ppm·h of free chlorine (below"
        f" {DETECTION_LIMIT_MG_L:g} mg/L counted as none, and as that much); the limit of this train is {number(most)}."
    )
    if exposure.uncovered_hours > 48:
        text += f" {number(exposure.uncovered_hours / 24)} days have no value."
    return [(text, exposure.least > most)]


def _perhaps_spent(found: Pretreatment) -> bool:
    """Whether much was certainly seen, and what lay below detection may have brought it past the limit."""
    exposure, most = found.oxidants.exposure, found.limits.max_chlorine_exposure_ppm_h
    return exposure is not None and exposure.least > CERTAIN_PART * most and exposure.most > most


def _orp(found: Pretreatment) -> list[tuple[str, bool]]:
    orp, most = found.oxidants.orp, found.limits.max_orp_rise_mv
    if orp is None:
        return []
    text = f"ORP without chlorine is {number(orp.without_chlorine)} mV at this site; "
    when = "today" if found.oxidants.orp_holds else "the latest, of more than a week ago, was"
    text += f"{when} {number(orp.latest)} mV."
    alarm = found.oxidants.orp_holds and orp.rise > most
    if alarm:
        text += f" More than {number(most)} mV above it: measure free chlorine (DPD) and look at the dosing."
    return [(text, alarm)]
