"""Why a verdict differs from the one before it: settings, program, new readings, and what moved most."""

from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Any
from zoneinfo import ZoneInfo

from analytics.judgement.words import all_of
from server.assessments.levels import INDICATORS, level_of, scope_words
from server.assessments.models import PastAssessment
from server.display import day, number, sentence, uncapitalized
from server.plants.labels import setting_label

Settings = Mapping[int, Mapping[str, Any]]
MOST_SETTINGS = 3
"""Changed settings that are named one by one."""
FIRST = "The first verdict of this train."


def why_changed(past: Sequence[PastAssessment], settings: Settings, zone: ZoneInfo, *, whole: bool) -> list[str]:
    """One sentence for each verdict, newest first as they come; the oldest is the first one where all are there."""
    known = [_why(new, old, settings, zone) for new, old in pairwise(past)]
    return [*known, FIRST if whole else ""] if past else []


def _why(new: PastAssessment, old: PastAssessment, settings: Settings, zone: ZoneInfo) -> str:
    parts = [*_settings(new, old, settings)]
    if new.version != old.version:
        parts.append(f"program {new.version} in place of {old.version}")
    if new.as_of and old.as_of and new.as_of != old.as_of:
        parts.append(f"readings up to {day(new.as_of.astimezone(zone).date())}")
    if moved := _moved(new.figures, old.figures):
        parts.append(moved)
    before = f"Before: {uncapitalized(level_of(old.level).label)}. " if new.level != old.level else ""
    return f"{before}{sentence(all_of(parts))}." if parts else before.strip()


def _settings(new: PastAssessment, old: PastAssessment, settings: Settings) -> list[str]:
    if new.settings_id == old.settings_id or new.settings_id is None or old.settings_id is None:
        return []
    now, then = (flat(settings.get(one, {})) for one in (new.settings_id, old.settings_id))
    changed = [name for name in {**then, **now} if now.get(name) != then.get(name)]
    said = [
        f"{_label(name)} from {_said(then.get(name))} to {_said(now.get(name))}" for name in changed[:MOST_SETTINGS]
    ]
    more = len(changed) - MOST_SETTINGS
    return [*said, *([f"{number(more)} more settings"] if more > 0 else [])]


def _label(path: str) -> str:
    """A setting in the middle of a sentence; of a list, with its place there: "vessels of stage 2"."""
    above, _, name = path.rpartition(".")
    place = above.rpartition(".")[2]
    of = f" of {place}" if place[-1:].isdigit() and " " in place else ""
    return f"{uncapitalized(setting_label(name))}{of}"


def _said(value: Any) -> str:
    return "nothing" if value is None else f"{value:g}" if isinstance(value, float) else str(value)


def flat(document: Mapping[str, Any], path: str = "") -> dict[str, Any]:
    """A plant file as one table with its paths; the second of its stages is "train.stage 2"."""
    found: dict[str, Any] = {}
    for name, value in document.items():
        where = f"{path}.{name}" if path else name
        if isinstance(value, list) and value and all(isinstance(one, Mapping) for one in value):
            found |= flat({f"{where} {number}": one for number, one in enumerate(value, start=1)})
        else:
            found |= flat(value, where) if isinstance(value, Mapping) else {where: value}
    return found


def figure_name(key: str) -> str:
    """A figure that was kept as "stage1 permeate_flow", in words."""
    scope, _, name = key.partition(" ")
    return f"{sentence(INDICATORS.get(name, name.replace('_', ' ')))}, {scope_words(scope)}"


def _moved(new: Mapping[str, Sequence[float | None]], old: Mapping[str, Sequence[float | None]]) -> str:
    """The indicator that moved furthest, for the width of its interval."""
    moves = []
    for key in new.keys() & old.keys():
        (now, low, high), then = new[key], old[key][0]
        if now is not None and then is not None and low is not None and high is not None:
            moves.append((abs(now - then) / max(high - low, 1e-3), key, then, now))
    if not moves:
        return ""
    _, key, then, now = max(moves)
    if number(then, 2) == number(now, 2):
        return ""
    return f"{uncapitalized(figure_name(key))} from {number(then, 2)} to {number(now, 2)}"
