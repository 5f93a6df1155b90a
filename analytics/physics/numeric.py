"""How every formula of this room takes and gives numbers: scalar, array or Series in, the same out."""

from collections.abc import Callable
from functools import wraps
from typing import Any, ParamSpec, TypeAlias

import numpy as np
import numpy.typing as npt
import pandas as pd

Numeric: TypeAlias = Any
"""A number, a numpy array or a pandas Series of float64. Any, because types cannot say "as the widest of all"."""

Parameters = ParamSpec("Parameters")

BLOCK = 16_384
"""Rows that a formula works on at a time, so that its intermediates stay in the processor's cache. [-]"""


def keeps_type(formula: Callable[Parameters, Numeric]) -> Callable[Parameters, Numeric]:
    """Let a formula written for numpy arrays take scalars, arrays and Series, and return what it was given.

    Arguments that are not numbers (names of a choice, a membrane, None) reach the formula as they are.
    Series must share one index, which the result has too. Floating-point warnings are silent inside: a value
    that cannot be computed is NaN or is made NaN by `valid_only`.

    Raises
    ------
    ValueError
        When two Series have different indexes: their rows would be mixed up silently.

    Examples
    --------
    >>> double = keeps_type(lambda value: value * 2)
    >>> double(1.5), double(np.array([1.0, 2.0]))
    (3.0, array([2., 4.]))
    """

    @wraps(formula)
    def wrapper(*args: Parameters.args, **kwargs: Parameters.kwargs) -> Numeric:
        index = _common_index([*args, *kwargs.values()])
        with np.errstate(all="ignore"):
            result = _in_blocks(
                formula, [_plain(value) for value in args], {name: _plain(value) for name, value in kwargs.items()}
            )
        if index is not None:
            return pd.Series(np.broadcast_to(result, index.shape), index=index, copy=False)
        return result if isinstance(result, np.ndarray) and result.ndim else float(result)

    return wrapper


def valid_only(result: Numeric, valid: npt.NDArray[np.bool_] | np.bool_) -> Numeric:
    """Return `result` where `valid`, NaN elsewhere.

    Examples
    --------
    >>> valid_only(np.array([1.0, 2.0]), np.array([True, False]))
    array([ 1., nan])
    """
    return result if valid.all() else np.where(valid, result, np.nan)


def _in_blocks(formula: Callable[..., Numeric], args: list[Any], kwargs: dict[str, Any]) -> Numeric:
    """Call the formula once, or block by block where it is given long columns: the same numbers, two to three times
    as fast."""
    shapes = {value.shape for value in (*args, *kwargs.values()) if isinstance(value, np.ndarray)}
    rows = next(iter(shapes))[0] if len(shapes) == 1 and all(len(shape) == 1 for shape in shapes) else 0
    if rows < 2 * BLOCK:
        return formula(*args, **kwargs)
    result = np.empty(rows)
    for start in range(0, rows, BLOCK):
        block = slice(start, start + BLOCK)
        result[block] = formula(
            *(_part(value, block) for value in args), **{name: _part(value, block) for name, value in kwargs.items()}
        )
    return result


def _part(value: Any, block: slice) -> Any:
    return value[block] if isinstance(value, np.ndarray) else value


def _plain(value: Any) -> Any:
    """Return numbers as numpy float64, anything else untouched."""
    if isinstance(value, pd.Series):
        return value.to_numpy(dtype=np.float64, na_value=np.nan)
    if isinstance(value, np.ndarray | list):
        return np.asarray(value, dtype=np.float64)
    if isinstance(value, int | float | np.number):
        return np.float64(value)
    return value


def _common_index(values: list[Any]) -> pd.Index | None:
    indexes = [value.index for value in values if isinstance(value, pd.Series)]
    for other in indexes[1:]:
        if other is not indexes[0] and not other.equals(indexes[0]):
            raise ValueError("Series with different indexes cannot be combined row by row")
    return indexes[0] if indexes else None
