"""docs/quantities.md, written from the glossary."""

from collections.abc import Iterable
from dataclasses import replace

from analytics.quantities import MAX_STAGES, QUANTITIES, SUFFIXES, Quantity
from analytics.units import units_of
from server.guard import ROOT

PAGE = ROOT / "docs" / "quantities.md"
WATERS = {"raw": "Raw water", "feed": "Feed", "permeate": "Permeate", "concentrate": "Concentrate", "plant": "Plant"}

INTRODUCTION = """# Quantities

Every quantity that a reading may hold. This page is written from `analytics/quantities.py`, the only list of them;
do not edit it, run `uv run python -m server.documents`. A test fails when it is out of date.

- **Name** is what a readings file has in its header, with the unit in brackets: `feed_pressure [psi]`. Without a
  unit, the unit of this page is meant.
- **Column** is the one name inside: form field, database column, DataFrame column, argument.
- Outside the **possible** range a value cannot be true and is set aside. Outside the **usual** range it is worth a
  question. Both are common practice for brackish water where no source is named.
- Pressures are gauge pressures. Conductivities are compensated to 25 degC.
- Two columns hold words: `state` (`running`, `starting` or `stopped`; nothing means running) and `remark`.
"""


def quantities_page() -> str:
    """The whole page, as Markdown."""
    train = [quantity for quantity in QUANTITIES.values() if quantity.stage is None]
    parts = [INTRODUCTION]
    for water, title in WATERS.items():
        parts.append(f"## {title}\n\n{_table(q for q in train if q.water == water)}")
    last = [
        replace(q, label=q.label.replace(str(MAX_STAGES), "N")) for q in QUANTITIES.values() if q.stage == MAX_STAGES
    ]
    rows = _table(last).replace(f"stage{MAX_STAGES}_", "stageN_")
    parts.append(
        f"## Of one stage\n\nN is the number of the stage along the water, 1 to {MAX_STAGES}. There is no "
        f"`stage1_feed_pressure`: that one is `feed_pressure`.\n\n{rows}"
    )
    parts.append(f"## Units\n\nWhat a header may say in brackets, for each unit of this page.\n\n{_units_table()}")
    return "\n".join(parts)


def _table(quantities: Iterable[Quantity]) -> str:
    lines = [
        "| name | column | unit | meaning | possible | usual |",
        "|---|---|---|---|---|---|",
        *(
            f"| `{q.name}` | `{q.column}` | {q.unit} | {q.label}. {q.meaning} "
            f"| {_range(q.possible)} | {_range(q.usual)} |"
            for q in quantities
        ),
    ]
    return "\n".join(lines) + "\n"


def _range(limits: tuple[float, float]) -> str:
    low, high = (f"{limit:,.15g}" for limit in limits)
    return f"{low} to {high}"


def _units_table() -> str:
    rows = (f"| {unit} | {', '.join(units_of(unit))} |" for unit in SUFFIXES)
    return "\n".join(["| unit | accepted |", "|---|---|", *rows]) + "\n"
