"""What could be done instead: ways of renewing a train, what they assume, and what is told of each."""

from dataclasses import dataclass

from analytics.decisions.life import PERMEABILITY_LEFT

MORE_PRESSURE = 1.25
LESS_RECOVERY = 0.05


@dataclass(frozen=True)
class Strategy:
    """One way: its steps in the order in which they are taken, and what is run otherwise.

    Steps: "all", "tail" of the last stage, "lead" of the first, "worst stage", "worst third" (lead, middle or tail of
    all stages), "rotate" (lead and tail of every vessel change places; nothing is bought).
    """

    name: str
    title: str
    assumes: str
    steps: tuple[str, ...]
    cleanings: float = 1.0
    pressure: float = 1.0
    recovery: float = 0.0


STRATEGIES = (
    Strategy("whole", "Whole set at once", "All elements, when the contract would be broken.", ("all",)),
    Strategy("tail", "Tail first", "Last elements of the last stage; all when that is not enough.", ("tail", "all")),
    Strategy("lead", "Lead first", "First elements of the first stage; all when that is not enough.", ("lead", "all")),
    Strategy("stage", "One stage", "The stage that has lost most, then the next.", ("worst stage",) * 3),
    Strategy(
        "rotate", "Rotate first", "Lead and tail of each vessel change places, once; all when that is not enough.",
        ("rotate", "all"),
    ),
    Strategy("thirds", "In thirds", "The third by position that has lost most, then the next.", ("worst third",) * 3),
    Strategy(
        "clean", "Clean twice as often", "Half the reversible loss, a fifth less irreversible loss of flow, 0.5 % more "
        "salt passage per further cleaning; the whole set when needed.", ("all",), cleanings=2.0,
    ),
    Strategy(
        "pressure", "Raise the pressure", "A pump for a quarter more pressure, within what the elements bear; its "
        "price is not counted. The whole set when needed.", ("all",), pressure=MORE_PRESSURE,
    ),
    Strategy(
        "recovery", "Lower the recovery", "Five points less, with more feed and concentrate. The whole set if needed.",
        ("all",), recovery=-LESS_RECOVERY,
    ),
)  # fmt: skip


@dataclass(frozen=True)
class Ageing:
    """One stage today and per year: losses as logarithms, and where in the vessel they sit. [-, 1/a]"""

    flow_loss: float
    salt_loss: float
    flow_rate: float
    salt_rate: float
    profile: str = "even"


@dataclass(frozen=True)
class Terms:
    """What the train must keep to. [m3/h, -, degC, bar, -]

    `product_salt` is the salt in the product over the reference at which the contract is broken; None: no limit.
    """

    permeate_flow_m3h: float
    recovery: float
    coldest_c: float
    warmest_c: float
    most_pressure_bar: float | None = None
    element_pressure_bar: float = 41.0
    product_salt: float | None = None
    permeability: float = PERMEABILITY_LEFT
    cleanings_per_year: float = 1.0
    availability: float = 0.9
    efficiency: float = 0.65
    years: int = 5


@dataclass(frozen=True)
class Course:
    """One way year by year: what is renewed and moved, what it takes, and whether the contract is kept.

    `product` is the salt in the product over the reference, in the warmest water; `pressure_bar` that in the coldest.
    """

    strategy: Strategy
    renewed: tuple[int, ...]
    moved: tuple[int, ...]
    cleanings: tuple[float, ...]
    energy_kwh: tuple[float, ...]
    feed_m3: tuple[float, ...]
    pressure_bar: tuple[float, ...]
    product: tuple[float, ...]
    kept: tuple[bool, ...]

    @property
    def keeps_contract(self) -> bool:
        return all(self.kept)
