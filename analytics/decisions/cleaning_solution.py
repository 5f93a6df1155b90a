"""Which solution for which foulant, in which order, and what must never meet. Generic chemistry, no products.

The element maker's own instructions come first. Concentrations are weight per weight in permeate.
"""

import re
from dataclasses import dataclass
from typing import Literal

Family = Literal["alkaline", "acid", "reducing", "biocide"]

MAKER = "membrane maker's technical bulletin on cleaning"
MEMORY = "common practice, from memory"


@dataclass(frozen=True)
class Dose:
    """One chemical of a solution, as a fraction of its weight; pure substance. [-]"""

    name: str
    share: float
    most: bool = True


@dataclass(frozen=True)
class Solution:
    """One cleaning solution in permeate, with its window of pH [-] and temperature [degC]."""

    key: str
    name: str
    family: Family
    doses: tuple[Dose, ...]
    ph_low: float
    ph_high: float
    temperature_low_c: float
    temperature_high_c: float
    caution: str
    source: str

    @property
    def ph_target(self) -> float:
        """Where to aim: a quarter up the window for an acid, the middle for the others; common practice, no source."""
        share = 0.25 if self.family == "acid" else 0.5
        return self.ph_low + share * (self.ph_high - self.ph_low)


CITRIC = Solution(
    "citric", "Citric acid", "acid", (Dose("citric acid", 0.02),), 2.0, 4.0, 25.0, 30.0,
    "Acid to water, never water to acid.", MAKER)  # fmt: skip
CAUSTIC = Solution(
    "caustic", "Caustic soda", "alkaline", (Dose("sodium hydroxide", 0.001),), 10.0, 12.0, 25.0, 30.0,
    "Caustic to water, slowly: it heats up as it dissolves.", MAKER)  # fmt: skip
CAUSTIC_DETERGENT = Solution(
    "caustic-detergent", "Caustic soda with an anionic detergent", "alkaline",
    (Dose("sodium hydroxide", 0.001), Dose("anionic surfactant (sodium dodecyl sulfate or dodecylbenzene sulfonate)",
                                           0.00025, most=False)),
    10.0, 11.5, 25.0, 30.0, "Anionic only: a cationic surfactant fouls the membrane for good. It foams.",
    MEMORY)  # fmt: skip
CAUSTIC_EDTA = Solution(
    "caustic-edta", "Caustic soda with EDTA", "alkaline",
    (Dose("sodium hydroxide", 0.001), Dose("EDTA, tetrasodium salt", 0.01)), 10.0, 12.0, 25.0, 30.0,
    "EDTA may need separate disposal: ask before it goes to the drain.", MAKER)  # fmt: skip
WARM_CAUSTIC = Solution(
    "warm-caustic", "Warm caustic soda", "alkaline", (Dose("sodium hydroxide", 0.001),), 11.0, 12.0, 30.0, 35.0,
    "Warm and strong: watch pH and temperature together. No fluoride on site.", MEMORY)  # fmt: skip
HYDROSULFITE = Solution(
    "hydrosulfite", "Sodium hydrosulfite", "reducing", (Dose("sodium hydrosulfite", 0.01, most=False),), 4.0, 5.0,
    25.0, 30.0, "It smells and gives off sulfur dioxide, more so with acid: never add acid to it, and ventilate.",
    MEMORY)  # fmt: skip


@dataclass(frozen=True)
class Programme:
    """What to clean with, in order, and why in this order. Without solutions, `why` says why a cleaning does not help.

    `soak_hours` is the shortest and longest soak that makes sense. [h]
    """

    foulant: str
    name: str
    solutions: tuple[Solution, ...]
    why: str
    after: str = ""
    soak_hours: tuple[float, float] = (1.0, 1.0)


ALKALINE_FIRST = (
    "Alkaline first, then acid: acid on slime, organics or silica sets the layer, and the alkaline solution then no "
    "longer gets under it. The acid afterwards takes what minerals were held in it."
)
ACID_FIRST = (
    "Acid first, because carbonate scale and metal oxides dissolve in it. An alkaline solution afterwards takes "
    "organics that were bound in, and opens the membrane again."
)

PROGRAMMES: dict[str, Programme] = {
    p.foulant: p
    for p in (
        Programme("biofouling", "Biological growth", (CAUSTIC_DETERGENT, CITRIC), ALKALINE_FIRST,
                  "Then a biocide that does not oxidise and that the element maker allows; find what feeds the growth.",
                  (1.0, 15.0)),
        Programme("organic", "Organics, oil or grease", (CAUSTIC_DETERGENT, CITRIC), ALKALINE_FIRST,
                  "Keep organics and oil out of the feed.", (1.0, 15.0)),
        Programme("colloidal", "Colloids and silt", (CAUSTIC_DETERGENT, CITRIC), ALKALINE_FIRST,
                  "Mend the filters before the membranes.", (1.0, 4.0)),
        Programme("scaling", "Carbonate scale", (CITRIC, CAUSTIC), ACID_FIRST,
                  "Check antiscalant dose, recovery and pH of the feed.", (1.0, 4.0)),
        Programme("metal-oxide", "Iron or manganese", (CITRIC, CAUSTIC), ACID_FIRST,
                  "If citric acid turns brown and does not bring it back, hydrosulfite is the stronger way; never in "
                  "one solution with acid.", (1.0, 4.0)),
        Programme("iron-heavy", "Iron, much of it", (HYDROSULFITE,),
                  "A reducing solution dissolves iron that citric acid leaves; no acid goes with it, not in the tank "
                  "and not before a full rinse.", "Keep air and oxidant from the iron in the feed.", (1.0, 4.0)),
        Programme("sulfate", "Sulfate scale", (CAUSTIC_EDTA, CITRIC),
                  "A complexing solution first, because sulfate does not dissolve in acid; acid afterwards for the "
                  "carbonate that came with it.", "Old sulfate scale often does not come off.", (2.0, 15.0)),
        Programme("silica", "Silica", (WARM_CAUSTIC,),
                  "Alkaline and warm, and no acid before it: acid sets silica.", "No fluoride on site.", (1.0, 15.0)),
        Programme("unknown", "Not known yet", (CAUSTIC_DETERGENT, CITRIC), ALKALINE_FIRST,
                  "Look at the drained solutions: what colours the acid is mineral, what colours the alkaline solution "
                  "is organic.", (1.0, 4.0)),
    )
}  # fmt: skip
"""Sources: maker's bulletins and practice pages on cleaning; details beside each solution. Makers' texts differ on the
order: some teach acid first and alkaline last; for slime, organics and silica the alkaline first is the safe one."""

NOT_CLEANED = {
    "oxidation": "Oxidised membrane does not come back by cleaning: restore dechlorination, then replace.",
    "hydrolysis": "Hydrolysed membrane does not come back by cleaning; a further cleaning makes it worse.",
    "seal-leak": "A leaking seal is found by probing the vessel and mended by a new O-ring, not by cleaning.",
    "compaction": "Compacted membrane does not come back by cleaning.",
    "feed-change": "The feed has changed, not the membrane: there is nothing to clean off.",
    "meter": "A meter is suspected: check it before anything is cleaned.",
}
"""Causes that no cleaning mends, with the reason."""


def programme_for(cause: str) -> Programme:
    """The programme for a suspected cause; for one that no cleaning mends, a programme without solutions.

    Examples
    --------
    >>> [solution.family for solution in programme_for("biofouling").solutions]
    ['alkaline', 'acid']
    >>> programme_for("oxidation").solutions
    ()
    """
    if cause in NOT_CLEANED:
        return Programme(cause, cause, (), NOT_CLEANED[cause])
    return PROGRAMMES.get(cause, PROGRAMMES["unknown"])


_CLASSES = {
    "hypochlorite": r"hypochlor|bleach|javel|naocl|chlorine|chloramine|(?<!de)chlorinated",
    "oxidiser": r"peroxide|peracetic|permanganate|ozone|chlorine dioxide",
    "reducer": r"bisul(f|ph)ite|metabisul|hydrosul(f|ph)ite|dithionite|\bsmbs\b|\bsbs\b",
    "acid": r"(?<!tetraacetic )\bacid\b|citric|hydrochloric|muriatic|\bhcl\b|sul(f|ph)uric|phosphoric|sulfamic|nitric",
    "alkali": r"caustic|hydroxide|\bnaoh\b|alkali|\bsoda\b",
    "sulfide": r"sul(f|ph)ide(?!.*free)",
    "cationic": r"cationic|quaternary|\bquats?\b|benzalkonium",
    "fluoride": r"fluoride|hydrofluoric|bifluoride",
    "organic": r"detergent|surfactant|sul(f|ph)onate|dodecyl|citric|edta",
}


def classes_of(chemical: str) -> frozenset[str]:
    """What kinds of substance the name of a chemical speaks of.

    Examples
    --------
    >>> sorted(classes_of("Sodium hypochlorite 12 %")), sorted(classes_of("Citric acid"))
    (['hypochlorite'], ['acid', 'organic'])
    """
    text = chemical.lower()
    return frozenset(name for name, pattern in _CLASSES.items() if re.search(pattern, text))


def dangers_of(chemicals: tuple[str, ...]) -> tuple[str, ...]:
    """Why these chemicals must not be used on polyamide, or must not meet in one cleaning; empty where they may.

    References
    ----------
    Safety data sheets' general incompatibilities; makers' bulletins on cationic surfactants and chlorine.

    Examples
    --------
    >>> dangers_of(("citric acid", "bleach"))[0]
    'Acid and hypochlorite together give off chlorine gas, which can kill. Never in one cleaning.'
    """
    kinds = frozenset().union(*(classes_of(name) for name in chemicals)) if chemicals else frozenset()
    found = []
    for needed, why in _DANGERS:
        if needed <= kinds:
            found.append(why)
    return tuple(found)


_DANGERS: tuple[tuple[frozenset[str], str], ...] = (
    (frozenset({"acid", "hypochlorite"}),
     "Acid and hypochlorite together give off chlorine gas, which can kill. Never in one cleaning."),
    (frozenset({"acid", "reducer"}),
     "Acid and bisulfite or hydrosulfite together give off sulfur dioxide. Rinse to neutral between the two, with "
     "ventilation, or do not use both."),
    (frozenset({"acid", "sulfide"}), "Acid and sulfide together give off hydrogen sulfide, which can kill."),
    (frozenset({"hypochlorite"}), "Hypochlorite destroys polyamide membranes; make-up water must hold no chlorine."),
    (frozenset({"oxidiser", "organic"}), "An oxidising biocide must not meet detergents or other organics."),
    (frozenset({"cationic"}), "Cationic surfactants foul polyamide membranes for good."),
    (frozenset({"fluoride"}), "Fluoride cleaners are too dangerous for a site; this guide does not use them."),
)  # fmt: skip
