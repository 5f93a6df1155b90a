"""Text for files that a spreadsheet opens: a cell of words must never become a formula there."""

import pandas as pd

STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "\x00", "\uff1d", "\uff0b", "\uff0d", "\uff20")
"""First signs with which spreadsheets take a cell for a formula, among them the wide forms."""


def plain_cell(text: str) -> str:
    """A cell of words that stays words; numbers are not given to this function.

    Examples
    --------
    >>> plain_cell("=1+1"), plain_cell("cartridges changed")
    ("'=1+1", 'cartridges changed')
    """
    return f"'{text}" if text.startswith(STARTS) else text


def plain_cells(column: "pd.Series[str]") -> "pd.Series[str]":
    """The same for a column of words."""
    return column.map(plain_cell)
