"""Frozen records from the tables of a settings file, with every complaint naming the path of its key."""

import dataclasses
import difflib
import math
import types
import typing
from collections.abc import Mapping
from datetime import date
from typing import Any, Literal

from analytics.errors import InvalidSettings


def table(data: Mapping[str, Any], key: str, path: str) -> Mapping[str, Any]:
    """The table under a key, or a complaint that it is missing."""
    value = data.get(key)
    where = f"{path}.{key}" if path else key
    if value is None:
        raise InvalidSettings(f"{where}: the table [{where}] is missing")
    if not isinstance(value, Mapping):
        raise InvalidSettings(f"{where}: expected a table, found {value!r}")
    return value


def only_keys(data: Mapping[str, Any], known: set[str], path: str) -> None:
    """Complain about a key that nothing reads, with the nearest one that is."""
    for key in data:
        if key not in known:
            near = difflib.get_close_matches(key, known, n=1)
            hint = f'; did you mean "{near[0]}"?' if near else f" (known: {', '.join(sorted(known))})"
            raise InvalidSettings(f"{path + '.' if path else ''}{key}: not a key known here{hint}")


def build(kind: type, data: Mapping[str, Any], path: str) -> Any:
    """A frozen dataclass from a table: no key unknown, none missing, each of its annotated type.

    Raises
    ------
    InvalidSettings
        With the path of the key and what was expected.
    """
    hints = typing.get_type_hints(kind)
    known = {f.name: f for f in dataclasses.fields(kind)}
    only_keys(data, set(known), path)
    for name, entry in known.items():
        required = entry.default is dataclasses.MISSING and entry.default_factory is dataclasses.MISSING
        if required and name not in data:
            raise InvalidSettings(f"{path}.{name}: missing")
    return kind(**{key: _checked(value, hints[key], f"{path}.{key}") for key, value in data.items()})


def _checked(value: Any, hint: Any, path: str) -> Any:
    """Return the value as its annotated type, or raise with its path."""
    options = typing.get_args(hint) if isinstance(hint, types.UnionType) else (hint,)
    for option in options:
        origin = typing.get_origin(option)
        if origin is Literal:
            if value in typing.get_args(option):
                return value
            raise InvalidSettings(f'{path}: "{value}" is not one of {", ".join(map(str, typing.get_args(option)))}')
        if origin is tuple:
            return value
        if option is float:
            if isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value):
                return float(value)
            continue
        if option is date:
            return _date(value, path)
        if isinstance(option, type) and isinstance(value, option) and not (option is int and isinstance(value, bool)):
            return value
    names = {float: "a number", int: "a whole number", str: "text", bool: "true or false"}
    expected = " or ".join(names.get(o, getattr(o, "__name__", str(o))) for o in options if o is not type(None))
    raise InvalidSettings(f"{path}: expected {expected}, found {value!r}")


def _date(value: Any, path: str) -> date:
    if isinstance(value, date):
        return date(value.year, value.month, value.day)
    try:
        return date.fromisoformat(str(value))
    except ValueError as error:
        raise InvalidSettings(f'{path}: expected a date like "2026-01-05", found {value!r}') from error
