"""The standard method: permeate flow and salt passage after ASTM D4516, pressure drop with a flow exponent.

Each reading is related to the medians of the reference period; what needs no reference is worked out before, in
`forces`.
Equations and worked examples: docs/method.md.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from analytics.condition.forces import CONDITIONS, STREAM_CONDITIONS, ScopeForces
from analytics.condition.streams import Array
from analytics.physics import normalization

INDICATORS = ("permeate_flow", "salt_passage", "pressure_drop")


@dataclass(frozen=True)
class Conditions:
    """What one scope is compared with: medians over the reference period; NaN where unknown."""

    scope: str
    values: Mapping[str, float]

    def __getitem__(self, name: str) -> float:
        return self.values.get(name, float("nan"))


def reference_conditions(forces: ScopeForces, within: npt.NDArray[np.bool_]) -> Conditions:
    """Medians of one scope over the usable readings of the reference period.

    Parameters
    ----------
    forces : ScopeForces
    within : bool array
        True for the usable readings of the reference period.
    """
    values = {}
    rows = np.flatnonzero(within)
    for names, source in ((CONDITIONS, forces), (STREAM_CONDITIONS, forces.streams)):
        for name in names:
            array = getattr(source, name)
            picked = np.empty(0) if array is None else array[rows]
            picked = picked[~np.isnan(picked)]
            values[name] = float(np.median(picked)) if picked.size else float("nan")
    return Conditions(forces.scope, values)


def normalize(forces: ScopeForces, reference: Conditions, *, pressure_drop_exponent: float = 1.5) -> dict[str, Array]:
    r"""Normalized permeate flow, salt passage, permeate concentration and pressure drop of one scope.

    Parameters
    ----------
    forces : ScopeForces
    reference : Conditions
        Of the same scope.
    pressure_drop_exponent : float
        The same that `driving_forces` used. [-]

    Returns
    -------
    dict
        `normalized_permeate_flow_m3h`, `normalized_salt_passage`, `normalized_permeate_tds_mg_l`,
        `normalized_pressure_drop_bar`; only those that can be worked out.

    Notes
    -----
    .. math::
        Q_n = Q \frac{NDP_r}{NDP} \frac{TCF_r}{TCF}, \qquad
        SP_n = SP \frac{Q}{Q_r} \frac{STCF_r}{STCF} \frac{\overline{c}_r / c_{f,r}}{\overline{c} / c_f}, \qquad
        \Delta P_n = \Delta P \left(\frac{q_r}{q}\right)^n

    with the recovery-integrated mean on the feed side; one where recovery is not known. Without temperature the
    temperature ratios are one, and the result is *not corrected for temperature*.

    The formulas, with their sources, are those of `analytics.physics.normalization`.
    """
    result: dict[str, Array] = {}
    streams, water, salt = forces.streams, forces.water_temperature_factor, forces.salt_temperature_factor
    if streams.permeate_flow_m3h is not None and forces.net_driving_pressure_bar is not None:
        result["normalized_permeate_flow_m3h"] = np.asarray(
            normalization.normalized_permeate_flow(
                streams.permeate_flow_m3h,
                ndp=forces.net_driving_pressure_bar,
                reference_ndp=reference["net_driving_pressure_bar"],
                tcf=1.0 if water is None else water,
                reference_tcf=1.0 if water is None else reference["water_temperature_factor"],
            )
        )
    if streams.permeate_flow_m3h is not None and forces.salt_passage is not None:
        known = forces.concentration_factor is not None
        passage = normalization.normalized_salt_passage(
            forces.salt_passage,
            permeate_flow=streams.permeate_flow_m3h,
            reference_permeate_flow=reference["permeate_flow_m3h"],
            concentration_factor=forces.concentration_factor if known else 1.0,
            reference_concentration_factor=reference["concentration_factor"] if known else 1.0,
            stcf=1.0 if salt is None else salt,
            reference_stcf=1.0 if salt is None else reference["salt_temperature_factor"],
        )
        result["normalized_salt_passage"] = np.asarray(passage)
        result["normalized_permeate_tds_mg_l"] = result["normalized_salt_passage"] * reference["feed_tds_mg_l"]
    if forces.drop_coefficient is not None:
        viscosity = forces.viscosity_mpa_s
        result["normalized_pressure_drop_bar"] = np.asarray(
            normalization.normalized_pressure_drop(
                forces.drop_coefficient,  # the pressure drop at 1 m3/h
                mean_flow_m3h=1.0,
                reference_mean_flow_m3h=reference["drop_flow_m3h"],
                exponent=pressure_drop_exponent,
                viscosity_ratio=None if viscosity is None else reference["viscosity_mpa_s"] / viscosity,
            )
        )
    return result


def ratios(normalized: Mapping[str, Array], within: npt.NDArray[np.bool_]) -> dict[str, Array]:
    """Indicators: each normalized value over its median in the reference period, where that is above zero. [-]"""
    names = {
        "permeate_flow": "normalized_permeate_flow_m3h",
        "salt_passage": "normalized_salt_passage",
        "pressure_drop": "normalized_pressure_drop_bar",
    }
    result = {}
    rows = np.flatnonzero(within)
    for indicator, column in names.items():
        if column not in normalized:
            continue
        picked = normalized[column][rows]
        reference = float(np.median(picked)) if (picked := picked[~np.isnan(picked)]).size else 0.0
        if reference > 0:
            result[indicator] = normalized[column] / reference
    return result
