"""What one awkward table is in a test: its bytes, its quirks by name, and what must come out of it."""

from dataclasses import dataclass, field
from datetime import UTC, datetime

from server.intake.understand.compile import Corrections
from server.intake.understand.understanding import Choices, Known

# NIST Special Publication 811 (2008), appendix B.8: bar of a psi, m3/h of a US gallon per minute
PSI, GPM = 0.06894757, 0.2271247
LATEST = datetime(2026, 2, 1, tzinfo=UTC)


@dataclass(frozen=True)
class Awkward:
    """One invented table.

    Attributes
    ----------
    quirks
        Everything about it that is not as it should be.
    rows
        Some of the readings, by local time: values by column in canonical units, `state`, `remark`.
    count
        How many readings come out.
    asks
        A part of each question that must be asked; what a person then says stands in `says` and `layout`.
    refused
        The sentence with which the whole file is refused.
    unreadable
        The sentence with which it is refused when it is read as it was understood.
    problems
        Cells that cannot be used: row, column, and a part of the sentence.
    notes
        Parts of what must be told.
    """

    name: str
    quirks: str
    content: str | bytes
    rows: dict[str, dict[str, float | str]] = field(default_factory=dict)
    count: int | None = None
    asks: tuple[str, ...] = ()
    says: Corrections = field(default_factory=Corrections)
    layout: Choices = field(default_factory=Choices)
    refused: str = ""
    unreadable: str = ""
    problems: tuple[tuple[int, str, str], ...] = ()
    notes: tuple[str, ...] = ()
    columns: dict[str, str] = field(default_factory=dict)
    zone: str = "Europe/Lisbon"
    stages: int = 2
    units: str = "SI"
    train: str = "RO 1"
    usual: dict[str, float] = field(default_factory=dict)
    file: str = "log.csv"

    @property
    def known(self) -> Known:
        return Known(
            timezone=self.zone, stages=self.stages, units=self.units, train=self.train, usual=self.usual, latest=LATEST
        )

    @property
    def data(self) -> bytes:
        return self.content.encode() if isinstance(self.content, str) else self.content
