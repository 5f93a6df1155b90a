"""Sentences of the science, which speaks in canonical units, with their measures in the reader's.

Steps of temperature ("2.4 °C low", "−1.3 to +1.2 °C", "6 degC colder") are told from temperatures by what stands
around them: 6 degC more are 11 °F more, at 6 degC it is 43 °F.
"""

import re
from collections.abc import Mapping
from typing import Any

from analytics.units import display_unit, from_canonical
from server.display import MINUS, THIN, number, unit_symbol

_SIZE = rf"[+{MINUS}]?\d+(?:\.\d+)?"
_MEASURES = re.compile(
    rf"(?<![\w.])(?P<first>{_SIZE})(?P<between> (?:to|against) )?(?(between)(?P<second>{_SIZE}))"
    rf"[ {THIN}](?P<unit>degC|°C|bar|m3/h|m3|uS/cm)(?![\w/])"
    r"(?P<step>(?=\)?(?: \([^()]*\))? (?:low|high|colder|warmer|above|below)\b))?"
)
_CANONICAL = {"°C": "degC"}
_FEWEST_FIGURES, _MOST_FIGURES = 2, 3


def in_reader_words(text: str, units: str) -> str:
    """Write the measures of a sentence in the reader's units.

    Examples
    --------
    >>> in_reader_words("pH 12.5 at 40 degC, at most 4 bar.", "US")
    'pH 12.5 at 104\u202f°F, at most 58\u202fpsi.'
    >>> in_reader_words("water 6 degC colder, 48.0 against 44.9 m3/h", "US")
    'water 11\u202f°F colder, 211 against 198\u202fgpm'
    >>> in_reader_words("it reads 2.4 °C low", "SI")
    'it reads 2.4\u202f°C low'
    """
    return _MEASURES.sub(lambda found: _measure(found, units), text)


def _measure(found: re.Match[str], units: str) -> str:
    canonical = _CANONICAL.get(found["unit"], found["unit"])
    unit = display_unit(canonical, units)
    sizes = [text for text in (found["first"], found["second"]) if text]
    if unit != canonical:
        step = found["step"] is not None or any(text[0] in f"+{MINUS}" for text in sizes)
        sizes = [_converted(text, canonical, unit, step=step and canonical == "degC") for text in sizes]
    return f"{(found['between'] or '').join(sizes)}{THIN}{unit_symbol(unit)}"


def _converted(text: str, canonical: str, unit: str, *, step: bool) -> str:
    """One number in another unit with as many figures, two or three; a step of a temperature with as many decimals."""
    value = float(text.replace(MINUS, "-"))
    zero = float(from_canonical(0.0, canonical, unit)) if step else 0.0
    value = float(from_canonical(value, canonical, unit)) - zero
    whole = len(f"{abs(value):.0f}") if abs(value) >= 1 else 1
    figures = min(max(sum(digit.isdigit() for digit in text), _FEWEST_FIGURES), _MOST_FIGURES)
    decimals = len(text.partition(".")[2]) if step else max(figures - whole, 0)
    return f"{'+' if text.startswith('+') else ''}{number(value, decimals)}"


def retold(document: Mapping[str, Any], units: str) -> dict[str, Any]:
    """Write all sentences of an answer as it was kept in the reader's units; its numbers stay canonical."""
    return {key: _retold(value, units) for key, value in document.items()}


def _retold(kept: Any, units: str) -> Any:
    if isinstance(kept, str):
        return in_reader_words(kept, units)
    if isinstance(kept, list):
        return [_retold(one, units) for one in kept]
    return retold(kept, units) if isinstance(kept, dict) else kept
