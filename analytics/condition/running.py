"""Whether a train runs: stopped, starting, or making permeate as usual."""

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt
import pandas as pd

from analytics.condition.levels import LevelBook
from analytics.plant import Plant
from analytics.quantities import QUANTITIES

Array = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]


def stopped_rows(readings: pd.DataFrame, columns: Mapping[str, Array], plant: Plant, book: LevelBook) -> Flags:
    """Said to be stopped, or making less permeate than the threshold.

    Parameters
    ----------
    readings : DataFrame
        `state` is looked at, where there is one.
    columns : dict of arrays
        Flows by column. [m3/h]
    plant : Plant
        Gives the threshold, or the share of the usual flow that is one.
    book : LevelBook
        Gives or learns that threshold.

    Returns
    -------
    bool array
        As long as `readings`.
    """
    settings = plant.train.screening
    stopped = np.zeros(len(readings), dtype=bool)
    if "state" in readings.columns:
        stopped |= (readings["state"] == "stopped").to_numpy(dtype=bool)
    flow = _running_flow(columns)
    if flow is None:
        return stopped
    threshold = settings.running_permeate_flow_m3h
    if threshold is None:
        threshold = book.number(
            "running", lambda: _running_threshold(flow, stopped, settings.running_share_of_usual_flow)
        )
    return stopped | (flow <= 0 if threshold is None else flow < threshold)


def _running_threshold(flow: Array, stopped: Flags, share: float) -> float | None:
    """A share of the usual permeate flow; None where nothing was ever made. [m3/h]"""
    made = flow[(flow > 0) & (flow <= QUANTITIES["permeate_flow"].possible[1]) & ~stopped]
    return share * float(np.median(made[:: max(1, made.size // 20_000)])) if made.size else None


def _running_flow(columns: Mapping[str, Array]) -> Array | None:
    """Permeate flow as metered: that of the train, else of stage 1, else feed less concentrate."""
    for name in ("permeate_flow_m3h", "stage1_permeate_flow_m3h"):
        if name in columns:
            return columns[name]
    if "feed_flow_m3h" in columns and "concentrate_flow_m3h" in columns:
        return columns["feed_flow_m3h"] - columns["concentrate_flow_m3h"]
    return None


def starting_rows(readings: pd.DataFrame, not_running: Flags, *, settling_minutes: float) -> Flags:
    """Said to be starting, or within the settling time after a reading that was not running.

    Parameters
    ----------
    readings : DataFrame
        Ascending index in UTC.
    not_running : bool array
    settling_minutes : float
        [min]

    Returns
    -------
    bool array
        As long as `readings`; none of them is stopped.
    """
    starting = np.zeros(len(readings), dtype=bool)
    if "state" in readings.columns:
        starting |= (readings["state"] == "starting").to_numpy(dtype=bool)
    at = np.flatnonzero(not_running)
    if at.size and isinstance(readings.index, pd.DatetimeIndex):
        minutes = readings.index.as_unit("s").asi8 / 60
        previous = np.searchsorted(at, np.arange(len(readings)), side="right") - 1
        since = np.where(previous >= 0, minutes - minutes[at[np.maximum(previous, 0)]], np.inf)
        starting |= (since > 0) & (since < settling_minutes)
    return starting & ~not_running
