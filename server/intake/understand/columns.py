"""What each column is: from its name, its values, what the train usually shows, and its neighbours."""

import re
import statistics
from collections.abc import Mapping, Sequence
from dataclasses import replace

from analytics.quantities import QUANTITIES
from server.intake.numerals import Marks
from server.intake.rows import Cell
from server.intake.understand.column_units import system_of, with_unit
from server.intake.understand.drafts import Draft, draft_of
from server.intake.understand.meaning import Meaning, left_out, meaning_of
from server.intake.understand.neighbours import by_neighbours
from server.intake.understand.same_quantity import each_once
from server.intake.understand.states import says_little, state_words
from server.intake.understand.trains import own_number
from server.intake.understand.understanding import FoundColumn, Known
from server.intake.yearless import is_date

_LETTER = re.compile(r"(?<![\w./-])([A-H])(?![\w./-])")
_LONG_TEXT = 8
"""Mean length of the texts of a column that holds remarks."""


def find_columns(
    columns: Mapping[str, Sequence[Cell]], known: Known, marks: Marks, units: Mapping[str, str] | None = None
) -> tuple[FoundColumn, ...]:
    """What each column is.

    Parameters
    ----------
    columns
        Cells by header, of a sample of rows; the columns of times are not among them.
    units
        Unit by header, where it stands in a column of its own.
    """
    drafts = [draft_of(name, cells, marks, (units or {}).get(name, "")) for name, cells in columns.items()]
    stages = known.stages or max((draft.facets.stage for draft in drafts), default=0)
    drafts = [replace(draft, meaning=_meaning(draft, stages)) for draft in drafts]
    drafts = _of_this_train(_owned_by_letters(drafts, known.train), known.train)
    found = by_neighbours({d.name: d.numbers for d in drafts if _is_open(d)}, _measures(drafts), _taken(drafts))
    drafts = [replace(d, meaning=found.get(d.name, d.meaning)) for d in drafts]
    drafts = _one_remark(drafts)
    system = system_of(drafts, known)
    return tuple(each_once(drafts, [with_unit(draft, known, system) for draft in drafts]))


def _meaning(draft: Draft, stages: int) -> Meaning:
    found = meaning_of(draft.facets, stages)
    mostly_text = len(draft.texts) > len(draft.numbers)
    if not draft.numbers and not draft.texts:
        return left_out("it is empty") if found.name in {"", "state", "remark"} else found
    if found.name == "state" and not mostly_text and not set(draft.numbers) <= {0.0, 1.0, 2.0}:
        return Meaning("", "unknown", "its name says state, but it holds numbers")
    if found.name in QUANTITIES and mostly_text:
        words = state_words(draft.texts)
        if words and all(words.values()):
            return Meaning("state", "likely", "it holds nothing but words for running and stopped")
        return Meaning("", "unknown", f'it holds texts such as "{draft.texts[0][:30]}", not numbers')
    if not found.name and found.confidence == "unknown" and mostly_text:
        words = state_words(draft.texts)
        if words and all(words.values()) and not says_little(words):
            return Meaning("state", "likely", "it holds nothing but words for running and stopped")
        if sum(is_date(text) for text in draft.texts) > 0.5 * len(draft.texts):
            return Meaning("", "unknown", "it holds dates; the times are taken from another column")
        if statistics.mean(len(text) for text in draft.texts) >= _LONG_TEXT:
            return Meaning("remark", "guess", "it holds texts")
    return found


def _owned_by_letters(drafts: list[Draft], train: str) -> list[Draft]:
    """Where the train is called by a letter, columns whose names are alike but for such a letter are of trains."""
    own = (train.split() or [""])[-1]
    letters = {draft.name: found[1] for draft in drafts if (found := _LETTER.search(draft.name))}
    bases = {name: _LETTER.sub("", name, count=1) for name in letters}
    rivals = {name for name, letter in letters.items() if letter != own and own in
              {letters[other] for other in letters if bases[other] == bases[name]}}  # fmt: skip
    owned = rivals | {name for name in letters if letters[name] == own and rivals}
    return [
        replace(d, facets=replace(d.facets, owner=letters[d.name].lower())) if d.name in owned else d for d in drafts
    ]


def _of_this_train(drafts: list[Draft], train: str) -> list[Draft]:
    """In a file of several trains, leave out the columns of the others."""
    owners = {draft.facets.owner for draft in drafts if draft.facets.owner}
    if len(owners) < 2:
        return drafts
    ours = own_number(train, owners)
    named = {owner: next(d.name for d in drafts if d.facets.owner == owner) for owner in sorted(owners)}
    kept = []
    for draft in drafts:
        owner = draft.facets.owner
        if not owner and draft.meaning.name and "total_word" in draft.facets.kinds:
            draft = replace(draft, meaning=left_out(f"it is a total of several trains ({_listed(named)})"))
        elif owner and ours and owner != ours:
            draft = replace(draft, meaning=left_out(f'it belongs to another train, as "{named[owner]}" does'))
        elif owner and not ours and draft.meaning.name and owner != min(owners):
            draft = replace(draft, meaning=Meaning("", "guess", f"the file holds several trains ({_listed(named)})"))
        kept.append(draft)
    return kept


def _listed(named: Mapping[str, str]) -> str:
    return ", ".join(f'"{name}"' for name in named.values())


def _is_open(draft: Draft) -> bool:
    facets = draft.facets
    nothing = not facets.places and not facets.stage and draft.meaning.confidence == "unknown"
    return nothing and facets.measure in {"flow", "pressure", "conductivity"} and len(draft.numbers) > 0


def _measures(drafts: list[Draft]) -> dict[str, str]:
    return {draft.name: draft.facets.measure for draft in drafts}


def _taken(drafts: list[Draft]) -> dict[str, tuple[float, ...]]:
    return {draft.meaning.name: draft.numbers for draft in drafts if draft.meaning.name}


def _one_remark(drafts: list[Draft]) -> list[Draft]:
    """A guess at a remark holds only where no other column is named so."""
    named = [d for d in drafts if d.meaning.name == "remark" and d.meaning.confidence == "sure"]
    guessed = [d for d in drafts if d.meaning.name == "remark" and d.meaning.confidence != "sure"]
    losers = {d.name for d in (guessed if named else guessed[1:])}
    away = Meaning("", "unknown", "it holds texts, and another column holds the remarks")
    return [replace(d, meaning=away) if d.name in losers else d for d in drafts]
