"""What an engineer enters to lay a shift log out: the order of the fields, and of each its tag, unit, and whether it is
asked for."""

from collections.abc import Iterable, Mapping
from dataclasses import replace

from analytics.quantities import COLUMNS
from analytics.units import units_of
from server.shift.layout import LONGEST_TAG, LogField

UP, DOWN = "up:", "down:"


def laid_out_anew(
    fields: Iterable[LogField], order: list[str], sent: Mapping[str, str], walk: list[str]
) -> tuple[LogField, ...]:
    """The fields in the order in which they came back, with what was entered; those that did not come stay last.

    A field that was not asked for before takes its place of the walk. A button that moves one field comes as `move` =
    "up:COLUMN" or "down:COLUMN".
    """
    known = {field.column: field for field in fields}
    wanted = [name for name in dict.fromkeys(order) if name in known]
    _move(wanted, sent.get("move", ""))
    changed = {name: _changed(known[name], sent) for name in wanted}
    asked = [name for name in wanted if not changed[name].hidden and not known[name].hidden]
    for name in walk:
        if name in changed and known[name].hidden and not changed[name].hidden:
            after = set(walk[walk.index(name) + 1 :])
            place = next((n for n, other in enumerate(asked) if other in after), len(asked))
            asked.insert(place, name)
    rest = [name for name in known if name not in asked]
    return tuple(changed.get(name, known[name]) for name in (*asked, *rest))


def _changed(field: LogField, sent: Mapping[str, str]) -> LogField:
    name = field.column
    unit = sent.get(f"unit.{name}", field.unit)
    return replace(
        field,
        tag=sent.get(f"tag.{name}", "").strip()[:LONGEST_TAG],
        unit=unit if unit in units_of(COLUMNS[name].unit) else field.unit,
        hidden=f"ask.{name}" not in sent,
    )


def _move(names: list[str], move: str) -> None:
    """Swap one field with the one before or after it."""
    name = move.partition(":")[2]
    if name not in names or not move.startswith((UP, DOWN)):
        return
    place = names.index(name)
    other = place + (-1 if move.startswith(UP) else 1)
    if 0 <= other < len(names):
        names[place], names[other] = names[other], names[place]
