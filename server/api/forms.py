"""What machines send: readings, each with its time and any of the quantities of the glossary.

They go through the same intake path as a file, so that the same checks hold for both.
"""

import csv
import io
from datetime import datetime
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field, model_validator

from analytics.quantities import COLUMNS

MOST_READINGS = 10_000
LONGEST_REMARK = 1_000
Value = Annotated[float, Field(allow_inf_nan=False)]


class SentReading(BaseModel):
    """One reading: `taken_at` with its offset, values in canonical units under the names of the columns."""

    model_config = ConfigDict(extra="forbid", str_max_length=LONGEST_REMARK)

    taken_at: Annotated[datetime, Field(description="ISO 8601; without an offset it is the clock of the site.")]
    values: dict[str, Value | None] = Field(description="By column, such as feed_pressure_bar; in its unit.")
    state: str = Field(default="", description="running, starting, stopped, or nothing for running.")
    remark: str = ""

    @model_validator(mode="after")
    def _known(self) -> "SentReading":
        unknown = [name for name in self.values if name not in COLUMNS]
        if unknown:
            raise ValueError(f"there is no column {unknown[0][:60]!r}")
        return self


class SentReadings(BaseModel):
    """Some readings of one train."""

    model_config = ConfigDict(extra="forbid")

    readings: list[SentReading] = Field(min_length=1, max_length=MOST_READINGS)


def as_log(sent: SentReadings) -> bytes:
    """The readings as a log in the canonical layout."""
    names = [name for name in COLUMNS if any(name in reading.values for reading in sent.readings)]
    text = io.StringIO()
    writer = csv.writer(text)
    writer.writerow(["time", *(f"{COLUMNS[name].name} [{COLUMNS[name].unit}]" for name in names), "state", "remark"])
    for reading in sent.readings:
        cells: list[Any] = [reading.values.get(name) for name in names]
        remark = "".join(sign if sign.isprintable() else " " for sign in reading.remark).strip()
        writer.writerow([reading.taken_at.isoformat(), *cells, reading.state, remark])
    return text.getvalue().encode("utf-8", "replace")
