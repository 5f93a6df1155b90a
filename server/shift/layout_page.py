"""The page on which an engineer lays the shift log of a train out, as typed values."""

from collections.abc import Iterable
from dataclasses import dataclass

from analytics.quantities import COLUMNS
from analytics.units import units_of
from server.display import unit_symbol
from server.plants.models import Train
from server.shift.layout import LogField
from server.templating import Frame


@dataclass(frozen=True)
class LayoutRow:
    """One field as it stands: `units` are those that its gauge may have."""

    name: str
    label: str
    area: str
    tag: str
    unit: str
    units: tuple[tuple[str, str], ...]
    asked: bool


@dataclass(frozen=True)
class LayoutPage:
    """All fields of a train in the order in which they are asked for."""

    frame: Frame
    site: str
    train: str
    train_id: int
    rows: tuple[LayoutRow, ...]
    others: tuple[LayoutRow, ...]


def layout_page(frame: Frame, train: Train, fields: Iterable[LogField]) -> LayoutPage:
    """Put the page together: what is asked for in its order, then everything else that could be."""
    rows = [
        LayoutRow(
            field.column, COLUMNS[field.column].label, field.area, field.tag, field.unit,
            tuple((unit, unit_symbol(unit) or "no unit") for unit in units_of(COLUMNS[field.column].unit)),
            not field.hidden,
        )
        for field in fields
    ]  # fmt: skip
    asked, others = (tuple(row for row in rows if row.asked is wanted) for wanted in (True, False))
    return LayoutPage(frame, train.site.name, train.name, train.id, asked, others)
