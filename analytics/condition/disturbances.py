"""What moves the parameters found although the membranes have not changed, and how well that is known beforehand.

Temperature, salinity and flow still move what was fitted, because no data sheet's slope and no closure of the model is
quite that of the plant. The log itself refines their coefficients (`smoother`), within priors; what one parameter has
taught of a closure, the next one starts from.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from analytics.condition.closure_courses import FILM, FILM_EXPONENT, FRICTION_EXPONENT, OSMOTIC, PERMEATE_PRESSURE
from analytics.condition.metered_train import USUAL, Closures
from analytics.condition.parameter_days import SALINITY, TEMPERATURE, VISCOSITY, ParameterDays, course_name
from analytics.condition.smoother import Disturbance, Smoothed

Array = npt.NDArray[np.float64]

WATER_SLOPE_PRIOR_K = 450.0
SALT_SLOPE_PRIOR_K = 1500.0
"""How far the temperature slopes of water and salt may lie from the data sheet's (standard deviation). Published slopes
of water spread from 2640 to about 3400 K; for salt no table was found, and handbooks say as fast or faster. [K]"""
SALINITY_PRIOR = 0.12
"""How salt permeability may go with salinity, as an exponent: dissolved solids per conductivity rise by a half over the
salinities of natural waters (0.50 to 0.75), and no plant's own curve is known. [-]"""
OSMOTIC_PRIOR = 0.15
FILM_PRIOR = 0.2
FILM_EXPONENT_PRIOR = 0.2
"""Spread of the osmotic pressure of natural waters about the law chosen, as a logarithm: dissolved solids per
conductivity lie between 0.50 and 0.75, and the handbook form 13 % below sodium chloride. Of the film's coefficient as a
logarithm and of its exponent of flow (0.33 to 0.8 are published for channels): known to about a third. [-]"""
USUAL_PERMEATE_PRESSURE_BAR, PERMEATE_PRESSURE_PRIOR_BAR = 0.3, 0.4
"""Of a permeate line whose pressure is not metered, and its spread: some lead into an open tank, some lift the water to
one or push it through a second treatment. Common practice, no source. [bar]"""
EXPONENT_PRIOR = 0.15
VISCOSITY_PRIOR = 0.15
"""Spread of the flow exponent n (1.4 to 2 are published) and of the power of viscosity, which is 2 - n where friction
goes with a power of the Reynolds number, and so is as well known. [-]"""
LEAST_MOVED = 2e-4
"""What cannot move a parameter by more than this is not looked for. [-]"""
MODESTY = 2.0
"""Over the error that one parameter leaves to a closure, when the next one starts from it: errors that both share, such
as a pressure gauge's, were counted once too often. [-]"""

FROM_READINGS: Mapping[str, Mapping[str, float]] = {
    "water": {TEMPERATURE: WATER_SLOPE_PRIOR_K},
    "salt": {TEMPERATURE: SALT_SLOPE_PRIOR_K, SALINITY: SALINITY_PRIOR},
    "friction": {VISCOSITY: VISCOSITY_PRIOR},
}
"""What disturbs each parameter beside the closures, and how far its coefficient may lie from zero."""
CLOSURE_PRIORS: Mapping[str, float] = {
    OSMOTIC: OSMOTIC_PRIOR,
    FILM: FILM_PRIOR,
    FILM_EXPONENT: FILM_EXPONENT_PRIOR,
    FRICTION_EXPONENT: EXPONENT_PRIOR,
    PERMEATE_PRESSURE: PERMEATE_PRESSURE_PRIOR_BAR,
}
TEACHES: Mapping[str, tuple[str, ...]] = {
    "water": (OSMOTIC, FILM, FILM_EXPONENT, PERMEATE_PRESSURE),
    "salt": (FILM, FILM_EXPONENT),
    "friction": (),
}
"""Closures that each parameter teaches: the others feel them through what the water parameter has left over. [-]"""
LEAST_ERROR = 0.03
ALIKE = 0.10
"""Error that always remains of a closure; and how far clean stages of one membrane differ in water permeability: makers
allow 15 to 20 % between elements, of which the mean of a stage keeps little, and fouling some. From memory. [-]"""
MOST_SLOPE = 1.5
"""A stage that answers to its osmotic pressure more strongly hardly makes water, and teaches nothing. [-]"""
TOGETHER = (OSMOTIC, FILM, FILM_EXPONENT)
"""Closures that all parameters of a train have in common. [-]"""


@dataclass(frozen=True)
class Belief:
    """What is held of a coefficient: mean and standard deviation."""

    mean: float
    deviation: float


@dataclass(frozen=True)
class Beliefs:
    """What is held of the closures that all parameters have in common."""

    held: Mapping[str, Belief]

    @classmethod
    def beforehand(cls, *, permeate_pressure_known: bool = True) -> "Beliefs":
        held = {name: Belief(0.0, CLOSURE_PRIORS[name]) for name in TOGETHER}
        if permeate_pressure_known:
            return cls(held)
        return cls(held | {PERMEATE_PRESSURE: Belief(USUAL_PERMEATE_PRESSURE_BAR, PERMEATE_PRESSURE_PRIOR_BAR)})

    def mean(self, name: str) -> float:
        return self.held[name].mean if name in self.held else 0.0

    def taken_out(self, daily: Array, disturbances: Sequence[Disturbance]) -> Array:
        """The values of days less what is held of what disturbs them."""
        for one in disturbances:
            daily = daily - self.mean(one.name) * one.course
        return daily

    def closures(self) -> Closures:
        """The closures as they are held."""
        return replace(
            USUAL,
            osmotic=float(np.exp(self.mean(OSMOTIC))),
            film=float(np.exp(self.mean(FILM))),
            film_exponent=USUAL.film_exponent + self.mean(FILM_EXPONENT),
            permeate_pressure_bar=self.mean(PERMEATE_PRESSURE),
        )

    def moves(self, what: str, stage: int, days: ParameterDays) -> float:
        """How far these closures find the logarithm of a parameter from where the usual ones do, at the reference."""
        slopes = ((days.at_reference.get(course_name(stage, what, name), np.nan), name) for name in self.held)
        return -float(sum(slope * self.mean(name) for slope, name in slopes if np.isfinite(slope)))

    def after(self, what: str, smoothed: Smoothed) -> "Beliefs":
        """What one parameter has taught."""
        learned = dict(self.held)
        for name in TEACHES[what]:
            if name in smoothed.coefficients:
                error = min(max(MODESTY * smoothed.coefficient_errors[name], LEAST_ERROR), self.held[name].deviation)
                learned[name] = Belief(self.mean(name) + smoothed.coefficients[name], error)
        return replace(self, held=learned)

    def alike(self, first: float, second: float, slopes: Mapping[str, tuple[float, float]]) -> "Beliefs":
        """What two stages of the same membrane teach of pressures: clean, they have one water permeability.

        Parameters
        ----------
        first, second : float
            Logarithms of the water permeabilities found in the reference, of two stages.
        slopes : mapping
            How each goes with the logarithm of the osmotic pressure, and with the permeate pressure where that is held.
        """
        levers = {name: of_second - of_first for name, (of_first, of_second) in slopes.items() if name in self.held}
        known = np.isfinite([second - first, *levers.values()]).all()
        if not levers or not known or max(map(abs, slopes[OSMOTIC])) > MOST_SLOPE:
            return self
        left = second - first - sum(lever * self.mean(name) for name, lever in levers.items())
        square = ALIKE**2 + sum((lever * self.held[name].deviation) ** 2 for name, lever in levers.items())
        taught = {}
        for name, lever in levers.items():
            before = self.held[name]
            gain = before.deviation**2 * lever / square
            deviation = before.deviation * float(np.sqrt(max(1.0 - gain * lever, 0.0)))
            taught[name] = Belief(before.mean + gain * left, deviation)
        return replace(self, held=dict(self.held) | taught)


def makes_water(stage: int, days: ParameterDays) -> bool:
    """Whether a stage, counted from zero, has pressure enough over the osmotic one to teach anything."""
    return not abs(days.at_reference.get(course_name(stage, "water", OSMOTIC), 0.0)) > MOST_SLOPE


def disturbances_of(what: str, stage: int, days: ParameterDays, beliefs: Beliefs) -> list[Disturbance]:
    """Everything that may move one parameter, zero at the reference.

    Parameters
    ----------
    what : str
        "water", "salt" or "friction".
    stage : int
        Counted from zero.
    days : ParameterDays
    beliefs : Beliefs
    """
    made = []
    for name, usual in {**FROM_READINGS[what], **CLOSURE_PRIORS}.items():
        column = course_name(stage, what, name)
        if np.isfinite(days.at_reference.get(column, np.nan)):
            prior = beliefs.held[name].deviation if name in beliefs.held else usual
            made.append(Disturbance(name, days.course(column), prior))
    return [one for one in made if _moves(one)]


def _moves(one: Disturbance) -> bool:
    known = one.course[np.isfinite(one.course)]
    return known.size > 0 and bool(one.prior * np.max(np.abs(known)) > LEAST_MOVED)
