"""TOML that people hand in, read so that no text whatever breaks the reader."""

import tomllib
from typing import Any

from server.errors import FileProblem

MOST_BYTES = 1_000_000
DEEPEST = 40
"""Brackets within brackets that a plant file or a mapping could ever need, many times over."""


class NotToml(ValueError):
    """A text that is not TOML, or not such as anybody would write; the words say where."""


def decode_toml(content: bytes, *, file: str, what: str) -> str:
    """Turn the bytes of a file, such as "a plant file", into text (UTF-8, with or without byte-order mark).

    Raises
    ------
    FileProblem
        When it is too large, or no text.
    """
    if len(content) > MOST_BYTES:
        raise FileProblem(file, f"is too large for {what}", expected="at most 1 MB of TOML text")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise FileProblem(file, "is not text", expected=f"{what}, TOML in UTF-8") from error


def read_toml(text: str) -> dict[str, Any]:
    """The document of a text; raises `NotToml`.

    Examples
    --------
    >>> read_toml("a = [1, 2]")
    {'a': [1, 2]}
    """
    try:
        found = tomllib.loads(text)
        if _has_zero(found):
            raise NotToml("it holds the sign U+0000")
    except RecursionError as error:
        raise NotToml(f"it is nested deeper than {DEEPEST} levels") from error
    except NotToml:
        raise
    except ValueError as error:
        if isinstance(error, tomllib.TOMLDecodeError):
            raise NotToml(str(error)) from error
        raise NotToml("it holds a number that is too long") from error
    return found


def _has_zero(part: Any, depth: int = 0) -> bool:
    """Whether any words hold the sign with number 0, which not every database can keep."""
    if depth > DEEPEST:
        raise RecursionError
    if isinstance(part, dict):
        return any("\x00" in str(name) or _has_zero(value, depth + 1) for name, value in part.items())
    if isinstance(part, list):
        return any(_has_zero(value, depth + 1) for value in part)
    return isinstance(part, str) and "\x00" in part
