"""What drives water and salt through the membranes, reading by reading: the standard method before its reference.

The place to look when a number is to be checked by hand. Equations and worked examples: docs/method.md.
"""

from dataclasses import dataclass

import numpy as np

from analytics.condition.streams import Array, Balance, Streams
from analytics.physics import hydraulics, membrane, normalization
from analytics.physics.numeric import valid_only
from analytics.physics.temperature import membrane_water_temperature_factor, salt_temperature_factor
from analytics.physics.water import osmotic_pressure_bar, viscosity_mpa_s
from analytics.plant import Membrane, Plant

CONDITIONS = (
    "net_driving_pressure_bar", "water_temperature_factor", "salt_temperature_factor", "flux_lmh", "salt_passage",
    "recovery", "concentration_factor", "feed_side_tds_mg_l", "feed_side_osmotic_bar", "permeate_osmotic_bar",
    "viscosity_mpa_s",
)  # fmt: skip
STREAM_CONDITIONS = (
    "feed_flow_m3h", "permeate_flow_m3h", "mean_pressure_bar", "pressure_drop_bar", "drop_flow_m3h",
    "permeate_pressure_bar", "feed_tds_mg_l", "permeate_tds_mg_l",
)  # fmt: skip
"""What a reading is compared with at the reference: of its forces, and of its streams."""
DETAILS = ("water_permeability_lmh_bar", "drop_coefficient")
"""What else is worked out, for whoever checks by hand."""


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
    viscosity_mpa_s : array
        For the viscosity term of the pressure drop; None while that is switched off. [mPa s]
    drop_coefficient : array
        Pressure drop at a mean flow of 1 m3/h. [bar]
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
    viscosity_mpa_s: Array | None
    drop_coefficient: Array | None


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
    elements = dict.fromkeys(stage.membrane for stage in stages)
    factors = {element: _temperature_factors(temperature, element) for element in elements}
    viscosity = None
    if plant.train.method.pressure_drop_viscosity and temperature is not None:
        viscosity = np.asarray(viscosity_mpa_s(temperature))
    shares = [stage.area_m2 / plant.train.area_m2 for stage in stages]
    result = []
    for streams in balance.scopes:
        if streams.scope == "train":
            weights = list(zip((factors[s.membrane] for s in stages), shares, strict=True))
        else:
            weights = [(factors[stages[int(streams.scope.removeprefix("stage")) - 1].membrane], 1.0)]
        result.append(_scope_forces(streams, plant, temperature, _weighted(weights), viscosity))
    return tuple(result)


def _temperature_factors(temperature: Array | None, element: Membrane) -> tuple[Array, Array] | None:
    if temperature is None:
        return None
    water = np.asarray(membrane_water_temperature_factor(temperature, element))
    if element.salt_temperature_correction == "same":
        return water, water
    return water, np.asarray(salt_temperature_factor(temperature, element))


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


def _scope_forces(
    streams: Streams,
    plant: Plant,
    temperature: Array | None,
    factors: tuple[Array, Array] | None,
    viscosity: Array | None,
) -> ScopeForces:
    feed, permeate = streams.feed_flow_m3h, streams.permeate_flow_m3h
    share = None if feed is None or permeate is None else np.asarray(hydraulics.recovery(permeate, feed))
    concentration = None if share is None else np.asarray(hydraulics.log_mean_concentration_factor(share))
    side = streams.feed_tds_mg_l
    if side is not None and concentration is not None:
        side = side * concentration
    side_osmotic = _osmotic(side, temperature, plant)
    permeate_osmotic = _osmotic(streams.permeate_tds_mg_l, temperature, plant)
    net = _net_driving_pressure(streams, side_osmotic, permeate_osmotic)
    flux = None if permeate is None else np.asarray(membrane.flux_lmh(permeate, streams.area_m2))
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
        salt_passage=_salt_passage(streams),
        water_temperature_factor=None if factors is None else factors[0],
        salt_temperature_factor=None if factors is None else factors[1],
        viscosity_mpa_s=viscosity,
        drop_coefficient=_drop_coefficient(streams, plant.train.method.pressure_drop_exponent),
    )


def _osmotic(tds: Array | None, temperature: Array | None, plant: Plant) -> Array | None:
    """Osmotic pressure; at 25 degC where temperature is not known, which is off by under 4 % for ten degrees."""
    if tds is None:
        return None
    by_law = osmotic_pressure_bar(tds, 25.0 if temperature is None else temperature, water=plant.train.water)
    factor = plant.train.assumed.osmotic_factor
    return np.asarray(by_law) if factor is None else factor * np.asarray(by_law)


def _net_driving_pressure(streams: Streams, side_osmotic: Array | None, permeate_osmotic: Array | None) -> Array | None:
    """Mean hydraulic less osmotic pressure; an osmotic pressure that is not known is left out.

    A blank on the feed side makes the result a blank. One in the permeate does not: its osmotic pressure is some
    hundredths of a bar, and a cell that fails must not take the flow with it.
    """
    if streams.mean_pressure_bar is None or streams.permeate_pressure_bar is None:
        return None
    net = membrane.net_driving_pressure_bar(
        streams.mean_pressure_bar,
        0.0,
        streams.permeate_pressure_bar,
        0.0 if side_osmotic is None else side_osmotic,
        0.0 if permeate_osmotic is None else np.where(np.isnan(permeate_osmotic), 0.0, permeate_osmotic),
    )
    return np.asarray(valid_only(net, net > 0))


def _salt_passage(streams: Streams) -> Array | None:
    if streams.permeate_tds_mg_l is None or streams.feed_tds_mg_l is None:
        return None
    return np.asarray(membrane.salt_passage(streams.permeate_tds_mg_l, streams.feed_tds_mg_l))


def _permeability(flux: Array | None, net: Array | None, factors: tuple[Array, Array] | None) -> Array | None:
    if flux is None or net is None:
        return None
    return np.asarray(membrane.water_permeability_lmh_bar(flux, net, 1.0 if factors is None else factors[0]))


def _drop_coefficient(streams: Streams, exponent: float) -> Array | None:
    if streams.pressure_drop_bar is None or streams.drop_flow_m3h is None:
        return None
    return np.asarray(
        normalization.normalized_pressure_drop(
            streams.pressure_drop_bar,
            mean_flow_m3h=streams.drop_flow_m3h,
            reference_mean_flow_m3h=1.0,
            exponent=exponent,
        )
    )


def forces_columns(forces: tuple[ScopeForces, ...]) -> dict[str, Array]:
    """Every intermediate as columns `<scope>_<what>`; `<scope>_salt_passage` is the indicator, so the one measured is
    `<scope>_actual_salt_passage`."""
    columns = {}
    for scope in forces:
        for names, source in ((CONDITIONS, scope), (STREAM_CONDITIONS, scope.streams)):
            for name in (*names, *DETAILS) if source is scope else names:
                array = getattr(source, name)
                if array is not None:
                    columns[f"{scope.scope}_{'actual_salt_passage' if name == 'salt_passage' else name}"] = array
    return columns
