"""How much sulfite takes chlorine out of water, by the molar masses."""

from collections.abc import Mapping

_CHLORINE = 70.906
SULFITE_PER_CHLORINE: Mapping[str, float] = {
    "sodium metabisulfite": 190.10 / 2 / _CHLORINE,
    "sodium bisulfite": 104.06 / _CHLORINE,
    "sodium sulfite": 126.04 / _CHLORINE,
}
"""Mass that reduces a mass of chlorine [mg/mg]: one sulfite for each Cl2; metabisulfite gives two in water."""
LEAST_SULFITE_PER_CHLORINE = min(SULFITE_PER_CHLORINE.values())
"""With less than this chlorine is left, whichever of them is dosed. [mg/mg]"""
