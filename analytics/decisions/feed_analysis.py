"""A laboratory's analysis of the feed: brought to one unit, and tested against itself."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from analytics.errors import InvalidSettings
from analytics.physics.dissolved import IONS

GIVEN_AS = ("mg/L", "mg/L as CaCO3", "meq/L")
CALCIUM_CARBONATE_EQUIVALENT = 50.045
"""Mass of calcium carbonate that carries one equivalent. [mg/meq]"""
PLAUSIBLE_CONDUCTIVITY = (0.78, 1.12)
"""Calculated over measured conductivity of an analysis that can be right. [-]

Standard Methods 1030 asks for 0.9 to 1.1 (from memory); the calculation itself falls up to 19 % short in waters of
sodium chloride (compared with PHREEQC).
"""
BALANCE_TOLERANCE = ((3.0, None), (10.0, 2.0), (800.0, 5.0))
"""Highest sum of anions [meq/L] and accepted difference [%]; Standard Methods 1030, from memory."""
SMALL_WATER_TOLERANCE_MEQ = 0.2


@dataclass(frozen=True)
class Analysis:
    """One analysis of the feed.

    `ions` are in mg/L as the ion (silica as SiO2), by the names of `dissolved.IONS`; what was not measured is absent.
    Bicarbonate and carbonate may stand in `ions`, or `alkalinity_mg_l` as calcium carbonate, or both.
    """

    ions: Mapping[str, float]
    ph: float
    temperature_c: float
    alkalinity_mg_l: float | None = None
    conductivity_us_cm: float | None = None

    def __post_init__(self) -> None:
        if unknown := sorted(set(self.ions) - set(IONS)):
            raise InvalidSettings(f"{unknown[0]}: not known; there are {', '.join(IONS)}")
        for name, value in self.ions.items():
            if not 0 <= value <= 100_000:
                raise InvalidSettings(f"{name}: {value:g} mg/L is not between 0 and 100000")
        if not 2 <= self.ph <= 12:
            raise InvalidSettings(f"pH: {self.ph:g} is not between 2 and 12")
        if not 0 < self.temperature_c <= 50:
            raise InvalidSettings(f"temperature: {self.temperature_c:g} is not between 0 and 50 degC")

    @property
    def tds_mg_l(self) -> float:
        """Sum of what was measured, with bicarbonate from alkalinity where only that is known. [mg/L]"""
        return sum(self.with_alkalinity.values())

    @property
    def alkalinity_meq_l(self) -> float:
        """Alkalinity of carbonates; 0 where neither it nor its ions were measured. [meq/L]"""
        if self.alkalinity_mg_l is not None:
            return self.alkalinity_mg_l / CALCIUM_CARBONATE_EQUIVALENT
        return sum(equivalents(name, self.ions.get(name, 0.0)) for name in ("bicarbonate", "carbonate"))

    @property
    def with_alkalinity(self) -> Mapping[str, float]:
        if self.alkalinity_mg_l is None or {"bicarbonate", "carbonate"} & set(self.ions):
            return self.ions
        return {**self.ions, "bicarbonate": self.alkalinity_meq_l * IONS["bicarbonate"].molar_mass}


def as_ion_mg_l(name: str, value: float, given_as: str) -> float:
    """A value as the laboratory gave it, in mg/L as the ion.

    Parameters
    ----------
    name : str
        Of `IONS`.
    value : float
        In the unit of `given_as`.
    given_as : str
        One of `GIVEN_AS`.

    Raises
    ------
    InvalidSettings
        When the unit is not known, or counts charges and the ion has none.

    Examples
    --------
    >>> round(as_ion_mg_l("calcium", 250.0, "mg/L as CaCO3"), 1), round(as_ion_mg_l("sulfate", 2.0, "meq/L"), 2)
    (100.1, 96.06)
    """
    ion = IONS[name]
    if given_as == "mg/L":
        return value
    if given_as not in GIVEN_AS:
        raise InvalidSettings(f"{given_as}: not known; there are {', '.join(GIVEN_AS)}")
    if not ion.charge:
        raise InvalidSettings(f"{ion.label.lower()} has no charge; give it in mg/L")
    milliequivalents = value if given_as == "meq/L" else value / CALCIUM_CARBONATE_EQUIVALENT
    return milliequivalents * ion.molar_mass / abs(ion.charge)


def equivalents(name: str, mg_per_l: float) -> float:
    """[meq/L]"""
    return mg_per_l * abs(IONS[name].charge) / IONS[name].molar_mass


@dataclass(frozen=True)
class ChargeBalance:
    """Sums of charges [meq/L], their difference in percent of the sum of both, and what is accepted."""

    cations: float
    anions: float
    tolerance_percent: float

    @property
    def error_percent(self) -> float:
        total = self.cations + self.anions
        return 100 * (self.cations - self.anions) / total if total else float("nan")

    @property
    def closes(self) -> bool:
        return abs(self.error_percent) <= self.tolerance_percent


def charge_balance(analysis: Analysis) -> ChargeBalance:
    """Do the charges cancel? A large difference says that an ion is missing or a figure wrong."""
    ions = analysis.with_alkalinity
    cations = sum(equivalents(name, value) for name, value in ions.items() if IONS[name].charge > 0)
    anions = sum(equivalents(name, value) for name, value in ions.items() if IONS[name].charge < 0)
    tolerance = next((t for most, t in BALANCE_TOLERANCE if anions <= most), 5.0)
    if tolerance is None:
        total = cations + anions
        tolerance = 100 * SMALL_WATER_TOLERANCE_MEQ / total if total else 0.0
    return ChargeBalance(cations, anions, tolerance)


def calculated_conductivity(analysis: Analysis) -> float:
    """Conductivity at 25 degC from the ions. [uS/cm]

    Standard Methods 2510 (from memory): limiting equivalent conductances, lowered by the square of the activity
    coefficient of an ion with one charge. Within 10 % for mixed waters, up to 19 % low for sodium chloride.
    """
    ions = analysis.with_alkalinity
    bare = sum(IONS[name].conductance * equivalents(name, value) for name, value in ions.items())
    strength = sum(IONS[name].charge ** 2 * value / IONS[name].molar_mass for name, value in ions.items()) / 2000
    root = np.sqrt(strength)
    return float(bare * 10 ** (-2 * 0.5 * (root / (1 + root) - 0.3 * strength)))


def doubts(analysis: Analysis) -> tuple[str, ...]:
    """What is odd about an analysis, in plain words; empty when nothing is."""
    found = []
    balance = charge_balance(analysis)
    if not balance.closes:
        short = "anions" if balance.error_percent > 0 else "cations"
        found.append(
            f"The charges do not balance: {balance.cations:.2f} meq/L of cations against {balance.anions:.2f} of anions"
            f" ({balance.error_percent:+.1f} %, accepted ±{balance.tolerance_percent:.1f} %). Some {short} were not"
            " measured, or a figure or its unit is wrong."
        )
    if analysis.conductivity_us_cm:
        calculated = calculated_conductivity(analysis)
        low, high = PLAUSIBLE_CONDUCTIVITY
        if not low <= calculated / analysis.conductivity_us_cm <= high:
            found.append(
                f"The ions would conduct about {calculated:.0f} µS/cm; measured were"
                f" {analysis.conductivity_us_cm:.0f}. One of them cannot be right."
            )
    if "carbonate" in analysis.ions and analysis.ions["carbonate"] > 0 and analysis.ph < 8.3:
        found.append("Carbonate is given below pH 8.3, where there is next to none; it is counted as alkalinity.")
    if not analysis.alkalinity_meq_l:
        found.append("Neither alkalinity nor bicarbonate is known: nothing can be said about calcium carbonate.")
    return tuple(found)
