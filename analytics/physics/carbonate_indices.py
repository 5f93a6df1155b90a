"""The two indices by which the trade judges calcium carbonate: Langelier's, and that of Stiff and Davis.

Where all ions are known the saturation index of calcite (`speciation`) is the better answer; the indices are what
contracts and data sheets are written in.
"""

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

LANGELIER_RANGE_MG_L = (10.0, 10_000.0)
"""Dissolved solids for which ASTM D3739 is meant, both ends included. [mg/L]"""
STIFF_DAVIS_FROM_MG_L = 10_000.0
"""Dissolved solids above which ASTM D4582 takes its place. [mg/L]"""
CALCIUM_CARBONATE_PER_CALCIUM = 100.09 / 40.08
_CALCIUM_MOLAR_MASS, _CALCIUM_CARBONATE_EQUIVALENT = 40.08, 50.045


def langelier_index(
    ph: Array, calcium_mg_l: Array, alkalinity_mg_l: Array, tds_mg_l: Array, temperature_c: Array
) -> Array:
    r"""Langelier saturation index in the form used with ASTM D3739.

    Parameters
    ----------
    ph : array
        [-]
    calcium_mg_l : array
        As the ion. [mg/L]
    alkalinity_mg_l : array
        As calcium carbonate. [mg/L]
    tds_mg_l : array
        [mg/L]
    temperature_c : array
        [degC]

    Returns
    -------
    array
        NaN outside `LANGELIER_RANGE_MG_L`. [-]

    Notes
    -----
    .. math:: pH_s = (9.3 + A + B) - (C + D)

    with A = (log TDS - 1) / 10, B = -13.12 log T + 34.55 (T in K), C = log Ca - 0.4, D = log alkalinity, both as
    calcium carbonate (from memory; within 0.1 of the nomograph in a worked example of *Water Treatment Plant Design*).
    """
    with np.errstate(divide="ignore", invalid="ignore"):
        a = (np.log10(tds_mg_l) - 1) / 10
        b = -13.12 * np.log10(temperature_c + 273.15) + 34.55
        c = np.log10(calcium_mg_l * CALCIUM_CARBONATE_PER_CALCIUM) - 0.4
        index = ph - (9.3 + a + b) + c + np.log10(alkalinity_mg_l)
    low, high = LANGELIER_RANGE_MG_L
    return np.where((tds_mg_l >= low) & (tds_mg_l <= high) & np.isfinite(index), index, np.nan)


def stiff_davis_index(
    ph: Array, calcium_mg_l: Array, alkalinity_mg_l: Array, ionic_strength: Array, temperature_c: Array, tds_mg_l: Array
) -> Array:
    r"""Stiff and Davis stability index as in ASTM D4582, above 10 g/L.

    Parameters
    ----------
    ph, calcium_mg_l, alkalinity_mg_l, temperature_c, tds_mg_l : array
        As in `langelier_index`.
    ionic_strength : array
        [mol/kg]

    Returns
    -------
    array
        NaN at or below `STIFF_DAVIS_FROM_MG_L`. [-]

    Notes
    -----
    S&DSI = pH - pCa - pAlk - K. The standard gives K as a graph; this is a fit to it that is in use (from memory, not
    compared with the graph): two or three tenths of doubt remain.
    """
    with np.errstate(divide="ignore", invalid="ignore"):
        strength = np.asarray(ionic_strength)
        warm = -0.0002 * temperature_c**2 + 0.00097 * temperature_c
        thin = 2.022 * np.exp((np.log(strength) + 7.544) ** 2 / 102.6) + warm + 0.262
        k = np.where(strength <= 1.2, thin, -0.1 * strength + warm + 3.887)
        p_calcium = -np.log10(calcium_mg_l / 1000 / _CALCIUM_MOLAR_MASS)
        p_alkalinity = -np.log10(alkalinity_mg_l / 1000 / _CALCIUM_CARBONATE_EQUIVALENT)
        index = ph - p_calcium - p_alkalinity - k
    return np.where((tds_mg_l > STIFF_DAVIS_FROM_MG_L) & np.isfinite(index), index, np.nan)
