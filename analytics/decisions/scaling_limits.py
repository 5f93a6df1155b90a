"""How far a train can concentrate its feed before a scale forms."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from analytics.decisions.feed_analysis import CALCIUM_CARBONATE_EQUIVALENT, Analysis
from analytics.physics.carbonate_indices import langelier_index, stiff_davis_index
from analytics.physics.dissolved import IONS, MINERALS
from analytics.physics.speciation import Speciation, Waters, molality, speciate

Array = npt.NDArray[np.float64]

RECOVERIES = np.round(np.arange(0.0, 0.951, 0.005), 3)
"""[-]"""
CALCITE = "calcite"
LANGELIER = "Langelier index"


@dataclass(frozen=True)
class Limit:
    """Highest value in the concentrate: percent of saturation, or for the Langelier index the index itself."""

    without_antiscalant: float
    with_antiscalant: float


DEFAULT_LIMITS: Mapping[str, Limit] = {
    LANGELIER: Limit(0.0, 1.8),
    "gypsum": Limit(80.0, 230.0),
    "barite": Limit(80.0, 6000.0),
    "celestite": Limit(80.0, 800.0),
    "fluorite": Limit(80.0, 12_000.0),
    "amorphous silica": Limit(80.0, 100.0),
}
"""Warning level 80 % of saturation; with inhibitor the lower ends of what suppliers quote, from memory. Settings: the
supplier of the antiscalant says what his product holds."""


@dataclass(frozen=True)
class Concentrate:
    """The concentrate of a feed at each of `recoveries`.

    `saturation` is in percent by mineral, NaN where an ion of it was not measured; `langelier` and `stiff_davis` are
    NaN outside the salinities they are meant for. `tds_mg_l` in mg/L.
    """

    recoveries: Array
    ph: Array
    tds_mg_l: Array
    ionic_strength: Array
    langelier: Array
    stiff_davis: Array
    saturation: Mapping[str, Array] = field(default_factory=dict)

    def at(self, recovery: float, name: str) -> float:
        """A value between the recoveries; `name` is a mineral or `LANGELIER`. NaN where unknown."""
        values = self.langelier if name == LANGELIER else self.saturation[name]
        return float(np.interp(recovery, self.recoveries, values))


def concentrate_of(analysis: Analysis, *, salt_passage: float = 0.02, recoveries: Array = RECOVERIES) -> Concentrate:
    r"""What the feed becomes as water is taken from it.

    Parameters
    ----------
    analysis : Analysis
    salt_passage : float
        Of all ions alike. [-]
    recoveries : array
        [-]

    Notes
    -----
    .. math:: c_c = c_f \frac{1 - Y \cdot SP}{1 - Y}

    for each ion and for alkalinity (ASTM D4582); free carbon dioxide passes the membrane and stays what it is in the
    feed. The pH of the concentrate follows from both.
    """
    feed = _feed(analysis)
    factor = (1 - recoveries * salt_passage) / (1 - recoveries)
    tds = analysis.tds_mg_l * factor
    temperature = np.full_like(factor, analysis.temperature_c)
    totals = {
        name: molality(value * factor, IONS[name].molar_mass, tds)
        for name, value in analysis.ions.items()
        if name not in ("bicarbonate", "carbonate")
    }
    alkalinity = analysis.alkalinity_meq_l * factor / 1000
    waters = Waters(totals, alkalinity / (1 - tds * 1e-6), temperature)
    has_carbonate = analysis.alkalinity_meq_l > 0
    if has_carbonate:
        found = speciate(waters, carbon_dioxide=np.full_like(factor, float(feed.carbon_dioxide[0])))
    else:
        found = speciate(waters, ph=np.full_like(factor, analysis.ph))
    calcium = analysis.ions.get("calcium", np.nan) * factor
    ratio = 1000 * alkalinity * CALCIUM_CARBONATE_EQUIVALENT
    return Concentrate(
        recoveries=recoveries,
        ph=found.ph if has_carbonate else np.full_like(factor, np.nan),
        tds_mg_l=tds,
        ionic_strength=found.ionic_strength,
        langelier=langelier_index(found.ph, calcium, ratio, tds, temperature),
        stiff_davis=stiff_davis_index(found.ph, calcium, ratio, found.ionic_strength, temperature, tds),
        saturation={
            name: 100 * 10.0**index
            for name, index in found.saturation_index.items()
            if has_carbonate or name != CALCITE
        },
    )


def _feed(analysis: Analysis) -> Speciation:
    tds = np.array([analysis.tds_mg_l])
    totals = {
        name: molality(np.array([value]), IONS[name].molar_mass, tds)
        for name, value in analysis.ions.items()
        if name not in ("bicarbonate", "carbonate")
    }
    alkalinity = np.array([analysis.alkalinity_meq_l]) / 1000 / (1 - tds * 1e-6)
    return speciate(Waters(totals, alkalinity, np.array([analysis.temperature_c])), ph=np.array([analysis.ph]))


@dataclass(frozen=True)
class HighestRecovery:
    """Up to which recovery one limit is kept; None where it is not known, 0 where the feed itself exceeds it. [-]"""

    name: str
    without_antiscalant: float | None
    with_antiscalant: float | None


def highest_recoveries(
    concentrate: Concentrate, limits: Mapping[str, Limit] = DEFAULT_LIMITS
) -> tuple[HighestRecovery, ...]:
    """The recovery at which each limit is reached, with antiscalant and without."""
    return tuple(
        HighestRecovery(
            name,
            _reached(concentrate, name, limit.without_antiscalant),
            _reached(concentrate, name, limit.with_antiscalant),
        )
        for name, limit in limits.items()
    )


def _reached(concentrate: Concentrate, name: str, limit: float) -> float | None:
    """Where a rising curve crosses its limit; the highest recovery looked at, where it does not."""
    values = concentrate.langelier if name == LANGELIER else concentrate.saturation.get(name)
    if values is None or not np.isfinite(values[0]):
        return None
    known = np.isfinite(values)
    last = int(np.argmin(known)) if not known.all() else len(values)
    over = np.flatnonzero(values[:last] > limit)
    if not over.size:
        return float(concentrate.recoveries[last - 1])
    if over[0] == 0:
        return 0.0
    right = over[0]
    return float(np.interp(limit, values[right - 1 : right + 1], concentrate.recoveries[right - 1 : right + 1]))


def label_of(name: str) -> str:
    """What a limit is called on a page."""
    return MINERALS[name].label if name in MINERALS else name
