"""How the headers, times and gaps of a foreign log are to be read; the text of a mapping is read by `mapping_text`."""

from dataclasses import dataclass, field
from zoneinfo import ZoneInfo

from server.intake.headers import Header
from server.intake.moments import Order
from server.intake.sheet import Layout
from server.intake.spaced import SPACES
from server.intake.times import ISO_TIME


@dataclass(frozen=True)
class Constant:
    """A value that the log does not hold because it never changes, in the unit of its header."""

    header: Header
    value: float


@dataclass(frozen=True)
class LongTable:
    """Columns of a log with one row for each tag and time."""

    tag: str
    value: str
    quality: str = ""
    unit: str = ""


@dataclass(frozen=True)
class FileMapping:
    """How one layout of log is to be read; `columns` maps its headers to `quantity [unit]`, `state` or `remark`."""

    time_column: str
    columns: dict[str, str]
    time_format: str = ""
    zone: ZoneInfo | None = None
    constants: tuple[Constant, ...] = ()
    layout: Layout = field(default_factory=Layout)
    clock_column: str = ""
    order: Order | None = None
    carried: bool = False
    states: dict[str, str] = field(default_factory=dict)
    only: dict[str, str] = field(default_factory=dict)
    year: int = 0
    shifts: dict[str, str] = field(default_factory=dict)
    qualities: dict[str, str] = field(default_factory=dict)
    long: LongTable | None = None
    half_column: str = ""
    month_column: str = ""
    year_column: str = ""
    months: tuple[str, ...] = ()
    exchanged: bool = False
    minute_column: str = ""
    noon_by_order: bool = False
    day: str = ""

    @property
    def time_columns(self) -> tuple[str, ...]:
        """All columns that say when, by their headers."""
        columns = (
            self.time_column,
            self.clock_column,
            self.half_column,
            self.month_column,
            self.year_column,
            self.minute_column,
        )
        return tuple(column for column in columns if column)

    @property
    def tolerant(self) -> bool:
        """Whether this asks for anything that only the tolerant reader does."""
        layout = self.layout
        asked = (
            layout.tolerant, layout.thousands, layout.sheets, layout.header_rows != 1, layout.skip_below,
            self.clock_column, self.order, self.carried, self.states, self.only, self.long, layout.sideways,
            self.year, layout.delimiter == SPACES, self.half_column, self.month_column, self.months,
            self.qualities, layout.dates_above, layout.across, self.noon_by_order, self.day, self.exchanged,
            layout.parts, layout.trains_above,
        )  # fmt: skip
        return any(asked)

    @property
    def time_words(self) -> str:
        """What a cell with a time should hold, for messages."""
        if self.time_format:
            return f'a time written as "{self.time_format}"'
        if self.order is None:
            return ISO_TIME
        examples = {
            "day first": "31.12.2026 14:05",
            "month first": "12/31/2026 14:05",
            "year first": "2026-12-31 14:05",
        }
        return f"a date or time with the {self.order}, such as {examples[self.order]}"
