"""The table of signatures: what each cause does to membranes and channels, where, how fast, and what tells it apart.

Figures are relative: what a cause does to the logarithm of water permeability, salt permeability and channel friction
of the first and the last stage when its main effect is -1 or +1. Directions and places follow the sources; sizes are
engineering judgement, no source. Edit a row, or pass a table of your own to `likely_causes`.
"""

from dataclasses import dataclass
from typing import Literal

Course = Literal["steady", "accelerating", "levelling off", "step", "flat"]
COURSES: tuple[Course, ...] = ("steady", "accelerating", "levelling off", "step", "flat")


@dataclass(frozen=True)
class Effect:
    """On one stage: logarithms of water permeability, salt permeability and friction, relative. [-]"""

    water: float
    salt: float
    friction: float


@dataclass(frozen=True)
class Signature:
    """One cause.

    Attributes
    ----------
    first, last : Effect
        On the first and on the last stage; stages between take the mean.
    courses : tuple of float
        How well each of `COURSES` goes with it, as weights (1 is neutral): how a cause sets in and goes on stands in
        the same tables; the weights are judgement. [-]
    prior : float
        How often it is met before anything is known; common practice, no source. [-]
    spread : float
        How far sizes differ from plant to plant, as a share of the severity. [-]
    check, minutes : str, int
        The cheapest check that speaks for or against it, and how long that takes. [min]
    remedy : str
        Class of remedy, in plain words.
    source : str
    """

    cause: str
    first: Effect
    last: Effect
    courses: tuple[float, ...]
    prior: float
    check: str
    minutes: int
    remedy: str
    source: str
    spread: float = 0.35


SYMPTOMS = "published tables of fouling symptoms, causes and corrective measures; sizes are judgement"

SIGNATURES: tuple[Signature, ...] = (
    Signature(
        "metal-oxide", Effect(-1.0, 0.15, 0.6), Effect(-0.25, 0.0, 0.1),
        (2.2, 0.6, 0.8, 0.4, 0.4), 0.08,
        "look at the used cartridge: brown or black means iron or manganese; test the feed for iron", 10,
        "acid cleaning; stop air or oxidant from reaching iron and manganese in the feed", SYMPTOMS),
    Signature(
        "colloidal", Effect(-0.6, 0.2, 1.0), Effect(-0.1, 0.05, 0.15),
        (2.6, 0.5, 0.6, 0.3, 0.4), 0.12,
        "measure SDI and turbidity, and look how fast the cartridge clogs", 20,
        "alkaline cleaning with detergent; mend the filters before the membranes", SYMPTOMS),
    Signature(
        "scaling", Effect(-0.05, 0.05, 0.0), Effect(-1.0, 1.0, 0.3),
        (2.0, 1.0, 0.6, 0.4, 0.4), 0.15,
        "draw down the antiscalant pump against its set dose, then weigh the last element", 5,
        "acid cleaning early, for sulphate a complexing one; dose, recovery and pH of the feed", SYMPTOMS),
    Signature(
        "biofouling", Effect(-0.45, 0.0, 1.0), Effect(-0.1, 0.0, 0.2),
        (0.35, 3.2, 0.3, 0.2, 0.4), 0.15,
        "open the cartridge housing: slime or smell speaks for growth", 15,
        "warm alkaline cleaning and a biocide that the element allows; find what feeds the growth", SYMPTOMS),
    Signature(
        "organic", Effect(-1.0, -0.15, 0.1), Effect(-0.8, -0.15, 0.05),
        (0.5, 0.2, 3.0, 0.3, 0.4), 0.08,
        "measure UV absorbance or TOC of the feed; look for an oil film", 30,
        "alkaline cleaning; keep organics and oil out", SYMPTOMS),
    Signature(
        "oxidation", Effect(0.35, 1.0, -0.02), Effect(0.12, 0.4, 0.0),
        (1.1, 0.5, 1.9, 0.5, 0.4), 0.10,
        "test the feed for free chlorine with strips, and read the chlorine and ORP history", 5,
        "restore dechlorination; damaged elements cannot be cleaned, only replaced", SYMPTOMS),
    Signature(
        "hydrolysis", Effect(0.3, 1.0, 0.0), Effect(0.3, 1.0, 0.0),
        (0.2, 0.2, 0.4, 3.2, 0.4), 0.04,
        "read pH and temperature in the record of the last cleaning", 5,
        "keep cleanings within the element's limits; replace what is damaged", SYMPTOMS),
    Signature(
        "seal-leak", Effect(0.03, 1.0, 0.0), Effect(0.0, 0.0, 0.0),
        (0.15, 0.15, 0.3, 3.4, 0.4), 0.05,
        "measure the permeate conductivity of each vessel: one that stands out has a leak", 20,
        "probe that vessel, renew O-rings and shims", SYMPTOMS),
    Signature(
        "seal-leak", Effect(0.0, 0.0, 0.0), Effect(0.03, 1.0, 0.0),
        (0.15, 0.15, 0.3, 3.4, 0.4), 0.05,
        "measure the permeate conductivity of each vessel: one that stands out has a leak", 20,
        "probe that vessel, renew O-rings and shims", SYMPTOMS),
    Signature(
        "compaction", Effect(-1.0, -0.4, 0.0), Effect(-0.8, -0.3, 0.0),
        (0.4, 0.1, 3.2, 0.3, 0.4), 0.06,
        "compare with the date of the last new elements or of water hammer; a cleaning does nothing", 5,
        "none; add area or replace when flow is short, start pumps softly", SYMPTOMS),
)  # fmt: skip

NONE_PRIOR = 0.30
FEED_CHANGE_PRIOR = 0.05
NONE_COURSES = (0.6, 0.6, 0.6, 0.5, 2.7)
FEED_CHANGE_COURSES = (0.7, 0.5, 0.9, 1.2, 1.7)
METER_COURSES = (1.4, 0.5, 1.3, 0.8, 0.4)
"""What has no signature of its own, in the same way: seasons and wear leave curves in the days of good membranes too;
meters drift, or are exchanged. Judgement, no source. [-]"""
