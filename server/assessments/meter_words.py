"""Meters in words: what each is called, and by how much it is off."""

from collections.abc import Mapping, Sequence
from typing import Any

from analytics.judgement.words import all_of
from analytics.quantities import QUANTITIES
from server.display import THIN, percent, sentence, signed, uncapitalized
from server.reader_words import in_reader_words

Entry = Mapping[str, Any]
"""One meter of a document; `reading_c` is not None where the bias is said in degrees."""


def meter_name(quantity: str) -> str:
    """A quantity as its meter is called: "Permeate flow"."""
    return QUANTITIES[quantity].label if quantity in QUANTITIES else sentence(quantity.replace("_", " "))


def in_question(meters: Sequence[Entry]) -> str:
    """The meters that may be off, inside a sentence.

    Examples
    --------
    >>> in_question([{"quantity": "feed_flow"}, {"quantity": "permeate_flow"}])
    'one of the meters of feed flow and permeate flow'
    """
    names = [uncapitalized(meter_name(one["quantity"])) for one in meters]
    return f"{names[0]} meter" if len(names) == 1 else f"one of the meters of {all_of(names)}"


def off_by(one: Entry, units: str, decimals: int = 1) -> str:
    """By how much a meter seems to read too high: per cent, of a thermometer the reader's degrees."""
    degrees = one.get("reading_c")
    if degrees is None:
        return percent(one["bias"], decimals)
    return in_reader_words(f"{signed(one['bias'] * degrees, 1)}{THIN}°C", units)


def off_between(one: Entry, units: str) -> str:
    """Between what that lies, 90 times in 100."""
    degrees = one.get("reading_c")
    if degrees is None:
        return f"{signed(100 * one['low'])} to {signed(100 * one['high'])}{THIN}%"
    low, high = (signed(one[end] * degrees, 1) for end in ("low", "high"))
    return in_reader_words(f"{low} to {high}{THIN}°C", units)
