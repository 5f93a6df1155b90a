"""What happened to a train: the kinds of event, and which of them end a run."""

from dataclasses import dataclass
from datetime import datetime

KINDS = (
    "start-up",
    "shutdown",
    "cleaning",
    "element-replacement",
    "element-move",
    "meter-calibration",
    "meter-replacement",
    "cartridge-change",
    "chemical-change",
    "set-point-change",
    "source-change",
    "note",
)

INTERVENTIONS = ("cleaning", "element-replacement", "element-move")
"""Kinds that change the membranes themselves; each ends a run."""

STEP = "detected step"
"""Kind of what the log itself shows and nobody wrote down; it ends a run, and is never stored."""
UNEXPLAINED = "Unexplained step"
"""Beginning of the note that answers the question after a step by "unknown"."""


@dataclass(frozen=True)
class Event:
    """One event of one train at one instant (UTC); `stage` is None when it concerns the whole train."""

    time: datetime
    kind: str
    stage: int | None = None
    detail: str = ""

    @property
    def ends_run(self) -> bool:
        return self.kind in INTERVENTIONS or self.kind == STEP
