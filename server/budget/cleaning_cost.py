"""What a cleaning of a train costs per element, and who says so: a price that was given, the records, or the trade."""

from dataclasses import dataclass

from analytics.decisions.cleaning_experience import cost_per_element
from server.budget.choices import Chosen
from server.budget.queries import SiteFacts, TrainFacts
from server.display import counted, number


@dataclass(frozen=True)
class CleaningCost:
    """Cost of a cleaning per element at today's prices, and where it comes from. [money]"""

    per_element: float
    source: str


def cleaning_cost(train: TrainFacts, choices: Chosen) -> CleaningCost:
    """The price that was given; else the mean of the records of this train, where the site has a price of its work."""
    price = choices.sure("cleaning_per_element")
    if choices.given.get("cleaning_per_element"):
        return CleaningCost(price, "given")
    labour = choices.number("labour_rate") if choices.priced and choices.given.get("labour_rate") else None
    recorded = cost_per_element(train.spent, labour_rate=labour, energy_price=choices.sure("energy_price"))
    if recorded is None:
        return CleaningCost(price, "default")
    return CleaningCost(recorded.value, f"mean of {counted(recorded.records, 'record')}")


def cleaning_note(train: TrainFacts, site: SiteFacts) -> str:
    """A sentence where the records say what a cleaning costs; else nothing."""
    found = cleaning_cost(train, site.choices)
    if found.source in ("given", "default"):
        return ""
    return (
        f"A cleaning costs {number(found.per_element, 2)} per element by its records ({found.source}): chemicals, "
        "work at the site's rate, waste and energy."
    )
