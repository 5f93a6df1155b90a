"""Mappings: how the headers, times and gaps of a foreign log are to be read.

```toml
[file]                        # optional
encoding = "utf-8"
delimiter = ";"
decimal = ","
sheet = "Log"
skip_rows = 2
missing = ["Bad", "No data"]  # cells without a value, beside the usual ones

[time]
column = "Date"
format = "%d.%m.%Y %H:%M"     # optional, ISO 8601 when absent
timezone = "Europe/Lisbon"    # optional, that of the site when absent

[columns]
"RO-1 inlet press." = "feed_pressure [psi]"

[constants]
"permeate_pressure [psi]" = 20
```
"""

import codecs
import difflib
import math
from dataclasses import dataclass, field
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from server.errors import FileProblem
from server.intake.headers import TIME, WORDS, Header, UnknownQuantity, WrongUnit, parse_header
from server.intake.sheet import Layout
from server.toml_text import NotToml, read_toml

MAX_MAPPING_BYTES = 1_000_000


@dataclass(frozen=True)
class Constant:
    """A value that the log does not hold because it never changes, in the unit of its header."""

    header: Header
    value: float


@dataclass(frozen=True)
class FileMapping:
    """How one layout of log is to be read; `columns` maps its headers to `quantity [unit]`, `state` or `remark`."""

    time_column: str
    columns: dict[str, str]
    time_format: str = ""
    zone: ZoneInfo | None = None
    constants: tuple[Constant, ...] = ()
    layout: Layout = field(default_factory=Layout)


def decode_mapping(content: bytes, *, file: str) -> str:
    """Turn the bytes of a mapping file into text (UTF-8, with or without byte-order mark)."""
    if len(content) > MAX_MAPPING_BYTES:
        raise FileProblem(file, "is too large for a mapping", expected="at most 1 MB of TOML text")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise FileProblem(file, "is not text", expected="a mapping, TOML in UTF-8") from error


def mapping_from_text(text: str, *, file: str) -> FileMapping:
    """Build a mapping from the text of its file.

    Raises
    ------
    FileProblem
        With the line of a slip in the TOML, or the key at fault.
    """
    try:
        data = read_toml(text)
    except NotToml as error:
        raise FileProblem(file, f"is not valid TOML: {error}") from error
    _only_keys(data, ("file", "time", "columns", "constants"), "", file)
    clock = _table(data, "time", file)
    _only_keys(clock, ("column", "format", "timezone"), "time.", file)
    columns = _columns(_table(data, "columns", file), file)
    constants = _constants(_table(data, "constants", file), set(columns.values()), file)
    return FileMapping(
        time_column=_text(clock, "column", "time.column", file, default=TIME),
        columns=columns,
        time_format=_text(clock, "format", "time.format", file),
        zone=_zone(_text(clock, "timezone", "time.timezone", file), file),
        constants=constants,
        layout=_layout(_table(data, "file", file), file),
    )


def _columns(given: dict[str, Any], file: str) -> dict[str, str]:
    if not given:
        raise FileProblem(file, "[columns] is missing", expected='lines such as "Feed psi" = "feed_pressure [psi]"')
    columns: dict[str, str] = {}
    meant: dict[str, str] = {}
    for theirs, ours in given.items():
        if not isinstance(ours, str):
            raise FileProblem(
                file, f'columns."{theirs}": found {ours!r}', expected='text such as "feed_pressure [psi]"'
            )
        name = ours if ours in WORDS else _header(ours, f'columns."{theirs}"', file).quantity.name
        if name in meant:
            raise FileProblem(file, f'columns: "{meant[name]}" and "{theirs}" both stand for {name}')
        meant[name] = theirs
        columns[theirs.strip()] = ours
    return columns


def _constants(given: dict[str, Any], taken: set[str], file: str) -> tuple[Constant, ...]:
    names = {parse_header(text).quantity.name for text in taken if text not in WORDS}
    constants = []
    for text, value in given.items():
        header = _header(text, f'constants."{text}"', file)
        if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
            raise FileProblem(file, f'constants."{text}": found {value!r}', expected="a number")
        if header.quantity.name in names:
            raise FileProblem(file, f'constants."{text}": {header.quantity.name} is a column or constant already')
        names.add(header.quantity.name)
        constants.append(Constant(header, float(value)))
    return tuple(constants)


def _header(text: str, key: str, file: str) -> Header:
    try:
        return parse_header(text)
    except UnknownQuantity as error:
        near = f"; {error}?" if str(error) else ""
        raise FileProblem(file, f'{key}: "{text}" names no quantity known here{near}') from error
    except WrongUnit as error:
        raise FileProblem(file, f'{key}: the unit of "{text}" does not fit', expected=str(error)) from error


def _layout(given: dict[str, Any], file: str) -> Layout:
    _only_keys(given, ("encoding", "delimiter", "decimal", "sheet", "skip_rows", "missing"), "file.", file)
    layout = Layout(
        encoding=_text(given, "encoding", "file.encoding", file, default="utf-8").lower(),
        delimiter=_text(given, "delimiter", "file.delimiter", file),
        decimal=_text(given, "decimal", "file.decimal", file, default="."),
        sheet=_text(given, "sheet", "file.sheet", file),
        skip_rows=_whole(given, "skip_rows", file),
        missing=_words(given, "missing", file),
    )
    try:
        codecs.lookup(layout.encoding)
    except LookupError:
        raise FileProblem(
            file, f'file.encoding: "{layout.encoding}" is not an encoding', expected='a name such as "cp1252"'
        ) from None
    for key, most in (("delimiter", 1), ("decimal", 1)):
        if len(getattr(layout, key)) > most:
            raise FileProblem(file, f'file.{key}: found "{getattr(layout, key)}"', expected="one character")
    if layout.decimal == layout.delimiter or not layout.decimal:
        raise FileProblem(file, "file.decimal: found the delimiter or nothing", expected='"." or ","')
    return layout


def _zone(name: str, file: str) -> ZoneInfo | None:
    if not name:
        return None
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise FileProblem(
            file, f'time.timezone: "{name}" is not a time zone', expected="a name like Europe/Lisbon"
        ) from None


def _table(data: dict[str, Any], key: str, file: str) -> dict[str, Any]:
    value = data.get(key, {})
    if not isinstance(value, dict):
        raise FileProblem(file, f"{key}: found {value!r}", expected=f"a table [{key}]")
    return value


def _text(data: dict[str, Any], key: str, path: str, file: str, *, default: str = "") -> str:
    value = data.get(key, default)
    if not isinstance(value, str):
        raise FileProblem(file, f"{path}: found {value!r}", expected="text in quotation marks")
    return value


def _whole(data: dict[str, Any], key: str, file: str) -> int:
    value = data.get(key, 0)
    if isinstance(value, bool) or not isinstance(value, int) or value < 0:
        raise FileProblem(file, f"file.{key}: found {value!r}", expected="a whole number, 0 or more")
    return value


def _words(data: dict[str, Any], key: str, file: str) -> tuple[str, ...]:
    value = data.get(key, [])
    if not isinstance(value, list) or not all(isinstance(word, str) for word in value):
        raise FileProblem(file, f"file.{key}: found {value!r}", expected='a list of words such as ["Bad"]')
    return tuple(value)


def _only_keys(data: dict[str, Any], known: tuple[str, ...], path: str, file: str) -> None:
    for key in data:
        if key not in known:
            near = difflib.get_close_matches(key, known, n=1)
            hint = f'; did you mean "{near[0]}"?' if near else f" (known: {', '.join(known)})"
            raise FileProblem(file, f"{path}{key}: not a key known here{hint}")
