"""Unit conversions, used only at the edges. Inside: degC, bar (gauge), m3/h, uS/cm at 25 degC, mg/L, fractions.

Factors are exact or from NIST Special Publication 811 (2008), Appendix B.8: 1 psi = 6.894757 kPa,
1 US gallon = 3.785411784 L, 1 grain per US gallon = 17.11806 mg/L,
1 inch of water (conventional) = 249.0889 Pa, 1 foot of water (conventional) = 2.989067 kPa,
1 inch of mercury (conventional) = 3.386389 kPa, 1 millimetre of mercury (conventional) = 133.3224 Pa.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from analytics.errors import InvalidSettings

KELVIN_AT_ZERO_CELSIUS = 273.15
LITRES_PER_GALLON = 3.785411784
BAR_PER_PSI = 0.06894757293168


@dataclass(frozen=True)
class Unit:
    """How a unit maps onto the canonical one: canonical = value * factor + offset."""

    name: str
    canonical: str
    factor: float
    offset: float = 0.0


_UNITS = (
    Unit("degC", "degC", 1), Unit("degF", "degC", 5 / 9, -32 * 5 / 9), Unit("K", "degC", 1, -KELVIN_AT_ZERO_CELSIUS),
    Unit("m3/h", "m3/h", 1), Unit("m3/d", "m3/h", 1 / 24), Unit("m3/min", "m3/h", 60), Unit("L/s", "m3/h", 3.6),
    Unit("L/min", "m3/h", 0.06), Unit("L/h", "m3/h", 0.001), Unit("gpm", "m3/h", LITRES_PER_GALLON * 0.06),
    Unit("gph", "m3/h", LITRES_PER_GALLON / 1000), Unit("gpd", "m3/h", LITRES_PER_GALLON / 24_000),
    Unit("MGD", "m3/h", LITRES_PER_GALLON * 1000 / 24), Unit("MLD", "m3/h", 1000 / 24),
    Unit("bar", "bar", 1), Unit("mbar", "bar", 0.001), Unit("psi", "bar", BAR_PER_PSI), Unit("kPa", "bar", 0.01),
    Unit("MPa", "bar", 10), Unit("Pa", "bar", 1e-5), Unit("kgf/cm2", "bar", 0.980665), Unit("atm", "bar", 1.01325),
    Unit("mH2O", "bar", 0.0980665), Unit("inH2O", "bar", 0.002490889), Unit("ftH2O", "bar", 0.02989067),
    Unit("inHg", "bar", 0.03386389), Unit("mmHg", "bar", 0.001333224),
    Unit("uS/cm", "uS/cm", 1), Unit("mS/cm", "uS/cm", 1000), Unit("S/m", "uS/cm", 10_000), Unit("mS/m", "uS/cm", 10),
    Unit("mg/L", "mg/L", 1), Unit("g/L", "mg/L", 1000), Unit("ug/L", "mg/L", 0.001), Unit("ppm", "mg/L", 1),
    Unit("ppb", "mg/L", 0.001), Unit("grains/gal", "mg/L", 17.11806),
    Unit("mV", "mV", 1), Unit("V", "mV", 1000), Unit("NTU", "NTU", 1), Unit("FNU", "NTU", 1), Unit("-", "-", 1),
    Unit("kW", "kW", 1), Unit("W", "kW", 0.001), Unit("MW", "kW", 1000), Unit("hp", "kW", 0.745699872),
    Unit("kWh", "kWh", 1), Unit("MWh", "kWh", 1000), Unit("h", "h", 1), Unit("min", "h", 1 / 60),
    Unit("m3", "m3", 1), Unit("L", "L", 1), Unit("gal", "L", LITRES_PER_GALLON), Unit("kgal", "m3", LITRES_PER_GALLON),
    Unit("kg", "kg", 1), Unit("lb", "kg", 0.45359237),
    Unit("Hz", "Hz", 1), Unit("A", "A", 1), Unit("mA", "A", 0.001),
)  # fmt: skip

_SPELLINGS = {
    "c": "degC", "°c": "degC", "deg c": "degC", "celsius": "degC", "f": "degF", "°f": "degF", "deg f": "degF",
    "fahrenheit": "degF", "m3/hr": "m3/h", "m³/h": "m3/h", "m³/hr": "m3/h", "m^3/h": "m3/h", "cmh": "m3/h",
    "m³/d": "m3/d", "m3/day": "m3/d", "m³/day": "m3/d", "m^3/d": "m3/d", "lpm": "L/min", "lps": "L/s", "lph": "L/h",
    "l/hr": "L/h", "gal/min": "gpm", "usgpm": "gpm", "gal/d": "gpd", "gal/day": "gpd", "gal/h": "gph", "barg": "bar",
    "bar(g)": "bar", "psig": "psi", "psi(g)": "psi", "kg/cm2": "kgf/cm2", "kg/cm²": "kgf/cm2", "µs/cm": "uS/cm",
    "μs/cm": "uS/cm", "us": "uS/cm", "µs": "uS/cm", "umho/cm": "uS/cm", "ms": "mS/cm", "mg/l": "mg/L",
    "gpg": "grains/gal", "gr/gal": "grains/gal", "grains": "grains/gal", "hrs": "h", "hours": "h", "hr": "h",
    "m³": "m3", "amps": "A", "amp": "A", "gallons": "gal", "litres": "L", "liters": "L", "": "-", "ph": "-",
    "su": "-", "none": "-", "1": "-",
}  # fmt: skip

UNITS: dict[str, Unit] = {u.name: u for u in _UNITS}
_BY_LOWER: dict[str, list[Unit]] = {}
for _unit in _UNITS:
    _BY_LOWER.setdefault(_unit.name.lower(), []).append(_unit)


def unit(name: str) -> Unit:
    """Look a unit up by the way people write it.

    Case matters only where it decides (mW is not known; `mPa` is read as MPa because no gauge shows millipascal).

    Raises
    ------
    InvalidSettings
        When no such unit is known.

    Examples
    --------
    >>> unit("m³/h").name, unit("PSI").name
    ('m3/h', 'psi')
    """
    text = name.strip()
    if text in UNITS:
        return UNITS[text]
    lower = text.lower()
    if lower in _SPELLINGS:
        return UNITS[_SPELLINGS[lower]]
    same = _BY_LOWER.get(lower, [])
    if len(same) == 1:
        return same[0]
    raise InvalidSettings(f'"{name}" is not a unit known here')


_ALIKE = {"m3": ("L", 0.001), "L": ("m3", 1000.0)}
"""Canonical units that measure the same in another size: counters in cubic metres, tanks in litres."""


def units_of(canonical: str) -> tuple[str, ...]:
    """Names of all units that convert to a canonical unit."""
    alike = _ALIKE.get(canonical, ("", 1.0))[0]
    return tuple(u.name for kind in (canonical, alike) for u in _UNITS if u.canonical == kind)


def _matching(name: str, canonical: str) -> Unit:
    found = unit(name)
    alike, size = _ALIKE.get(canonical, ("", 1.0))
    if found.canonical == alike:
        return Unit(found.name, canonical, found.factor * size)
    if found.canonical != canonical:
        raise InvalidSettings(f'"{name}" does not fit here: expected one of {", ".join(units_of(canonical))}')
    return found


def to_canonical(values: npt.ArrayLike, from_unit: str, canonical: str) -> npt.NDArray[np.float64]:
    """Convert values to the canonical unit.

    Parameters
    ----------
    values : array_like
        In `from_unit`; NaN stays NaN.
    from_unit, canonical : str
        Units, as written by people and canonical. [-]

    Raises
    ------
    InvalidSettings
        When the unit is unknown or measures something else.

    Examples
    --------
    >>> float(to_canonical(77.0, "degF", "degC"))
    25.0
    """
    found = _matching(from_unit, canonical)
    numbers = np.asarray(values, dtype=np.float64)
    return numbers if (found.factor, found.offset) == (1.0, 0.0) else numbers * found.factor + found.offset


def from_canonical(values: npt.ArrayLike, canonical: str, to_unit: str) -> npt.NDArray[np.float64]:
    """Convert canonical values to the unit that somebody wants to see.

    Examples
    --------
    >>> round(float(from_canonical(1.0, "m3/h", "gpm")), 4)
    4.4029
    """
    found = _matching(to_unit, canonical)
    return (np.asarray(values, dtype=np.float64) - found.offset) / found.factor


def kelvin(temperature_c: npt.ArrayLike) -> npt.NDArray[np.float64]:
    """Thermodynamic temperature of a Celsius temperature. [K]"""
    return np.asarray(temperature_c, dtype=np.float64) + KELVIN_AT_ZERO_CELSIUS


DISPLAY_UNITS = {
    "SI": {},
    "US": {
        "degC": "degF", "m3/h": "gpm", "bar": "psi", "m3": "kgal", "L": "gal", "kg": "lb",
    },
}  # fmt: skip
"""Units in which pages show each canonical unit; a unit not named is shown as it is."""


def display_unit(canonical: str, system: str) -> str:
    """Unit in which a page shows a canonical unit, for the systems "SI" and "US"."""
    return DISPLAY_UNITS[system].get(canonical, canonical)
