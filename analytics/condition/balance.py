"""The streams of a train and of each stage: flows, pressures and dissolved solids, completed by balances.

What is metered is used as it is; what is not is worked out by a balance where one exists and marked *derived*, or taken
from the plant file and marked *assumed*; what remains unknown is listed as *missing* with what it costs.
"""

from collections.abc import Collection, Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd

from analytics.condition.dissolved_solids import (
    concentrate_solids,
    recovery_from_conductivity,
    stage_permeate_solids,
    train_solids,
)
from analytics.condition.streams import Array, Balance, Ledger, Streams, has_a_value, say_what_is_missing
from analytics.plant import Plant


@dataclass(frozen=True)
class _TrainWater:
    """What the whole train is fed, recycle included, and makes; None where it is not known. [m3/h, mg/L, bar]"""

    feed: Array | None
    permeate: Array | None
    feed_tds: Array | None
    permeate_tds: Array | None
    permeate_pressure: Array


def complete_streams(readings: pd.DataFrame, plant: Plant, metered: Collection[str] | None = None) -> Balance:
    """Work out the streams of the train and of every stage from what is metered.

    Parameters
    ----------
    readings : DataFrame
        Canonical columns, one row a reading; values set aside are NaN.
    plant : Plant
    metered : collection of str, optional
        Columns that count as metered, where the readings are a part of a log; those that have a value when not given.

    Returns
    -------
    Balance
        Arrays as long as `readings`.

    Notes
    -----
    Two of feed, permeate and concentrate flow give the third. Dissolved solids come from conductivity by the train's
    water type. Stage streams follow the water: the concentrate of one stage feeds the next.
    """
    numbers = {
        str(name): readings[name].to_numpy(dtype=np.float64)
        for name in readings.columns
        if readings[name].dtype.kind in "fiu"
    }
    values = {
        name: column
        for name, column in numbers.items()
        if (has_a_value(column) if metered is None else name in metered)
    }
    ledger = Ledger(values, len(readings))
    temperature = _assumed(ledger, "feed_temperature", "feed_temperature_c", plant.train.assumed.feed_temperature)
    permeate_pressure = _permeate_pressure(ledger, plant)
    back_known = permeate_pressure is not None or _stage_permeate_pressure(ledger, plant)
    permeate_pressure = np.zeros(len(readings)) if permeate_pressure is None else permeate_pressure
    permeates = _stage_permeate_flows(ledger, plant)
    feed, permeate, concentrate = _train_flows(ledger, plant, permeates)
    tds = train_solids(ledger, plant, feed, permeate, concentrate)
    if len(permeates) > 1:
        permeates = _last_stage_by_difference(ledger, permeates, permeate)
    membrane_feed, membrane_tds = _with_recycle(ledger, feed, permeate, tds)
    water = _TrainWater(membrane_feed, permeate, membrane_tds, tds["permeate"], permeate_pressure)
    stages = _stage_streams(ledger, plant, water, permeates)
    train = _train_streams(ledger, plant, water, stages)
    if len(plant.train.stages) == 1:
        stages = ()
    say_what_is_missing(ledger, train, stages, temperature)
    return Balance(
        train,
        stages,
        temperature,
        tuple(ledger.derived),
        tuple(ledger.assumed),
        tuple(ledger.missing),
        tuple(ledger.notes),
        permeate_pressure_known=back_known,
    )


def _assumed(ledger: Ledger, name: str, column: str, assumed: float | None) -> Array | None:
    """Metered, else the value that the plant file states; a blank among metered values stays a blank."""
    metered = ledger.get(column)
    if metered is None and assumed is not None:
        ledger.assumed.append(name)
        return np.full(ledger.rows, assumed)
    return metered


def _permeate_pressure(ledger: Ledger, plant: Plant) -> Array | None:
    """As metered in the header, else as the plant file states it."""
    found = _assumed(ledger, "permeate_pressure", "permeate_pressure_bar", plant.train.assumed.permeate_pressure)
    if found is None and not _stage_permeate_pressure(ledger, plant):
        ledger.notes.append(
            "Permeate pressure is not metered: the standard method takes it as zero. Where it is 1 bar and more, flow"
            " may come out up to 4 % off; write it into the log, or state it in the plant file"
            " (train.assumed.permeate_pressure)."
        )
    return found


def _stage_permeate_pressure(ledger: Ledger, plant: Plant) -> bool:
    """Whether that of any stage is metered."""
    numbers = range(1, len(plant.train.stages) + 1)
    return any(ledger.get(f"stage{n}_permeate_pressure_bar") is not None for n in numbers)


def _stage_permeate_flows(ledger: Ledger, plant: Plant) -> list[Array | None]:
    return [ledger.get(f"stage{n}_permeate_flow_m3h") for n in range(1, len(plant.train.stages) + 1)]


def _difference(whole: Array | None, part: Array | None) -> Array | None:
    return None if whole is None or part is None else whole - part


def _train_flows(
    ledger: Ledger, plant: Plant, permeates: list[Array | None]
) -> tuple[Array | None, Array | None, Array | None]:
    feed, permeate, concentrate = (ledger.get(f"{w}_flow_m3h") for w in ("feed", "permeate", "concentrate"))
    known = [p for p in permeates if p is not None]
    if len(known) == len(permeates) and known:
        permeate = ledger.fill("permeate_flow", permeate, np.sum(known, axis=0))
    permeate = ledger.fill("permeate_flow", permeate, _difference(feed, concentrate))
    concentrate = ledger.fill("concentrate_flow", concentrate, _difference(feed, permeate))
    if permeate is not None and concentrate is not None:
        feed = ledger.fill("feed_flow", feed, permeate + concentrate)
    if feed is None and permeate is not None:
        share = recovery_from_conductivity(ledger, plant)
        if share is not None:
            feed = ledger.fill("feed_flow", None, permeate / share)
            concentrate = ledger.fill("concentrate_flow", None, _difference(feed, permeate))
    return feed, permeate, concentrate


def _last_stage_by_difference(
    ledger: Ledger, permeates: list[Array | None], permeate: Array | None
) -> list[Array | None]:
    """Where all stages but one are metered, the last one is what remains of the total."""
    unknown = [n for n, flow in enumerate(permeates) if flow is None]
    if len(unknown) != 1 or permeate is None:
        return permeates
    (n,) = unknown
    rest = permeate - np.sum([flow for flow in permeates if flow is not None], axis=0)
    completed = list(permeates)
    completed[n] = ledger.fill(f"stage{n + 1}_permeate_flow", None, np.where(rest > 0, rest, np.nan))
    return completed


def _with_recycle(
    ledger: Ledger, feed: Array | None, permeate: Array | None, tds: Mapping[str, Array | None]
) -> tuple[Array | None, Array | None]:
    """Feed of the membranes: the raw feed, with the recycled concentrate mixed in where there is any."""
    recycle = ledger.get("recycle_flow_m3h")
    if recycle is None or feed is None:
        return feed, tds["feed"]
    total = feed + recycle
    concentrate = tds["concentrate"]
    if concentrate is None and tds["feed"] is not None and permeate is not None:
        passed = 0.0 if tds["permeate"] is None else permeate * tds["permeate"]
        with np.errstate(invalid="ignore", divide="ignore"):
            concentrate = (feed * tds["feed"] - passed) / (feed - permeate)
    if concentrate is None or tds["feed"] is None:
        return total, tds["feed"]
    return total, (feed * tds["feed"] + recycle * concentrate) / total


def _stage_pressures(ledger: Ledger, plant: Plant, number: int) -> tuple[Array | None, Array | None]:
    """Feed and concentrate pressure of a stage; without a booster the water passes on at the pressure it left with."""
    stages = plant.train.stages
    into, out = ledger.get(f"stage{number}_feed_pressure_bar"), ledger.get(f"stage{number}_concentrate_pressure_bar")
    if number == 1:
        into = ledger.get("feed_pressure_bar")
    elif not stages[number - 1].booster:
        before = ledger.get(f"stage{number - 1}_concentrate_pressure_bar")
        into = before if into is None else into
    if number == len(stages):
        out = ledger.get("concentrate_pressure_bar") if out is None else out
    elif not stages[number].booster and out is None:
        out = ledger.get(f"stage{number + 1}_feed_pressure_bar")
    return into, out


def _stage_streams(
    ledger: Ledger, plant: Plant, water: _TrainWater, permeates: list[Array | None]
) -> tuple[Streams, ...]:
    """Follow the water from stage to stage."""
    result = []
    stages = plant.train.stages
    if len(stages) == 1:
        flows, solids = [water.permeate], [water.permeate_tds]
    else:
        flows = permeates
        solids = stage_permeate_solids(ledger, plant, water.permeate, permeates, water.permeate_tds)
    feed, feed_tds, drop_feed = water.feed, water.feed_tds, water.feed
    for number, (stage, flow, salt) in enumerate(zip(stages, flows, solids, strict=True), start=1):
        share = None if water.permeate is None else water.permeate * (stage.area_m2 / plant.train.area_m2)
        drop_permeate = flow if flow is not None else share
        into, out = _stage_pressures(ledger, plant, number)
        back = ledger.get(f"stage{number}_permeate_pressure_bar")
        result.append(
            Streams(
                scope=f"stage{number}",
                area_m2=stage.area_m2,
                elements_in_series=stage.elements_per_vessel,
                feed_flow_m3h=feed,
                permeate_flow_m3h=flow,
                mean_pressure_bar=_mean(into, out),
                pressure_drop_bar=_difference(into, out),
                drop_flow_m3h=None if drop_feed is None or drop_permeate is None else drop_feed - drop_permeate / 2,
                permeate_pressure_bar=water.permeate_pressure if back is None else back,
                feed_tds_mg_l=feed_tds,
                permeate_tds_mg_l=salt,
            )
        )
        drop_feed = _difference(drop_feed, drop_permeate)
        feed_tds = concentrate_solids(feed, flow, feed_tds, salt)
        feed = _difference(feed, flow)
    return tuple(result)


def _mean(into: Array | None, out: Array | None) -> Array | None:
    return None if into is None or out is None else (into + out) / 2


def _train_streams(ledger: Ledger, plant: Plant, water: _TrainWater, stages: tuple[Streams, ...]) -> Streams:
    boosted = any(stage.booster for stage in plant.train.stages)
    into, out = ledger.get("feed_pressure_bar"), _stage_pressures(ledger, plant, len(plant.train.stages))[1]
    mean, drop = _mean(into, out), _difference(into, out)
    if boosted:
        mean, drop = _boosted_pressures(stages)
    elif mean is None and into is not None:
        mean = into
        ledger.notes.append(
            "Concentrate pressure is not metered: the pressure drop is left out of the driving pressure, so a rising"
            " pressure drop would show as a loss of flow."
        )
    return Streams(
        scope="train",
        area_m2=plant.train.area_m2,
        elements_in_series=sum(stage.elements_per_vessel for stage in plant.train.stages),
        feed_flow_m3h=water.feed,
        permeate_flow_m3h=water.permeate,
        mean_pressure_bar=mean,
        pressure_drop_bar=drop,
        drop_flow_m3h=None if water.feed is None or water.permeate is None else water.feed - water.permeate / 2,
        permeate_pressure_bar=water.permeate_pressure,
        feed_tds_mg_l=water.feed_tds,
        permeate_tds_mg_l=water.permeate_tds,
    )


def _boosted_pressures(stages: tuple[Streams, ...]) -> tuple[Array | None, Array | None]:
    """With a booster between stages: the area-weighted mean pressure, and the sum of the stages' pressure drops."""
    means = [s.mean_pressure_bar for s in stages]
    drops = [s.pressure_drop_bar for s in stages]
    if any(m is None for m in means) or any(d is None for d in drops):
        return None, None
    area = sum(s.area_m2 for s in stages)
    weighted = [m * (s.area_m2 / area) for m, s in zip(means, stages, strict=True) if m is not None]
    return np.sum(weighted, axis=0), np.sum([d for d in drops if d is not None], axis=0)
