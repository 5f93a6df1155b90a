"""How well a method can know an indicator at all, whatever the meters: the error that its closures leave.

Where the osmotic pressure is large beside the net driving pressure, as at the tail of a train, a small error of the
osmotic law is a large one of permeability; where next to nothing is left, the standard method's ratio means nothing.
"""

from collections.abc import Collection, Mapping, Sequence

import numpy as np

from analytics.judgement.words import scope_name

WATER = {True: (0.03, 0.0), False: (0.035, 0.02)}
"""Error of water permeability with the ratio r of osmotic to net driving pressure, a r and b r^2, by the membrane model
and by the standard method: scatter about the truth on healthy drawn plants (docs/method.md, "Which cause"). [-]"""
SALT = {True: 0.02, False: 0.04}
MOST_OSMOTIC, MOST_SALT = {True: 4.0, False: 20.0}, 3.0
"""Ratios from which the error grows no further. [-]"""
BEYOND_USE = 0.15
"""With a standard error beyond this a level is not judged: its interval reaches from one past the point that counts as
too late. Judgement, no source. [-]"""


def closure_error(name: str, osmotic: float, *, modelled: bool) -> float:
    """Standard error of the logarithm of an indicator that its method leaves.

    Parameters
    ----------
    name : str
        Of the indicator.
    osmotic : float
        Osmotic pressure over net driving pressure in the reference. [-]
    modelled : bool
        Whether the membrane model gave it; the standard method otherwise.

    Examples
    --------
    >>> round(closure_error("permeate_flow", 0.5, modelled=False), 3)
    0.018
    >>> closure_error("permeate_flow", 8.0, modelled=False) > BEYOND_USE
    True
    """
    if name == "permeate_flow":
        straight, square = WATER[modelled]
        ratio = min(osmotic, MOST_OSMOTIC[modelled])
        return float(np.hypot(straight * ratio, square * ratio**2))
    return SALT[modelled] * min(osmotic, MOST_SALT) if name == "salt_passage" else 0.0


def beyond_use(columns: Sequence[str], modelled: Collection[str], osmotic: Mapping[str, float]) -> tuple[str, ...]:
    """Of columns `<scope>_<indicator>` those that their method cannot tell.

    Parameters
    ----------
    columns : sequence of str
    modelled : collection of str
        Those of the membrane model.
    osmotic : mapping
        Scope -> osmotic over net driving pressure in the reference. [-]
    """
    errors = {
        column: closure_error(name, osmotic.get(scope, 0.0), modelled=column in modelled)
        for column in columns
        for scope, name in [column.split("_", 1)]
    }
    return tuple(column for column, error in errors.items() if error > BEYOND_USE)


def beyond_use_note(columns: Sequence[str]) -> str:
    """What cannot be told, in a sentence.

    Examples
    --------
    >>> beyond_use_note(["stage2_permeate_flow", "stage3_permeate_flow"])[:70]
    'Permeate flow of stage 2 and stage 3 is not judged: by the salinity an'
    """
    scopes = " and ".join(scope_name(column.split("_", 1)[0]) for column in columns)
    return (
        f"Permeate flow of {scopes} is not judged: by the salinity and pressures metered, hardly any pressure is left"
        " there to push water through, and a small error of either would look like a large change of the membranes."
    )
