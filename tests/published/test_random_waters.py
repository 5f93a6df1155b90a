"""Sixty random feeds and their concentrates against PHREEQC 3 (phreeqpython, database phreeqc.dat), from a fixed seed.

Bars: 0.1 in the index of calcite at the same pH, 5 % in the saturation of the rest, where the method claims to hold: up
to an ionic strength of 0.5 mol/kg.
"""

from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
import pytest
from phreeqpython import PhreeqPython

from analytics.decisions.feed_analysis import Analysis, charge_balance
from analytics.decisions.scaling_limits import CALCITE, DEFAULT_LIMITS, LANGELIER, concentrate_of, highest_recoveries
from analytics.physics.dissolved import MINERALS
from tests.analytics.physics.test_speciation import PHASES, PHREEQC_NAMES

SEED, WATERS = 20_261_128, 60
PASSAGE = 0.02
HIGHEST_STRENGTH = 0.5
EVERY = np.arange(0.0, 0.951, 0.01)
RANGES = {
    "calcium": (5, 600), "magnesium": (2, 250), "potassium": (1, 60), "barium": (0.005, 0.3), "strontium": (0.05, 15),
    "chloride": (20, 4000), "sulfate": (10, 1800), "fluoride": (0.1, 4), "nitrate": (1, 80), "silica": (3, 60),
    "bicarbonate": (40, 500),
}  # fmt: skip
"""Of brackish feeds, mg/L; common practice, no source. Drawn evenly in the logarithm; sodium closes the charges."""
ALL_NAMES = PHREEQC_NAMES | {"nitrate": "N(5)"}
WRITTEN_AS = {"sulfate": "SO4", "silica": "SiO2", "nitrate": "NO3"}


@cache
def phreeqc() -> PhreeqPython:
    return PhreeqPython(database="phreeqc.dat")


@dataclass(frozen=True)
class Case:
    analysis: Analysis
    recovery: float


@cache
def cases() -> tuple[Case, ...]:
    """Waters whose charges close with sodium, each with a recovery at which its concentrate is still in the range."""
    rng = np.random.default_rng(SEED)
    found: list[Case] = []
    while len(found) < WATERS:
        ions = {n: float(np.exp(rng.uniform(np.log(low), np.log(high)))) for n, (low, high) in RANGES.items()}
        short = charge_balance(Analysis(ions, 7.0, 25.0))
        if short.anions - short.cations < 0.3:
            continue
        ions["sodium"] = (short.anions - short.cations) * 22.99
        analysis = Analysis(ions, float(rng.uniform(6.2, 8.2)), float(rng.uniform(5, 38)))
        recovery = float(rng.choice([0.5, 0.65, 0.75, 0.85]))
        if strength(analysis, recovery) < HIGHEST_STRENGTH:
            found.append(Case(analysis, recovery))
    return tuple(found)


def strength(analysis: Analysis, recovery: float) -> float:
    found = concentrate_of(analysis, salt_passage=PASSAGE, recoveries=np.array([recovery])).ionic_strength[0]
    return float(found) if np.isfinite(found) else np.inf


def solution(analysis: Analysis, recovery: float, ph: float) -> Any:
    """The same ions in PHREEQC at a pH; (1 - Y SP) / (1 - Y) as in ASTM D4582."""
    factor = (1 - recovery * PASSAGE) / (1 - recovery)
    given = {
        ALL_NAMES[name]: f"{value * factor} as {WRITTEN_AS[name]}" if name in WRITTEN_AS else value * factor
        for name, value in analysis.ions.items()
        if name != "bicarbonate"
    }
    return phreeqc().add_solution(
        {"units": "mg/l", "temp": analysis.temperature_c, "pH": ph,
         "Alkalinity": f"{analysis.ions['bicarbonate'] * factor} as HCO3", **given}
    )  # fmt: skip


def carbon_dioxide(one: Any) -> float:
    """[mol/kg]"""
    return float(one.species.get("CO2", 0.0))


def concentrate_ph(analysis: Analysis, recovery: float) -> float:
    """By PHREEQC alone: the pH at which the concentrate holds the carbon dioxide of the feed, by bisection."""
    wanted = carbon_dioxide(solution(analysis, 0.0, analysis.ph))
    low, high = 5.0, 10.0
    for _ in range(22):
        middle = (low + high) / 2
        one = solution(analysis, recovery, middle)
        low, high = (middle, high) if carbon_dioxide(one) > wanted else (low, middle)
        one.forget()
    return (low + high) / 2


def saturations(analysis: Analysis, recovery: float, ph: float) -> dict[str, float]:
    one = solution(analysis, recovery, ph)
    found = {mineral: one.si(PHASES[mineral]) for mineral in MINERALS if mineral in PHASES}
    one.forget()
    return found


@pytest.mark.parametrize("recovery_too", [False, True], ids=["feed", "concentrate"])
def test_saturation_at_the_same_ph(recovery_too: bool) -> None:
    worst: dict[str, float] = {}
    for case in cases():
        recovery = case.recovery if recovery_too else 0.0
        ours = concentrate_of(case.analysis, salt_passage=PASSAGE, recoveries=np.array([0.0, recovery]))
        ph = float(ours.ph[1])
        for mineral, theirs in saturations(case.analysis, recovery, ph).items():
            off = abs(np.log10(ours.saturation[mineral][1] / 100) - theirs)
            worst[mineral] = max(worst.get(mineral, 0.0), off)
    assert worst.pop(CALCITE) <= 0.1
    assert set(worst) == set(MINERALS) - {CALCITE}
    assert max(worst.values()) <= np.log10(1.05), worst


def test_the_ph_of_the_concentrate() -> None:
    off = []
    for case in cases()[:30]:
        ours = concentrate_of(case.analysis, salt_passage=PASSAGE, recoveries=np.array([0.0, case.recovery]))
        off.append(float(ours.ph[1]) - concentrate_ph(case.analysis, case.recovery))
    assert np.max(np.abs(off)) <= 0.05  # half of what the index of calcite may be off


def test_highest_recoveries_are_where_phreeqc_reaches_the_limit() -> None:
    """At each recovery that is named, PHREEQC finds the limit within 5 %; with antiscalant it lies no lower."""
    checked = 0
    for case in cases()[::2]:
        found = concentrate_of(case.analysis, salt_passage=PASSAGE, recoveries=EVERY)
        for one in highest_recoveries(found):
            if one.name == LANGELIER:
                continue
            limit = DEFAULT_LIMITS[one.name]
            assert one.without_antiscalant is not None and one.with_antiscalant is not None
            assert one.without_antiscalant <= one.with_antiscalant
            for recovery, wanted in (
                (one.without_antiscalant, limit.without_antiscalant), (one.with_antiscalant, limit.with_antiscalant)
            ):  # fmt: skip
                salt = float(np.interp(recovery, found.recoveries, found.ionic_strength))
                inside = 0.0 < recovery < 0.94 and salt < HIGHEST_STRENGTH
                if not inside or abs(found.at(recovery, one.name) / wanted - 1) > 0.02:
                    continue  # the curve ended before its limit
                ph = float(np.interp(recovery, found.recoveries, found.ph))
                theirs = 100 * 10 ** saturations(case.analysis, recovery, ph)[one.name]
                assert theirs == pytest.approx(wanted, rel=0.05), (one.name, recovery)
                checked += 1
    assert checked >= 40


def test_the_concentrate_balances_its_charges_and_its_salt() -> None:
    """A concentrate of the same factor for every ion keeps the balance of charges; salt in is salt out (by hand)."""
    for case in cases():
        found = concentrate_of(case.analysis, salt_passage=PASSAGE, recoveries=np.array([case.recovery]))
        factor = (1 - case.recovery * PASSAGE) / (1 - case.recovery)
        assert found.tds_mg_l[0] == pytest.approx(case.analysis.tds_mg_l * factor)
        out = (1 - case.recovery) * found.tds_mg_l[0] + case.recovery * PASSAGE * case.analysis.tds_mg_l
        assert out == pytest.approx(case.analysis.tds_mg_l)
