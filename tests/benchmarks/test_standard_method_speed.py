"""Speed of screen plus standard method: readings in one thread, against what numpy alone would need.

A fifth of a million by default, a million with `-m slow`.

The yardstick is a bare numpy pass over the same input columns. It writes as many fresh columns as the method does
(those that it passes on untouched, such as a metered flow, are not counted), and on the way it takes the same number of
exponentials and logarithms of full columns. That number is not guessed: `counting` lends numpy counting versions of
them while a small log of the same shape goes through the method. Square roots cost no more than a division and are not
counted. Fresh columns cost page faults on both sides, so both are timed in one process, in turns, after a warm-up. What
counts is the processor time of this process, its own and the kernel's on its behalf, the best round of each: whatever
else the machine does only adds.
"""

import resource
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass

import numpy as np
import pandas as pd
import pytest

from analytics.condition.normalized import NormalizedLog, normalize_log
from analytics.plant_file import plant_from_dict

pytestmark = pytest.mark.alone

READINGS = 1_000_000
ALLOWED = 4.0
ROUNDS, BARE_PASSES = 5, 3
"""Each round holds one run against bare passes that take about as long, one right after the other: a machine that is
slow for a while is slow for both."""
TRANSCENDENTAL = ("exp", "expm1", "exp2", "log", "log1p", "log2", "log10", "power", "float_power", "cbrt")

PLANT = plant_from_dict(
    {
        "site": {"name": "Somewhere", "timezone": "Europe/Lisbon"},
        "train": {
            "name": "RO 1",
            "stage": [
                {"vessels": 4, "elements_per_vessel": 6, "membrane": "bw8"},
                {"vessels": 2, "elements_per_vessel": 6, "membrane": "bw8"},
            ],
        },
        "membrane": {"bw8": {"area_m2": 37.0}},
    }
)
USUAL = {
    "feed_temperature_c": (18.0, 0.05, 1), "feed_pressure_bar": (12.0, 0.01, 2),
    "stage1_concentrate_pressure_bar": (10.6, 0.01, 2), "concentrate_pressure_bar": (9.4, 0.01, 2),
    "permeate_pressure_bar": (0.5, 0.02, 2),
    "feed_flow_m3h": (40.0, 0.01, 2), "permeate_flow_m3h": (30.0, 0.01, 2), "concentrate_flow_m3h": (10.0, 0.01, 2),
    "stage1_permeate_flow_m3h": (20.0, 0.01, 2), "feed_conductivity_us_cm": (1800.0, 0.01, 0),
    "permeate_conductivity_us_cm": (40.0, 0.01, 1), "concentrate_conductivity_us_cm": (6800.0, 0.01, 0),
    "stage1_permeate_conductivity_us_cm": (20.0, 0.01, 1), "stage2_permeate_conductivity_us_cm": (80.0, 0.01, 1),
}  # fmt: skip
"""Level, scatter as a share of it, and digits of every gauge of a well-metered two-stage train."""


@dataclass(frozen=True)
class Work:
    """What a bare pass has to do: columns of numbers and of flags to write, full-column exp and log calls to make."""

    numbers: int
    flags: int
    exponentials: int
    logarithms: int


def readings(rows: int) -> pd.DataFrame:
    rng = np.random.default_rng(20260101)
    columns = {
        name: np.round(level * (1 + share * rng.standard_normal(rows)), digits)
        for name, (level, share, digits) in USUAL.items()
    }
    times = pd.date_range("2020-01-01", periods=rows, freq="min", tz="UTC", name="taken_at").as_unit("us")
    return pd.DataFrame(columns, index=times)


def address(values: np.ndarray) -> int:
    return int(values.__array_interface__["data"][0])


@contextmanager
def counting(monkeypatch: pytest.MonkeyPatch, rows: int) -> Iterator[dict[str, float]]:
    """Count the passes over full columns that numpy's transcendental functions make."""
    passes = dict.fromkeys(TRANSCENDENTAL, 0.0)

    def counted(name: str, real: np.ufunc) -> Callable[..., object]:
        def function(*args: object, **kwargs: object) -> object:
            size = max(np.size(arg) for arg in args)
            passes[name] += size / rows if size > rows / 10 else 0.0  # a whole column, not a handful of settings
            return real(*args, **kwargs)

        return function

    with monkeypatch.context() as patch:
        for name in TRANSCENDENTAL:
            patch.setattr(np, name, counted(name, getattr(np, name)))
        yield passes


def work_of_the_method(monkeypatch: pytest.MonkeyPatch) -> Work:
    log = readings(40_000)
    with counting(monkeypatch, len(log)) as passes:
        result = normalize_log(PLANT, log)
    given = {address(log[name].to_numpy()) for name in log.columns}
    written = {address(values) for values in result.columns.values()} - given
    flags = {address(values) for values in result.rules.values()}
    counts = {name: round(count) for name, count in passes.items()}
    others = {name for name, count in counts.items() if count and name not in ("exp", "log")}
    assert not others, f"the bare pass would have to call {others} too"
    return Work(len(written), len(flags), counts["exp"], counts["log"])


def bare_pass(columns: list[np.ndarray], work: Work) -> list[np.ndarray]:
    written = [columns[n % len(columns)] * 1.01 for n in range(work.numbers)]
    written += [columns[n % len(columns)] > 5.0 for n in range(work.flags)]
    for n in range(work.exponentials):
        np.exp(columns[0], out=written[n])  # of a temperature: nowhere near an overflow
    for n in range(work.logarithms):
        np.log(columns[n % len(columns)], out=written[work.exponentials + n])
    return written


class Stopwatch:
    """Best processor time of several rounds: own and kernel seconds, each for itself."""

    def __init__(self) -> None:
        self.own, self.kernel = float("inf"), float("inf")

    def time(self, task: Callable[[], object]) -> None:
        before = resource.getrusage(resource.RUSAGE_SELF)
        result = task()
        del result
        after = resource.getrusage(resource.RUSAGE_SELF)
        self.own = min(self.own, after.ru_utime - before.ru_utime)
        self.kernel = min(self.kernel, after.ru_stime - before.ru_stime)

    @property
    def seconds(self) -> float:
        return self.own + self.kernel


@pytest.mark.parametrize("count", [READINGS // 5, pytest.param(READINGS, marks=pytest.mark.slow)])
def test_readings_take_at_most_four_times_a_bare_numpy_pass(monkeypatch: pytest.MonkeyPatch, count: int) -> None:
    work = work_of_the_method(monkeypatch)
    # By hand: one temperature factor; three concentration factors; dissolved solids from five conductivities, and
    # from two of them once more in the salt balance of the screen. Fewer would be welcome, more should be noticed.
    assert work.exponentials <= 1
    assert work.logarithms <= 10
    log = readings(count)
    columns = [log[name].to_numpy() for name in log.columns]
    bare_pass(columns, work), normalize_log(PLANT, log)  # the warm-up
    times = []
    for _ in range(ROUNDS):
        ours, bare = Stopwatch(), Stopwatch()
        bare.time(lambda: [len(bare_pass(columns, work)) for _ in range(BARE_PASSES)])
        ours.time(lambda: normalize_log(PLANT, log))
        times.append(BARE_PASSES * ours.seconds / bare.seconds)
    assert np.median(times) <= ALLOWED, f"{times} times the bare pass; {work}"


def test_the_readings_are_really_normalized() -> None:
    """Speed of nothing is no speed: every reading gets its indicators, near one on a train that does not change."""
    log: NormalizedLog = normalize_log(PLANT, readings(READINGS // 10))
    assert log.used.mean() > 0.99
    for scope in ("train", "stage1", "stage2"):
        for name in ("permeate_flow", "salt_passage", "pressure_drop"):
            values = log.indicators[f"{scope}_{name}"]
            assert np.isfinite(values[log.used]).mean() > 0.99
            assert np.nanmedian(values) == pytest.approx(1.0, abs=0.01)
