"""What a gauge shows of the truth: its unit, noise, rounding, drift, and the days on which it froze."""

from dataclasses import dataclass

import numpy as np

from analytics.units import from_canonical
from demo_data.simulator.shifts import Span
from demo_data.simulator.water import FloatArray


@dataclass(frozen=True)
class Drift:
    """A slow multiplicative drift: nothing before `begins`, then in a straight line to `total` at `ends`. [day, -]"""

    begins: float
    ends: float
    total: float


@dataclass(frozen=True)
class Meter:
    """One gauge.

    unit : as the gauge shows it; step : its rounding in that unit.
    noise : standard deviation in the unit of the gauge; noise_share : as a share of the value.
    offset_share : a constant error as a share of the value.
    """

    unit: str
    step: float
    noise: float = 0.0
    noise_share: float = 0.0
    offset_share: float = 0.0
    drift: Drift | None = None
    frozen: Span | None = None

    def gain(self, days: FloatArray) -> FloatArray:
        """Shown over true value, noise apart. [-]"""
        result = np.full(len(days), 1 + self.offset_share)
        if self.drift:
            span = self.drift.ends - self.drift.begins
            result *= 1 + self.drift.total * np.clip((days - self.drift.begins) / span, 0.0, 1.0)
        return result


def shown(
    meter: Meter, canonical: str, values: FloatArray, days: FloatArray, *, noise: bool, rng: np.random.Generator
) -> FloatArray:
    """What the gauge shows, in its own unit; without `noise` only its gain is applied.

    A gauge standing at zero shows zero, and noise never turns a positive value into a negative one.
    """
    draws = rng.standard_normal((2, len(values)))
    result = from_canonical(values * meter.gain(days), canonical, meter.unit)
    if not noise:
        return result
    alive = values != 0
    noisy = result + alive * (meter.noise * draws[0] + meter.noise_share * result * draws[1])
    result = round_to(np.where(result >= 0, np.maximum(noisy, 0.0), noisy), meter.step)
    if meter.frozen:
        held = meter.frozen.holds(days)
        if held.any():
            result[held] = result[np.argmax(held)]
    return result


def round_to(values: FloatArray, step: float) -> FloatArray:
    """Round to a multiple of the step of the gauge."""
    return np.round(np.round(values / step) * step, 10)


def decimals(step: float) -> int:
    """Digits after the point that a gauge with this step shows. [-]"""
    text = f"{step:.6f}".rstrip("0")
    return len(text.partition(".")[2])
