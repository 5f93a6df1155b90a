"""What the screen learns from a whole log, kept so that a part of the log is judged alike.

Some thresholds are the log's own: the permeate flow below which it stands still, the usual imbalance of its flows, how
long a value must repeat before its meter is called frozen. `LevelBook` learns them where they are not given, and gives
back those that are.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Usual:
    """What is usual stretch by stretch: from the instant on (microseconds since 1970), between low and high. [-]"""

    since: npt.NDArray[np.int64]
    low: Array
    high: Array

    def at(self, times: npt.NDArray[np.int64]) -> "Usual":
        """The same at each of some instants."""
        place = np.clip(np.searchsorted(self.since, times, side="right") - 1, 0, None)
        return Usual(times, self.low[place], self.high[place])


@dataclass(frozen=True)
class ScreenLevels:
    """Thresholds of one log.

    Attributes
    ----------
    numbers : mapping
        "running" [m3/h]; "frozen <column>" [-]; "clipped <column>", "clipped low <column>" and "scatter <column>" [of
        the column], None where the rule does not judge the column.
    usual : mapping
        By balance.
    notes : mapping
        By rule, for those that accuse the meter.
    metered : tuple of str
        Columns that have any value.
    """

    numbers: Mapping[str, float | None]
    usual: Mapping[str, Usual]
    notes: Mapping[str, str]
    metered: tuple[str, ...]

    def as_document(self) -> dict[str, Any]:
        """As plain dictionaries, lists and numbers."""
        usual = {
            name: {"since": one.since.tolist(), "low": one.low.tolist(), "high": one.high.tolist()}
            for name, one in self.usual.items()
        }
        return {
            "numbers": dict(self.numbers), "usual": usual, "notes": dict(self.notes), "metered": list(self.metered)
        }  # fmt: skip

    @classmethod
    def from_document(cls, document: Mapping[str, Any]) -> "ScreenLevels":
        """Back from what `as_document` gave."""
        usual = {
            name: Usual(np.array(one["since"], dtype=np.int64), np.array(one["low"]), np.array(one["high"]))
            for name, one in document["usual"].items()
        }
        return cls(document["numbers"], usual, document["notes"], tuple(document["metered"]))


@dataclass
class LevelBook:
    """Gives the levels of `given`; without, learns each and keeps it."""

    given: ScreenLevels | None = None
    numbers: dict[str, float | None] = field(default_factory=dict)
    usual: dict[str, Usual] = field(default_factory=dict)
    notes: dict[str, str] = field(default_factory=dict)

    def number(self, name: str, learn: Callable[[], float | None]) -> float | None:
        """One level."""
        if self.given is not None:
            return self.given.numbers.get(name)
        self.numbers[name] = learn()
        return self.numbers[name]

    def levels(self, metered: tuple[str, ...]) -> ScreenLevels:
        """All of them."""
        return self.given or ScreenLevels(self.numbers, self.usual, self.notes, metered)
