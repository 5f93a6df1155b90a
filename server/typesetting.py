"""Where the lines of a page may break: never between a number and its unit.

Sentences come from many hands, with plain spaces, as the command line and the JSON answer give them. A finished page
is set here, at one place: what is read is held together, while attributes, scripts and fields keep what was typed.
"""

import re

_HOLD = "\u00a0"
_UNITS = (
    "%|°C|°F|bar|mbar|psi|m³/h|m³|gpm|gal|kgal|kWh|µS/cm|mg/L|mg·h/L|ppm·h|NTU|mV|kg|L|h|points?|days?|weeks?|months?|years?"
)  # fmt: skip
_MONTHS = "January|February|March|April|May|June|July|August|September|October|November|December"
_SPACES = re.compile(
    rf"([\delH]) (?:(?<=\d )(?=(?:{_UNITS})(?!\w)|(?:{_MONTHS})\b)"
    r"|(?:(?<=\b[Ss]tage )|(?<=\b[Vv]essel )|(?<=\bpH ))(?=\d))"
)
"""It begins with what may stand before such a space, as most spaces of a page only set its tags in."""
_KEPT = re.compile(r"<(script|style|textarea)\b")


def held_together(page: str) -> str:
    """Let no line of a finished page end between a number and its unit, a day and its month, a stage and its number.

    Examples
    --------
    >>> held_together('<p title="14.6 %">Up 14.6 % in stage 1</p><textarea>up 5 %</textarea>')
    '<p title="14.6 %">Up 14.6\u00a0% in stage\u00a01</p><textarea>up 5 %</textarea>'
    """
    parts, done = [], 0
    for start, end in [*_kept(page), (len(page), len(page))]:
        parts += [_SPACES.sub(_held, page[done:start]), page[start:end]]
        done = end
    return "".join(parts)


def _held(found: re.Match[str]) -> str:
    """The space of a text held together; that of a tag as it is."""
    place = found.start()
    inside_tag = found.string.rfind("<", 0, place) > found.string.rfind(">", 0, place)
    return found[0] if inside_tag else f"{found[1]}{_HOLD}"


def _kept(page: str) -> list[tuple[int, int]]:
    """Where scripts, styles and large fields stand."""
    spans = []
    for found in _KEPT.finditer(page):
        end = page.find(f"</{found[1]}>", found.start())
        spans.append((found.start(), len(page) if end < 0 else end))
    return [span for n, span in enumerate(spans) if not n or span[0] >= spans[n - 1][1]]
