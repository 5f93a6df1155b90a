"""Dissolved solids of the streams: as measured, from conductivity, or by the balance of salt."""

import numpy as np

from analytics.condition.streams import Array, Ledger
from analytics.physics.numeric import valid_only
from analytics.physics.water import tds_from_conductivity
from analytics.plant import Plant


def dissolved_solids(ledger: Ledger, plant: Plant, stream: str) -> Array | None:
    """Dissolved solids of a stream, such as `feed`: as measured, else from its conductivity. [mg/L]"""
    conductivity = ledger.get(f"{stream}_conductivity_us_cm")
    factor = plant.train.assumed.tds_per_conductivity
    derived = (
        None
        if conductivity is None
        else np.asarray(tds_from_conductivity(conductivity, water=plant.train.water, factor=factor))
    )
    measured = ledger.get(f"{stream}_tds_mg_l")
    if measured is None:
        return derived
    return measured if derived is None else np.where(np.isnan(measured), derived, measured)


def recovery_from_conductivity(ledger: Ledger, plant: Plant) -> Array | None:
    """Recovery by the salt balance, where flows are not metered: (Cc - Cf) / (Cc - Cp). [-]

    NaN outside 0.01 to 0.99; salt in a permeate without a cell is taken as none.
    """
    feed, permeate, concentrate = (dissolved_solids(ledger, plant, w) for w in ("feed", "permeate", "concentrate"))
    if feed is None or concentrate is None:
        return None
    permeate = np.zeros(ledger.rows) if permeate is None else permeate
    with np.errstate(invalid="ignore", divide="ignore"):
        share = (concentrate - feed) / (concentrate - permeate)
        return np.where((share > 0.01) & (share < 0.99), share, np.nan)


def train_solids(
    ledger: Ledger, plant: Plant, feed: Array | None, permeate: Array | None, concentrate: Array | None
) -> dict[str, Array | None]:
    """Of feed, permeate and concentrate; feed and permeate by balances where they are not measured. [mg/L]"""
    tds = {w: dissolved_solids(ledger, plant, w) for w in ("feed", "permeate", "concentrate")}
    if tds["feed"] is None and feed is not None and permeate is not None and tds["concentrate"] is not None:
        passed = 0.0 if tds["permeate"] is None else permeate * tds["permeate"]
        with np.errstate(invalid="ignore", divide="ignore"):
            mixed = (passed + (feed - permeate) * tds["concentrate"]) / feed
        tds["feed"] = ledger.fill("feed_tds", None, mixed)
    if tds["permeate"] is None:
        tds["permeate"] = _mixed_permeate(ledger, plant)
    return tds


def _mixed_permeate(ledger: Ledger, plant: Plant) -> Array | None:
    """Permeate of the train as the flow-weighted mix of its stages."""
    numbers = range(1, len(plant.train.stages) + 1)
    flows = [ledger.get(f"stage{n}_permeate_flow_m3h") for n in numbers]
    solids = [dissolved_solids(ledger, plant, f"stage{n}_permeate") for n in numbers]
    pairs = [(f, s) for f, s in zip(flows, solids, strict=True) if f is not None and s is not None]
    if len(pairs) < len(flows):
        return None
    with np.errstate(invalid="ignore", divide="ignore"):
        mixed: Array = np.sum([f * s for f, s in pairs], axis=0) / np.sum([f for f, _ in pairs], axis=0)
    return ledger.fill("permeate_tds", None, mixed)


def concentrate_solids(
    feed: Array | None, permeate: Array | None, feed_tds: Array | None, permeate_tds: Array | None
) -> Array | None:
    """What the permeate leaves behind: (Qf cf - Qp cp) / (Qf - Qp); no salt in a permeate that is not known. [mg/L]"""
    if feed is None or permeate is None or feed_tds is None:
        return None
    passed = 0.0 if permeate_tds is None else permeate * permeate_tds
    left = feed - permeate
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.asarray(valid_only((feed * feed_tds - passed) / left, left > 0))


def stage_permeate_solids(
    ledger: Ledger, plant: Plant, permeate: Array | None, permeates: list[Array | None], permeate_tds: Array | None
) -> list[Array | None]:
    """Per stage as metered; the only one that is not, by the mixing balance with the train's permeate."""
    solids = [dissolved_solids(ledger, plant, f"stage{n}_permeate") for n in range(1, len(permeates) + 1)]
    unknown = [n for n, value in enumerate(solids) if value is None]
    if len(permeates) < 2 or len(unknown) != 1 or permeate is None or permeate_tds is None:
        return solids
    (n,) = unknown
    parts = [(f, s) for k, (f, s) in enumerate(zip(permeates, solids, strict=True)) if k != n]
    flow = permeates[n]
    if flow is None or any(f is None for f, _ in parts):
        return solids
    salt = permeate * permeate_tds - np.sum([f * s for f, s in parts if f is not None and s is not None], axis=0)
    with np.errstate(invalid="ignore", divide="ignore"):
        rest = salt / flow
    solids[n] = ledger.fill(f"stage{n + 1}_permeate_tds", None, np.where(rest > 0, rest, np.nan))
    return solids
