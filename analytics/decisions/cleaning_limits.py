"""What an element stands in a cleaning: pH by temperature, temperature, pressure, pressure drop. Checked in words."""

import math
from dataclasses import dataclass
from typing import Literal

from analytics.plant import Membrane

Field = Literal["ph", "temperature", "pressure", "pressure_drop"]

COLD_C = 15.0
"""Below this a cleaning does next to nothing; a practice page on cleaning. [degC]"""
HARDLY_WARM_C = 20.0
"""The lowest of the usual temperatures of a cleaning, that of an acid one; a practice page on cleaning. [degC]"""


@dataclass(frozen=True)
class Finding:
    """One condition that is outside: which, whether it harms (`refused`) or only is unusual, and why in words."""

    field: Field
    refused: bool
    why: str


def highest_ph(membrane: Membrane, temperature_c: float) -> float:
    """Highest pH that an element stands in a cleaning at a temperature.

    Parameters
    ----------
    membrane : Membrane
    temperature_c : float
        [degC]

    Returns
    -------
    float
        Between the steps of the data sheet the stricter one holds; NaN above its last step, 45 degC. [-]

    Examples
    --------
    >>> highest_ph(Membrane(area_m2=37.0, cleaning_max_ph_25c=13.0), 26.0)
    12.0
    """
    steps = (
        (25.0, membrane.cleaning_max_ph_25c),
        (35.0, membrane.cleaning_max_ph_35c),
        (45.0, membrane.cleaning_max_ph_45c),
    )
    return next((ph for up_to, ph in steps if temperature_c <= up_to), math.nan)


def check_conditions(
    membrane: Membrane,
    *,
    ph: float | None = None,
    temperature_c: float | None = None,
    pressure_bar: float | None = None,
    pressure_drop_bar: float | None = None,
    elements: int = 1,
) -> tuple[Finding, ...]:
    """Hold the conditions of a cleaning against the limits of the element; what is None is not looked at.

    Parameters
    ----------
    membrane : Membrane
    ph : float, optional
        [-]
    temperature_c : float, optional
        [degC]
    pressure_bar : float, optional
        Into the vessels. [bar]
    pressure_drop_bar : float, optional
        Along a vessel. [bar]
    elements : int
        In series in that vessel.

    Returns
    -------
    tuple of Finding
        Empty where nothing is outside.

    Notes
    -----
    A pH without a temperature is held against the strictest step.

    Examples
    --------
    >>> print(check_conditions(Membrane(area_m2=37.0), ph=12.5, temperature_c=40.0)[0].why)
    pH 12.5 at 40 degC harms the membrane: at that temperature at most pH 10.5.
    """
    found = [
        *_ph(membrane, ph, temperature_c),
        *_temperature(membrane, temperature_c),
        *_pressure(membrane, pressure_bar),
    ]
    if pressure_drop_bar is not None:
        most = min(membrane.max_dp_vessel_bar, elements * membrane.max_dp_element_bar)
        if pressure_drop_bar > most:
            found.append(
                Finding(
                    "pressure_drop",
                    True,
                    f"A pressure drop of {pressure_drop_bar:g} bar along the vessel can push elements out of shape: "
                    f"at most {most:g} bar. Lower the flow.",
                )
            )
    return tuple(found)


def _ph(membrane: Membrane, ph: float | None, temperature_c: float | None) -> list[Finding]:
    if ph is None:
        return []
    if ph < membrane.cleaning_min_ph:
        return [Finding("ph", True, f"pH {ph:g} harms the membrane: at least pH {membrane.cleaning_min_ph:g}.")]
    most = highest_ph(membrane, 45.0 if temperature_c is None else temperature_c)
    if temperature_c is None:
        why = (
            f"pH {ph:g} may harm the membrane: up to pH {most:g} at any temperature; give the temperature to know more."
        )
        return [Finding("ph", False, why)] if ph > most else []
    if math.isnan(most):
        return [] if 6 <= ph <= 8 else [Finding("ph", True, f"No pH but neutral at {temperature_c:g} degC.")]
    if ph > most:
        why = f"pH {ph:g} at {temperature_c:g} degC harms the membrane: at that temperature at most pH {most:g}."
        return [Finding("ph", True, why)]
    return []


def _temperature(membrane: Membrane, temperature_c: float | None) -> list[Finding]:
    if temperature_c is None:
        return []
    most = min(membrane.cleaning_max_temperature_c, membrane.max_temperature_c)
    if temperature_c > most:
        why = f"{temperature_c:g} degC is too hot for the element: at most {most:g} degC."
        return [Finding("temperature", True, why)]
    if temperature_c < COLD_C:
        return [Finding("temperature", False, f"Below {COLD_C:g} degC a cleaning does next to nothing: warm it up.")]
    if temperature_c < HARDLY_WARM_C:
        why = "Cold for a cleaning: 25 to 35 degC is usual for an alkaline one, 20 to 30 degC for an acid one."
        return [Finding("temperature", False, why)]
    return []


def _pressure(membrane: Membrane, pressure_bar: float | None) -> list[Finding]:
    if pressure_bar is None:
        return []
    if pressure_bar > membrane.max_pressure_bar:
        why = f"{pressure_bar:g} bar is above what the element stands at all, {membrane.max_pressure_bar:g} bar."
        return [Finding("pressure", True, why)]
    if pressure_bar > membrane.cleaning_max_pressure_bar:
        most = membrane.cleaning_max_pressure_bar
        why = (
            f"{pressure_bar:g} bar is too much for a cleaning, at most {most:g} bar: permeate would be made and would "
            "press the dirt into the membrane."
        )
        return [Finding("pressure", True, why)]
    return []
