"""Silt density index from the two times of a filter test (ASTM D4189)."""

from dataclasses import dataclass

from analytics.errors import InvalidSettings

MINUTES = (5, 10, 15)
MOST_PLUGGING_PERCENT = 75.0
"""From here on the test must be run again over a shorter time (ASTM D4189)."""
USUAL_HIGHEST, DESIRED = 5.0, 3.0
"""Membrane makers accept 4 to 5 at the most and wish for 3; common limits of warranties."""


@dataclass(frozen=True)
class SiltDensity:
    """The index, how far the filter was plugged [%], and what to make of it."""

    value: float
    minutes: int
    plugging_percent: float
    valid: bool
    advice: str


def silt_density_index(first_s: float, last_s: float, minutes: int = 15) -> SiltDensity:
    r"""Index from the times to collect the same volume at the start and after some minutes.

    Parameters
    ----------
    first_s, last_s : float
        [s]
    minutes : int
        Of `MINUTES`. [min]

    Returns
    -------
    SiltDensity
        With what to say of it; not valid where too much of the filter is plugged.

    Raises
    ------
    InvalidSettings
        When a time is not above zero, the second is the shorter, or the minutes are not one of `MINUTES`.

    Notes
    -----
    .. math:: SDI_T = 100 (1 - t_i / t_f) / T

    through 0.45 µm at 207 kPa, 500 mL each (ASTM D4189).

    Examples
    --------
    >>> round(silt_density_index(30, 60).value, 2)
    3.33
    """
    if minutes not in MINUTES:
        raise InvalidSettings("the second sample is taken after 5, 10 or 15 minutes")
    if not first_s > 0:
        raise InvalidSettings("the first time must be above zero")
    if not first_s <= last_s:
        raise InvalidSettings("the second time cannot be shorter than the first; are they exchanged?")
    plugging = 100 * (1 - first_s / last_s)
    value = plugging / minutes
    valid = plugging < MOST_PLUGGING_PERCENT
    return SiltDensity(value, minutes, plugging, valid, _advice(value, minutes, valid=valid))


def _advice(value: float, minutes: int, *, valid: bool) -> str:
    if not valid and minutes > MINUTES[0]:
        shorter = MINUTES[MINUTES.index(minutes) - 1]
        return f"The filter was plugged by 75 % or more: run the test again over {shorter} minutes."
    if not valid:
        return "The filter plugs within 5 minutes: this water is not fit for the membranes. Look at the filters first."
    if value > USUAL_HIGHEST:
        return "Above what element makers accept (5): expect fouling; look at the filters and at the source."
    if value > DESIRED:
        return "Accepted by most element makers (up to 5, some 4), above the 3 that they wish for."
    return "Below 3, as element makers wish."
