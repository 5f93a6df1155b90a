"""Values of a mapping file, each checked for its kind: a slip names its key, what was found and what is accepted."""

import difflib
from typing import Any

from server.errors import FileProblem


def sub_table(data: dict[str, Any], key: str, file: str) -> dict[str, Any]:
    """The table under a key, empty where there is none."""
    value = data.get(key, {})
    if not isinstance(value, dict):
        raise FileProblem(file, f"{key}: found {value!r}", expected=f"a table [{key}]")
    return value


def text_at(data: dict[str, Any], key: str, path: str, file: str, *, default: str = "") -> str:
    """The text under a key."""
    value = data.get(key, default)
    if not isinstance(value, str):
        raise FileProblem(file, f"{path}: found {value!r}", expected="text in quotation marks")
    return value


def yes_at(data: dict[str, Any], key: str, path: str, file: str) -> bool:
    """The truth value under a key, false where there is none."""
    value = data.get(key, False)
    if not isinstance(value, bool):
        raise FileProblem(file, f"{path}: found {value!r}", expected="true or false")
    return value


def whole_at(data: dict[str, Any], key: str, file: str, *, default: int = 0, where: str = "file") -> int:
    """The whole number under a key."""
    value = data.get(key, default)
    if isinstance(value, bool) or not isinstance(value, int) or value < 0:
        raise FileProblem(file, f"{where}.{key}: found {value!r}", expected="a whole number, 0 or more")
    return value


def words_at(data: dict[str, Any], key: str, file: str, *, where: str = "file") -> tuple[str, ...]:
    """The list of words under a key."""
    value = data.get(key, [])
    if not isinstance(value, list) or not all(isinstance(word, str) for word in value):
        raise FileProblem(file, f"{where}.{key}: found {value!r}", expected='a list of words such as ["Bad"]')
    return tuple(value)


def only_keys(data: dict[str, Any], known: tuple[str, ...], path: str, file: str) -> None:
    """Refuse a key that is not known, with the nearest that is."""
    for key in data:
        if key not in known:
            near = difflib.get_close_matches(key, known, n=1)
            hint = f'; did you mean "{near[0]}"?' if near else f" (known: {', '.join(known)})"
            raise FileProblem(file, f"{path}{key}: not a key known here{hint}")
