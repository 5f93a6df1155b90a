"""The membrane model of a whole train: stages in the order of the water, and the pressure that a wanted flow needs.

`run_train` is the only march over stages; what is fitted, what is asked at the reference and what is designed all go
through it. Arrays may have any shape that broadcasts; nothing loops over readings.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from analytics.physics.roots import rising_root
from analytics.physics.vessel import Array, Channel, Elements, Passage, Water, pass_vessel

MOST_PRESSURE_BAR = 100.0
"""Above what any pump or vessel of the trade bears; no feed pressure is looked for beyond it. [bar]"""
CONCENTRATE_ROUNDS = 4
CONCENTRATE_MET = 1e-6
"""Steps towards a wanted flow of concentrate, at the most, and the error that ends them, as a share of it. [-]"""
TOLERANCE = 1e-9
"""Error left in the permeate flow when a feed pressure is looked for, as a share. [-]"""
SETTLED = 1e-13
"""Error left in the salinity that recycle makes, as a share. [-]"""
MOST_SALINITY = 400.0
"""No recycle makes more than this many times the salinity of the raw feed. [-]"""


@dataclass(frozen=True)
class StageSetup:
    """One stage: `vessels` alike in parallel, and what stands before and behind it. bar (gauge), m3/h, mg/L.

    Attributes
    ----------
    boost_bar : array or float
        Pressure rise of a pump before the stage; a throttle is a negative one.
    feed_flow_m3h, feed_tds_mg_l, feed_pressure_bar : array, optional
        What enters the stage where that is known, such as from meters; it takes the place of what the stage before
        leaves. Flow of the whole stage.
    """

    vessels: int
    elements: Elements
    permeate_pressure_bar: Array
    boost_bar: Array | float = 0.0
    feed_flow_m3h: Array | None = None
    feed_tds_mg_l: Array | None = None
    feed_pressure_bar: Array | None = None


@dataclass(frozen=True)
class StagePassage:
    """One stage: what enters it and what it makes of it; flows of the whole stage."""

    feed: Channel
    permeate_flow_m3h: Array
    permeate_tds_mg_l: Array
    concentrate: Channel


@dataclass(frozen=True)
class TrainPassage:
    """A train at each reading. `feed` enters the membranes: with recycle it is not the raw feed."""

    feed: Channel
    stages: tuple[StagePassage, ...]

    @property
    def permeate_flow_m3h(self) -> Array:
        return np.asarray(np.sum([stage.permeate_flow_m3h for stage in self.stages], axis=0))

    @property
    def permeate_tds_mg_l(self) -> Array:
        return mixed_tds(self.stages)

    @property
    def concentrate(self) -> Channel:
        """Leaving the last stage, before any of it is recycled."""
        return self.stages[-1].concentrate


def mixed_tds(stages: Sequence[StagePassage]) -> Array:
    """Dissolved solids of the permeate of some stages together; NaN where they make none. [mg/L]"""
    made = np.sum([stage.permeate_flow_m3h for stage in stages], axis=0)
    parts = [np.where(s.permeate_flow_m3h > 0, s.permeate_flow_m3h * s.permeate_tds_mg_l, 0.0) for s in stages]
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.asarray(np.sum(parts, axis=0) / np.where(made > 0, made, np.nan))


def run_train(
    stages: Sequence[StageSetup], feed: Channel, water: Water, *, recycle_flow_m3h: Array | None = None
) -> TrainPassage:
    r"""Let water through a train at a given feed pressure.

    Parameters
    ----------
    stages : sequence of StageSetup
        In the order of the water.
    feed : Channel
        Raw feed of the whole train.
    water : Water
    recycle_flow_m3h : array, optional
        Concentrate led back before the first stage. [m3/h]

    Returns
    -------
    TrainPassage
        Water and salt balance exactly in every stage.

    Notes
    -----
    With recycle r the membranes are fed with Q_f + r at

    .. math:: c = \frac{Q_f c_f + r \, c_c}{Q_f + r}, \qquad c_c = \frac{Q_f c_f - Q_p c_p}{Q_f - Q_p}

    at which the train must leave just that concentrate: the root in c. Where the membranes could pass all of the raw
    feed and more, salt gathers until they cannot.

    Examples
    --------
    Four vessels feed two, six new brackish elements in each:

    >>> new = Elements(37.2, 6, np.array([3.2]), np.array([0.19]), np.array([0.0075]), 1.65)
    >>> stages = [StageSetup(n, new, np.zeros(1)) for n in (4, 2)]
    >>> feed = Channel(np.array([40.0]), np.array([2000.0]), np.array([12.0]))
    >>> run = run_train(stages, feed, Water(np.full(1, 25.0)))
    >>> [float(np.round(stage.permeate_flow_m3h[0], 1)) for stage in run.stages]
    [24.8, 7.0]
    """
    if recycle_flow_m3h is None:
        return _run_once(stages, feed, water)
    total = feed.flow_m3h + recycle_flow_m3h
    tds, pressure, total = np.broadcast_arrays(feed.tds_mg_l, feed.pressure_bar, total)

    def miss_at(salinity: Array) -> Array:
        run = _run_once(stages, Channel(total, salinity * tds, pressure), water)
        mixed = _mixed_with_concentrate(feed, run, recycle_flow_m3h)
        with np.errstate(invalid="ignore", divide="ignore"):
            miss = np.where(tds > 0, salinity * tds / mixed, salinity) - 1.0
        # Without an answer: too salty where no pressure is left, else so fresh that the membranes take nearly all.
        dead = ~(water.osmotic_pressure_bar(salinity * tds) < pressure)
        return np.where(np.isfinite(miss), miss, np.where(dead, np.inf, -1.0))

    salinity = rising_root(miss_at, np.ones(total.shape), np.full(total.shape, MOST_SALINITY), tolerance=SETTLED)
    return _run_once(stages, Channel(total, salinity * tds, pressure), water)


def _mixed_with_concentrate(feed: Channel, run: TrainPassage, recycle_flow_m3h: Array) -> Array:
    """Salinity of raw feed and recycle together, the concentrate from the balance of the whole; infinite while the
    membranes pass more than the raw feed. [mg/L]"""
    permeate = run.permeate_flow_m3h
    salt_in = feed.flow_m3h * feed.tds_mg_l
    salt_out = np.where(permeate > 0, permeate * run.permeate_tds_mg_l, 0.0)
    left = feed.flow_m3h - permeate
    with np.errstate(invalid="ignore", divide="ignore"):
        concentrate = np.where(left <= 0, np.inf, np.maximum(salt_in - salt_out, 0.0) / left)
        return (salt_in + np.where(recycle_flow_m3h > 0, recycle_flow_m3h * concentrate, 0.0)) / run.feed.flow_m3h


def _run_once(stages: Sequence[StageSetup], feed: Channel, water: Water) -> TrainPassage:
    """The march over the stages."""
    passed: list[StagePassage] = []
    channel = feed
    for stage in stages:
        entering = Channel(
            channel.flow_m3h if stage.feed_flow_m3h is None else stage.feed_flow_m3h,
            channel.tds_mg_l if stage.feed_tds_mg_l is None else stage.feed_tds_mg_l,
            channel.pressure_bar + stage.boost_bar if stage.feed_pressure_bar is None else stage.feed_pressure_bar,
        )
        passed.append(_run_stage(stage, entering, water))
        channel = passed[-1].concentrate
    return TrainPassage(passed[0].feed, tuple(passed))


def _run_stage(stage: StageSetup, entering: Channel, water: Water) -> StagePassage:
    one: Passage = pass_vessel(
        replace(entering, flow_m3h=entering.flow_m3h / stage.vessels),
        stage.elements,
        water,
        permeate_pressure_bar=stage.permeate_pressure_bar,
    )
    return StagePassage(
        entering,
        one.permeate_flow_m3h * stage.vessels,
        one.permeate_tds_mg_l,
        replace(one.concentrate, flow_m3h=one.concentrate.flow_m3h * stage.vessels),
    )


def run_at_concentrate_flow(
    stages: Sequence[StageSetup], concentrate_flow_m3h: Array, feed: Channel, water: Water
) -> TrainPassage:
    """Let water through at a given feed pressure, with as much feed as leaves a given flow of concentrate.

    Parameters
    ----------
    stages : sequence of StageSetup
    concentrate_flow_m3h : array
        Wanted. [m3/h]
    feed : Channel
        Its flow is the first guess.
    water : Water

    Returns
    -------
    TrainPassage
        The concentrate is met to about 1e-6 where the first guess is within a tenth.

    Notes
    -----
    A train that is given 1 m3/h more passes most of it on: the secant method, held to slopes above 0.2.
    """
    flow = feed.flow_m3h
    slope: Array | float = 1.0
    before: tuple[Array, Array] | None = None
    run = run_train(stages, feed, water)
    for _ in range(CONCENTRATE_ROUNDS):
        miss = run.concentrate.flow_m3h - concentrate_flow_m3h
        if not (np.abs(miss) > CONCENTRATE_MET * concentrate_flow_m3h).any():
            break
        if before is not None:
            with np.errstate(invalid="ignore", divide="ignore"):
                secant = (miss - before[1]) / (flow - before[0])
            slope = np.where(np.isfinite(secant) & (secant > 0.2), secant, 1.0)
        before = (flow, miss)
        flow = np.maximum(flow - miss / slope, concentrate_flow_m3h * 1.0001)
        run = run_train(stages, replace(feed, flow_m3h=flow), water)
    return run


def feed_pressure_for_permeate(
    stages: Sequence[StageSetup],
    permeate_flow_m3h: Array,
    recovery: Array,
    feed_tds_mg_l: Array,
    water: Water,
    *,
    recycle_flow_m3h: Array | None = None,
    most_pressure_bar: float = MOST_PRESSURE_BAR,
) -> Array:
    """Feed pressure that makes a wanted permeate flow at a wanted recovery: the design question.

    Parameters
    ----------
    stages : sequence of StageSetup
    permeate_flow_m3h : array
        Wanted, of the whole train. [m3/h]
    recovery : array
        Permeate over raw feed. [-]
    feed_tds_mg_l : array
        Of the raw feed. [mg/L]
    water : Water
    recycle_flow_m3h : array, optional
        [m3/h]
    most_pressure_bar : float
        [bar]

    Returns
    -------
    array
        NaN where no pressure up to `most_pressure_bar` makes the flow. [bar]

    Notes
    -----
    Permeate grows with pressure: secant steps inside a bracket that only ever narrows, halved where a step would leave
    it. A state outside the range of the osmotic law counts as too much pressure.

    Examples
    --------
    >>> new = Elements(37.2, 6, np.array([3.2]), np.array([0.19]), np.array([0.0075]), 1.65)
    >>> stages = [StageSetup(n, new, np.zeros(1)) for n in (4, 2)]
    >>> wanted = (np.array([30.0]), np.array([0.75]), np.array([2000.0]))
    >>> float(np.round(feed_pressure_for_permeate(stages, *wanted, Water(np.full(1, 25.0)))[0], 2))
    11.26
    """
    wanted, share, tds, recycle = np.broadcast_arrays(
        permeate_flow_m3h, recovery, feed_tds_mg_l, 0.0 if recycle_flow_m3h is None else recycle_flow_m3h
    )
    raw = wanted / share

    def miss_at(pressure: Array) -> Array:
        run = run_train(
            stages, Channel(raw, tds, pressure), water, recycle_flow_m3h=None if recycle_flow_m3h is None else recycle
        )
        miss = run.permeate_flow_m3h / wanted - 1.0
        return np.where(np.isfinite(miss), miss, np.inf)

    return rising_root(miss_at, np.zeros(raw.shape), np.full(raw.shape, most_pressure_bar), tolerance=TOLERANCE)
