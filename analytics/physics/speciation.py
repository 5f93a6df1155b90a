"""Which ions of a water are free, which are paired, and how far it is saturated with each scale.

The model of ion association: extended Debye-Hückel activity coefficients, pairs by mass action, and the constants of
`dissolved`. It holds up to an ionic strength of about 0.5 mol/kg, the concentrate of brackish water; above 1 mol/kg it
answers nothing.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from analytics.physics.dissolved import IONS, MINERALS, SPECIES, Species

Array = npt.NDArray[np.float64]

MASTERS = tuple(name for name in IONS if name != "bicarbonate")
"""Ions in whose free molality everything is expressed; bicarbonate is carbonate with a hydrogen ion."""
HIGHEST_IONIC_STRENGTH = 1.0
"""[mol/kg]"""
ROUNDS = 400
CLOSE = 1e-10
"""A solution is found when no free molality moves by more than this part of itself in a round. [-]"""
DAMPING = 0.6


@dataclass(frozen=True)
class Waters:
    """Waters of one analysis each: totals of everything but carbonate, and alkalinity.

    `totals` are in mol/kg of water, arrays of one shape; `alkalinity` in eq/kg, zero where no carbonate is known.
    """

    totals: Mapping[str, Array]
    alkalinity: Array
    temperature_c: Array


@dataclass(frozen=True)
class Speciation:
    """What the ions of waters do.

    `free` and `formed` are molalities [mol/kg]; `activity` is that of the free ions [-]; `saturation_index` is
    log10 (ion activity product / solubility product) by mineral, NaN where an ion of it is not in the analysis.
    """

    ph: Array
    ionic_strength: Array
    free: Mapping[str, Array]
    formed: Mapping[str, Array]
    activity: Mapping[str, Array]
    saturation_index: Mapping[str, Array]

    @property
    def carbon_dioxide(self) -> Array:
        """[mol/kg]"""
        return self.formed["CO2"]


def molality(mg_per_l: Array, molar_mass: float, tds_mg_l: Array) -> Array:
    """Moles per kilogram of water; a litre is taken to weigh a kilogram, solids included.

    Parameters
    ----------
    mg_per_l : array
        [mg/L]
    molar_mass : float
        [g/mol]
    tds_mg_l : array
        All dissolved solids. [mg/L]

    Returns
    -------
    array
        [mol/kg]
    """
    return np.asarray(mg_per_l / (1000.0 * molar_mass) / (1.0 - tds_mg_l * 1e-6))


def speciate(waters: Waters, *, ph: Array | None = None, carbon_dioxide: Array | None = None) -> Speciation:
    """Solve waters whose pH is known, or whose dissolved carbon dioxide is.

    Parameters
    ----------
    waters : Waters
    ph : array, optional
        pH as measured. [-]
    carbon_dioxide : array, optional
        Free carbon dioxide, as in the concentrate, into which it passes as it was in the feed. [mol/kg]

    Returns
    -------
    Speciation
        NaN throughout where no solution is found or the ionic strength exceeds `HIGHEST_IONIC_STRENGTH`.

    Raises
    ------
    ValueError
        When both or neither of `ph` and `carbon_dioxide` are given.

    Notes
    -----
    Free molalities are put right one round after another, each from the totals and the pairs of the round before; with
    carbon dioxide given, the hydrogen ion is put right by the alkalinity, to which it is nearly inverse.
    """
    if (ph is None) == (carbon_dioxide is None):
        raise ValueError("give either ph or carbon_dioxide")
    state = _State(waters, ph, carbon_dioxide)
    for _ in range(ROUNDS):
        if state.improve() < CLOSE:
            break
    return state.result()


class _State:
    """A guess of everything, and how it is made better."""

    def __init__(self, waters: Waters, ph: Array | None, carbon_dioxide: Array | None) -> None:
        self.waters, self.carbon_dioxide = waters, carbon_dioxide
        shape = np.shape(waters.alkalinity)
        self.hydrogen = np.full(shape, 1e-8) if ph is None else 10.0 ** -np.asarray(ph, dtype=np.float64)
        self.free = {name: np.array(waters.totals.get(name, np.zeros(shape)), dtype=np.float64) for name in MASTERS}
        self.free["carbonate"] = np.maximum(waters.alkalinity, 0.0) * 1e-3
        self.log_k = {name: one.constant.log10(waters.temperature_c) for name, one in SPECIES.items()}
        self.debye = debye_hueckel(waters.temperature_c)
        self.formed = {name: np.zeros(shape) for name in SPECIES}
        self.strength = self._ionic_strength()
        self.moved = np.full(shape, np.inf)

    def improve(self) -> float:
        """One round. Returns how far the free molalities moved."""
        gamma = {name: self._gamma(IONS[name].charge, IONS[name].size, IONS[name].slope) for name in MASTERS}
        self.activity = {name: gamma[name] * self.free[name] for name in MASTERS}
        self.formed = {name: self._molality_of(one, self.log_k[name]) for name, one in SPECIES.items()}
        before = {name: values.copy() for name, values in self.free.items()}
        for name in MASTERS:
            if name != "carbonate":
                self._balance(name)
        self._balance_carbonate()
        self.strength = self._ionic_strength()
        with np.errstate(invalid="ignore", divide="ignore"):
            moves = [np.abs(np.log(self.free[name] / before[name])) for name in MASTERS]
        self.moved = np.nanmax(np.where(np.isfinite(moves), moves, 0.0), axis=0)
        return float(np.max(self.moved, initial=0.0))

    def _balance(self, name: str) -> None:
        """Free part of an ion: its total, shared in the proportions of this round."""
        total = self.waters.totals.get(name)
        if total is None:
            return
        held = sum(one.made_of.get(name, 0) * self.formed[key] for key, one in SPECIES.items())
        with np.errstate(invalid="ignore", divide="ignore"):
            share = self.free[name] / (self.free[name] + held)
        self.free[name] = np.where(total > 0, total * share, 0.0)

    def _balance_carbonate(self) -> None:
        """The carbonate that gives the alkalinity; with carbon dioxide given, the hydrogen ion that does."""
        by_carbonate = 2.0 * self.free["carbonate"]
        other = -self.hydrogen / self._gamma(1, 9.0, 0.0)
        for name, one in SPECIES.items():
            if "carbonate" in one.made_of:
                by_carbonate = by_carbonate + one.alkalinity * self.formed[name]
            else:
                other = other + one.alkalinity * self.formed[name]
        if not np.any(self.free["carbonate"]):
            return
        with np.errstate(invalid="ignore", divide="ignore"):
            factor = np.clip((self.waters.alkalinity - other) / by_carbonate, 0.01, 100.0)
            if self.carbon_dioxide is None:
                self.free["carbonate"] = self.free["carbonate"] * factor
                return
            self.hydrogen = self.hydrogen * factor**-DAMPING
            to_carbonate = self.carbon_dioxide / self.formed["CO2"]
            self.free["carbonate"] = self.free["carbonate"] * np.clip(to_carbonate * factor ** (2 * DAMPING), 1e-3, 1e3)

    def _molality_of(self, one: Species, log_k: Array) -> Array:
        product = 10.0**log_k * self.hydrogen**one.hydrogen
        for name, count in one.made_of.items():
            product = product * self.activity[name] ** count
        return np.asarray(product / self._gamma(one.charge, one.size, 0.0))

    def _gamma(self, charge: int, size: float | None, slope: float) -> Array:
        """Activity coefficient: extended Debye-Hückel, Davies where no size is known, 10^(0.1 I) without charge."""
        strength = np.minimum(self.strength, 2 * HIGHEST_IONIC_STRENGTH)
        if charge == 0:
            return np.asarray(10.0 ** (0.1 * strength))
        root = np.sqrt(strength)
        a, b = self.debye
        if size is None:
            return np.asarray(10.0 ** (-a * charge**2 * (root / (1 + root) - 0.3 * strength)))
        return np.asarray(10.0 ** (-a * charge**2 * root / (1 + b * size * root) + slope * strength))

    def _ionic_strength(self) -> Array:
        charged = [values * IONS[name].charge ** 2 for name, values in self.free.items()]
        charged += [values * SPECIES[name].charge ** 2 for name, values in self.formed.items()]
        return np.asarray(0.5 * (np.sum(charged, axis=0) + self.hydrogen))

    def result(self) -> Speciation:
        bad = (self.moved > 1e-6) | (self.strength > HIGHEST_IONIC_STRENGTH) | ~np.isfinite(self.strength)

        def known(values: Array) -> Array:
            return np.where(bad, np.nan, values)

        present = np.sum([*self.free.values(), *self.formed.values()], axis=0)
        water = np.log10(np.clip(1.0 - 0.017 * present, 0.5, 1.0))
        indices = {}
        with np.errstate(divide="ignore"):
            for name, mineral in MINERALS.items():
                product = mineral.waters * water - mineral.constant.log10(self.waters.temperature_c)
                for ion, count in mineral.made_of.items():
                    product = product + count * np.log10(self.activity[ion])
                indices[name] = np.where(np.isfinite(product), known(product), np.nan)
            ph = known(-np.log10(self.hydrogen))
        return Speciation(
            ph=ph,
            ionic_strength=known(self.strength),
            free={name: known(values) for name, values in self.free.items()},
            formed={name: known(values) for name, values in self.formed.items()},
            activity={name: known(values) for name, values in self.activity.items()},
            saturation_index=indices,
        )


def debye_hueckel(temperature_c: Array) -> tuple[Array, Array]:
    """The two constants of the Debye-Hückel law. [kg^0.5 mol^-0.5], [kg^0.5 mol^-0.5 per 1e-10 m]

    The dielectric constant is that of Malmberg and Maryott (1956), from memory; water is taken to weigh 1 kg/L.
    """
    kelvin = temperature_c + 273.15
    dielectric = 87.740 - 0.40008 * temperature_c + 9.398e-4 * temperature_c**2 - 1.410e-6 * temperature_c**3
    product = dielectric * kelvin
    return np.asarray(1.82483e6 / product**1.5), np.asarray(50.2905 / np.sqrt(product))
