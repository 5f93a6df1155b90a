"""Read the cells of a long CSV file part by part: the parser needs three times the room of what it has in hand.

What comes out is what reading it as a whole gives, with every number as float64. Where anything is to be said about
the file, nothing comes out, and reading it as a whole says it.
"""

import io
from collections.abc import Iterable, Iterator
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

LONG_BYTES = 20_000_000
"""From here on a file is read in parts: some 200,000 rows."""
PART_ROWS = 50_000


def read_in_parts(content: bytes, width: int, texts: Iterable[int], options: dict[str, Any]) -> pd.DataFrame | None:
    """Read the cells, in columns numbered from 0.

    Parameters
    ----------
    content
        The file in UTF-8.
    width
        How many columns have a header; `options` name one more.
    texts
        Columns that stay text, whatever they hold.
    options
        What `pandas.read_csv` is told, all but the kinds of the columns.

    Returns
    -------
    The cells; None where a row has too many, a quotation mark stays open, or a column holds words for yes and no or
    whole numbers beyond 9e18.
    """
    texts = set(texts)
    try:
        found = _numbers_and_texts(content, width, texts, options)
        if isinstance(found, set):  # these hold words somewhere, so all their cells are text
            found = _numbers_and_texts(content, width, texts | found, options)
    except (pd.errors.EmptyDataError, pd.errors.ParserError, ValueError):
        return None
    return None if isinstance(found, set) else found


def _numbers_and_texts(
    content: bytes, width: int, texts: set[int], options: dict[str, Any]
) -> pd.DataFrame | set[int] | None:
    """The cells, or the further columns that hold text."""
    rows = content.count(b"\n") + 1
    numbers: dict[int, npt.NDArray[np.float64]] = {n: np.empty(rows) for n in range(width) if n not in texts}
    words: dict[int, list[pd.Series[Any]]] = {n: [] for n in texts}
    wordy: set[int] = set()
    end = 0
    for part in _parts(content, texts, options):
        start, end = end, end + len(part)
        kinds = {number: part[number].dtype.kind for number in numbers}
        if end > rows or {"b", "u"} & set(kinds.values()) or part[width].notna().any():
            return None
        wordy |= {number for number, kind in kinds.items() if kind not in "if"}
        if wordy:
            continue
        for number, values in numbers.items():
            values[start:end] = part[number]
        for number, cells in words.items():
            cells.append(part[number])
    if wordy:
        return wordy
    columns: dict[int, Any] = {number: values[:end] for number, values in numbers.items()}
    columns |= {number: pd.concat(cells, ignore_index=True) for number, cells in words.items()}
    return pd.DataFrame({number: columns[number] for number in range(width)}, copy=False)


def _parts(content: bytes, texts: set[int], options: dict[str, Any]) -> Iterator[pd.DataFrame]:
    kinds = dict.fromkeys(texts, str)
    with pd.read_csv(io.BytesIO(content), dtype=kinds, chunksize=PART_ROWS, **options) as parts:
        yield from parts
