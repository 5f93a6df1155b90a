"""A file of several trains: which of its sheets, columns and rows belong to this one, or that a person must say."""

from collections.abc import Iterable, Mapping, Sequence

from server.intake.header_rows import cell_text
from server.intake.rows import Cell
from server.intake.understand.facets import facets_of
from server.intake.understand.words import words_of

TRAIN_WORDS = frozenset(("train", "skid", "unit", "ro", "line", "rack", "anlage", "strasse"))
NUMBER_WORDS = frozenset(("no", "id", "name", "number", "nr", "osmosis", "above"))
MOST_TRAINS = 20


def owner_of(name: str) -> str:
    """The number or letter of the train that a name names, or nothing."""
    return facets_of(f"{name} x").owner


def own_number(train: str, owners: set[str]) -> str:
    """Which of the numbers or letters of trains in a file is that of this train; "" where none is."""
    own = owner_of(train) or (train.split()[-1].lower().lstrip("0") if train.split() else "")
    return own if own in owners else ""


def trains_named(names: Iterable[str], train: str, *, whole: bool = False) -> tuple[str, ...]:
    """Trains that some names name, where there are several and none of them is this one; by their `whole` names."""
    owners = {owner: name for name in names if (owner := owner_of(name))}
    if len(owners) < 2 or own_number(train, set(owners)):
        return ()
    return tuple(sorted(name if whole else owner.upper() for owner, name in owners.items()))


def rows_of_train(cells: Mapping[str, Sequence[Cell]], train: str) -> tuple[str, str, tuple[str, ...]] | None:
    """A column that names the train of each row, the value of this one ("" where none is), and all values."""
    for name, column in cells.items():
        values = {cell_text(cell) for cell in column if cell is not None}
        words = set(words_of(name))
        if 2 <= len(values) <= MOST_TRAINS and words & TRAIN_WORDS and words <= TRAIN_WORDS | NUMBER_WORDS:
            owners = {owner_of(value) or value.lower() for value in values}
            ours = own_number(train, owners)
            match = [value for value in values if ours and (owner_of(value) or value.lower()) == ours]
            exact = [value for value in values if value.casefold() == train.casefold()]
            chosen = exact or match
            return name, chosen[0] if len(chosen) == 1 else "", tuple(sorted(values))
    return None
