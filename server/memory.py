"""Memory that was freed, handed back to the system: after a long file the process would keep half of a gigabyte."""

import ctypes
import sys

LONG = 250_000
"""Rows from which it is worth the time: what is handed back has to be asked for again, which at 100,000 rows takes a
twentieth of the time of their import for some tens of megabytes."""


def trim_memory(rows: int) -> None:
    """Hand back what was freed while so many rows were worked on.

    The C library of Linux gives back large pieces by itself, but not those that lie below one still in use. Where
    there is no such library, nothing is done.
    """
    if rows < LONG or sys.platform != "linux":
        return
    trim = getattr(ctypes.CDLL(None), "malloc_trim", None)
    if trim is not None:
        trim(0)
