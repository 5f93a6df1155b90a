"""The standard method: permeate flow and salt passage after ASTM D4516, pressure drop with a flow exponent.

Two steps. `driving_forces` works out, reading by reading, everything that does not depend on a reference: it is the
place to look when a number is to be checked by hand. `normalize` then relates each reading to the medians of the
reference period.
Equations and worked examples: docs/method.md.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from analytics.condition.balance import Array, Balance, Streams
from analytics.physics.hydraulics import log_mean_concentration_factor
from analytics.physics.temperature import membrane_water_temperature_factor, salt_temperature_factor
from analytics.physics.water import osmotic_pressure_bar, viscosity_mpa_s
from analytics.plant import Membrane, Plant

INDICATORS = ("permeate_flow", "salt_passage", "pressure_drop")


@dataclass(frozen=True)
class ScopeForces:
    """Reading by reading, for one scope; None where it could not be worked out.

    Attributes
    ----------
    recovery : array [-]
    concentration_factor : array
        Mean salt concentration on the feed side over that of the feed, recovery-integrated. [-]
    feed_side_tds_mg_l, feed_side_osmotic_bar, permeate_osmotic_bar : array
    net_driving_pressure_bar : array
    flux_lmh : array
        [L/m2/h]
    water_permeability_lmh_bar : array
        At 25 degC where temperature is known, else at the temperature of the reading. [L/m2/h/bar]
    salt_passage : array
        Permeate over feed concentration. [-]
    water_temperature_factor, salt_temperature_factor : array
        1 at 25 degC. [-]
    drop_viscosity_factor : array
        Viscosity term of the pressure drop, 1 at 25 degC; None while it is switched off. [-]
    drop_coefficient : array
        Pressure drop over mean flow to the exponent (and the viscosity term, if on). [bar/(m3/h)^n]
    """

    scope: str
    streams: Streams
    recovery: Array | None
    concentration_factor: Array | None
    feed_side_tds_mg_l: Array | None
    feed_side_osmotic_bar: Array | None
    permeate_osmotic_bar: Array | None
    net_driving_pressure_bar: Array | None
    flux_lmh: Array | None
    water_permeability_lmh_bar: Array | None
    salt_passage: Array | None
    water_temperature_factor: Array | None
    salt_temperature_factor: Array | None
    drop_viscosity_factor: Array | None
    drop_coefficient: Array | None


@dataclass(frozen=True)
class Conditions:
    """What one scope is compared with: medians over the reference period; NaN where unknown."""

    scope: str
    values: Mapping[str, float]

    def __getitem__(self, name: str) -> float:
        return self.values.get(name, float("nan"))


def driving_forces(balance: Balance, plant: Plant) -> tuple[ScopeForces, ...]:
    """Everything of the standard method that needs no reference, for the train and each stage.

    Parameters
    ----------
    balance : Balance
        From `complete_streams`.
    plant : Plant

    Returns
    -------
    tuple of ScopeForces
        The train first, then the stages in the order of the water.
    """
    temperature = balance.feed_temperature_c
    stages = plant.train.stages
    factors = {stage.membrane: _temperature_factors(temperature, stage.membrane) for stage in dict.fromkeys(stages)}
    friction = _friction_viscosity(temperature, plant)
    shares = [stage.area_m2 / plant.train.area_m2 for stage in stages]
    result = []
    for streams in balance.scopes:
        if streams.scope == "train":
            weights = list(zip((factors[s.membrane] for s in stages), shares, strict=True))
        else:
            weights = [(factors[stages[int(streams.scope.removeprefix("stage")) - 1].membrane], 1.0)]
        result.append(_scope_forces(streams, plant, temperature, _weighted(weights), friction))
    return tuple(result)


def _temperature_factors(temperature: Array | None, membrane: Membrane) -> tuple[Array, Array] | None:
    if temperature is None:
        return None
    water = np.asarray(membrane_water_temperature_factor(temperature, membrane))
    if membrane.salt_temperature_correction == "same":
        return water, water
    return water, np.asarray(salt_temperature_factor(temperature, membrane))


def _weighted(pairs: list[tuple[tuple[Array, Array] | None, float]]) -> tuple[Array, Array] | None:
    """Area-weighted factors; those of one membrane are passed on as they are."""
    known = [(factors, share) for factors, share in pairs if factors is not None]
    if not known:
        return None
    first = known[0][0]
    if all(factors is first for factors, _ in known):
        return first
    water = np.sum([factors[0] * share for factors, share in known], axis=0)
    salt = np.sum([factors[1] * share for factors, share in known], axis=0)
    return water, salt


def _friction_viscosity(temperature: Array | None, plant: Plant) -> Array | None:
    """The viscosity term (mu/mu25)^(2-n) of the pressure drop, where it is switched on."""
    method = plant.train.method
    if not method.pressure_drop_viscosity or temperature is None:
        return None
    ratio = np.asarray(viscosity_mpa_s(temperature)) / float(viscosity_mpa_s(25.0))
    return np.asarray(ratio ** (2 - method.pressure_drop_exponent))


def _scope_forces(
    streams: Streams,
    plant: Plant,
    temperature: Array | None,
    factors: tuple[Array, Array] | None,
    friction: Array | None,
) -> ScopeForces:
    feed, permeate = streams.feed_flow_m3h, streams.permeate_flow_m3h
    share = None
    if feed is not None and permeate is not None:
        with np.errstate(invalid="ignore", divide="ignore"):
            share = permeate / feed
    concentration = None if share is None else np.asarray(log_mean_concentration_factor(share))
    side = streams.feed_tds_mg_l
    if side is not None and concentration is not None:
        side = side * concentration
    water = plant.train.water
    celsius = 25.0 if temperature is None else temperature
    side_osmotic = None if side is None else np.asarray(osmotic_pressure_bar(side, celsius, water=water))
    solids = streams.permeate_tds_mg_l
    permeate_osmotic = None if solids is None else np.asarray(osmotic_pressure_bar(solids, celsius, water=water))
    net = _net_driving_pressure(streams, side_osmotic, permeate_osmotic)
    flux = None if permeate is None else permeate * (1000.0 / streams.area_m2)
    return ScopeForces(
        scope=streams.scope,
        streams=streams,
        recovery=share,
        concentration_factor=concentration,
        feed_side_tds_mg_l=side,
        feed_side_osmotic_bar=side_osmotic,
        permeate_osmotic_bar=permeate_osmotic,
        net_driving_pressure_bar=net,
        flux_lmh=flux,
        water_permeability_lmh_bar=_permeability(flux, net, factors),
        salt_passage=_ratio(solids, streams.feed_tds_mg_l),
        water_temperature_factor=None if factors is None else factors[0],
        salt_temperature_factor=None if factors is None else factors[1],
        drop_viscosity_factor=friction,
        drop_coefficient=_drop_coefficient(streams, plant.train.method.pressure_drop_exponent, friction),
    )


def _net_driving_pressure(streams: Streams, side_osmotic: Array | None, permeate_osmotic: Array | None) -> Array | None:
    if streams.mean_pressure_bar is None or streams.permeate_pressure_bar is None:
        return None
    net = streams.mean_pressure_bar - streams.permeate_pressure_bar
    if side_osmotic is not None:
        net -= side_osmotic
    if permeate_osmotic is not None:
        net += permeate_osmotic
    return np.where(net > 0, net, np.nan)


def _ratio(over: Array | None, under: Array | None) -> Array | None:
    if over is None or under is None:
        return None
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.where(under > 0, over / under, np.nan)


def _permeability(flux: Array | None, net: Array | None, factors: tuple[Array, Array] | None) -> Array | None:
    if flux is None or net is None:
        return None
    permeability = flux / net
    if factors is not None:
        permeability /= factors[0]
    return permeability


def _drop_coefficient(streams: Streams, exponent: float, friction: Array | None) -> Array | None:
    drop, flow = streams.pressure_drop_bar, streams.drop_flow_m3h
    if drop is None or flow is None:
        return None
    with np.errstate(invalid="ignore", divide="ignore"):
        power = flow * np.sqrt(flow) if exponent == 1.5 else flow**exponent
        coefficient = drop / power
        if friction is not None:
            coefficient /= friction
        return np.where((flow > 0) & (drop > 0), coefficient, np.nan)


_CONDITIONS = (
    "net_driving_pressure_bar", "water_temperature_factor", "salt_temperature_factor", "flux_lmh", "salt_passage",
    "recovery", "feed_side_tds_mg_l", "feed_side_osmotic_bar", "permeate_osmotic_bar", "drop_viscosity_factor",
)  # fmt: skip
_DETAILS = ("concentration_factor", "water_permeability_lmh_bar", "drop_coefficient")
_STREAM_CONDITIONS = (
    "feed_flow_m3h", "permeate_flow_m3h", "mean_pressure_bar", "pressure_drop_bar", "drop_flow_m3h",
    "permeate_pressure_bar", "feed_tds_mg_l", "permeate_tds_mg_l",
)  # fmt: skip


def reference_conditions(forces: ScopeForces, within: npt.NDArray[np.bool_]) -> Conditions:
    """Medians of one scope over the usable readings of the reference period.

    Parameters
    ----------
    forces : ScopeForces
    within : bool array
        True for the usable readings of the reference period.
    """
    values = {}
    for names, source in ((_CONDITIONS, forces), (_STREAM_CONDITIONS, forces.streams)):
        for name in names:
            array = getattr(source, name)
            picked = np.empty(0) if array is None else array[within]
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
        SP_n = SP \frac{J}{J_r} \frac{STCF_r}{STCF} \frac{c_{fb,r}}{c_{fb}} \frac{c_f}{c_{f,r}} \qquad
        \Delta P_n = \Delta P \left(\frac{q_r}{q}\right)^n

    with the recovery-integrated mean on the feed side. The mean-concentration ratio is written relative to each feed:
    SP is permeate over *feed* concentration. Without temperature the temperature ratios are one, and the result is
    *not corrected for temperature*.

    References
    ----------
    .. [1] ASTM D4516, Standard Practice for Standardizing Reverse Osmosis Performance Data: flow as read in a guide to
       the 2019 edition, section 6.1; salt passage in the layout of the standard from memory, derivation in
       docs/method.md.
    """
    result: dict[str, Array] = {}
    flow, net = forces.streams.permeate_flow_m3h, forces.net_driving_pressure_bar
    if flow is not None and net is not None:
        normalized = flow * (reference["net_driving_pressure_bar"] / net)
        if forces.water_temperature_factor is not None:
            normalized *= reference["water_temperature_factor"] / forces.water_temperature_factor
        result["normalized_permeate_flow_m3h"] = normalized
    passage = _normalized_salt_passage(forces, reference)
    if passage is not None:
        result["normalized_salt_passage"] = passage
        result["normalized_permeate_tds_mg_l"] = passage * reference["feed_tds_mg_l"]
    if forces.drop_coefficient is not None and forces.streams.drop_flow_m3h is not None:
        at_reference = reference["drop_flow_m3h"] ** pressure_drop_exponent
        if forces.drop_viscosity_factor is not None:
            at_reference *= reference["drop_viscosity_factor"]
        result["normalized_pressure_drop_bar"] = forces.drop_coefficient * at_reference
    return result


def _normalized_salt_passage(forces: ScopeForces, reference: Conditions) -> Array | None:
    passage, flux, side, feed = (
        forces.salt_passage,
        forces.flux_lmh,
        forces.feed_side_tds_mg_l,
        forces.streams.feed_tds_mg_l,
    )
    if passage is None or flux is None or side is None or feed is None:
        return None
    at_reference = reference["feed_side_tds_mg_l"] / (reference["flux_lmh"] * reference["feed_tds_mg_l"])
    with np.errstate(invalid="ignore", divide="ignore"):
        normalized = passage * flux * feed / side
    normalized *= at_reference
    if forces.salt_temperature_factor is not None:
        normalized *= reference["salt_temperature_factor"] / forces.salt_temperature_factor
    return normalized


def ratios(normalized: Mapping[str, Array], within: npt.NDArray[np.bool_]) -> dict[str, Array]:
    """Indicators: each normalized value over its median in the reference period. [-]"""
    names = {
        "permeate_flow": "normalized_permeate_flow_m3h",
        "salt_passage": "normalized_salt_passage",
        "pressure_drop": "normalized_pressure_drop_bar",
    }
    result = {}
    for indicator, column in names.items():
        if column not in normalized:
            continue
        picked = normalized[column][within]
        picked = picked[~np.isnan(picked)]
        if picked.size:
            result[indicator] = normalized[column] / float(np.median(picked))
    return result


def forces_frame(forces: tuple[ScopeForces, ...], index: pd.DatetimeIndex) -> pd.DataFrame:
    """Every intermediate as columns `<scope>_<what>`."""
    columns = {}
    for scope in forces:
        for names, source in ((_CONDITIONS, scope), (_STREAM_CONDITIONS, scope.streams)):
            for name in (*names, *_DETAILS) if source is scope else names:
                array = getattr(source, name)
                if array is not None:
                    columns[f"{scope.scope}_{name}"] = array
    return pd.DataFrame(columns, index=index, copy=False)
