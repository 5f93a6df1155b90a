"""Every choice that the budget rests on: what it means, its default with where that comes from, and what can be meant.

Defaults of prices are examples in US dollars, the middle of what the trade paid in the 2020s (from memory, no source).
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Literal

from analytics.decisions.budget import COMPONENTS
from analytics.decisions.forecast import CHLORINE_TOLERANCE, WARRANTY_YEARS
from analytics.decisions.life import PERMEABILITY_LEFT

Kind = Literal["number", "percent", "flow", "pressure", "per volume", "text", "day", "choice"]
EXAMPLE_CURRENCY = "USD"
SEED = 8_760
"""Of every simulation of the budget: the same log and choices give the same amounts, on any machine with the same
numpy."""
MOST_HORIZON = 10
WATER_SOURCES = (
    ("unknown", "Not said"),
    ("well", "Well"),
    ("surface", "Surface water"),
    ("reuse", "Treated waste water"),
)


@dataclass(frozen=True)
class Choice:
    """One choice. Percent are kept as fractions, flows and pressures in m3/h and bar, prices of water per m3; `default`
    None: not known.

    `above` says that the least value itself cannot be meant, `problem` what is said when a value is out of bounds. In
    the label `{volume}` stands for the reader's unit, in the hint `{low}` and `{high}` for what is usual.
    """

    name: str
    label: str
    hint: str
    kind: Kind = "number"
    default: float | str | None = None
    least: float = 0.0
    most: float = 1e9
    above: bool = False
    problem: str = ""
    usual: tuple[float, float] = (0.0, 0.0)


NEGATIVE = "A price cannot be below zero."
SITE = (
    Choice("element_price", "Price of one element", "Delivered price without tax. Example: 350 to 900 for 8 inch.",
           default=600.0, problem=NEGATIVE),
    Choice("hours_per_element", "Hours of work per element", "Opening, loading, closing: 0.3 to 0.5 h.", default=0.4,
           problem="Hours cannot be below zero."),
    Choice("labour_rate", "Cost of an hour of work", "With everything that belongs to it.", default=45.0,
           problem=NEGATIVE),
    Choice("seals_per_element", "Seals per element", "O-rings, connectors, shims: 10 to 30.", default=20.0,
           problem=NEGATIVE),
    Choice("freight_per_element", "Freight per element", "To the plant, with customs.", default=25.0, problem=NEGATIVE),
    Choice("tax_share", "Tax on elements, seals and freight", "Only what you cannot claim back.", "percent",
           default=0.0, most=1.0, problem="A share of tax lies between 0 and 100 %."),
    Choice("disposal_per_element", "Disposal per old element", "Transport and fee.", default=10.0, problem=NEGATIVE),
    Choice("standstill_hours", "Hours of standstill for a change of elements", "From stop to good water.", default=24.0,
           most=2000.0, problem="Hours of standstill lie between 0 and 2000."),
    Choice("water_value", "Cost of one {volume} that is not made", "What water from elsewhere costs, or is lost.",
           "per volume", default=0.5, problem=NEGATIVE),
    Choice("cleaning_per_element", "Cost of a cleaning per element", "Two solutions, with work and waste: 15 to 40.",
           default=25.0, problem=NEGATIVE),
    Choice("energy_price", "Price of one kWh", "", default=0.12, problem=NEGATIVE),
    Choice("efficiency", "Efficiency of the pump, wire to water",
           "Pump times motor times drive, such as 0.70 × 0.93 = 65 %.", "percent", default=0.65, most=0.95,
           above=True, problem="An efficiency lies above 0 and is at most 95 %."),
    Choice("availability", "Share of the year that it runs", "", "percent", default=0.9, most=1.0, above=True,
           problem="A share of the year lies above 0 and is at most 100 %; at zero nothing is made."),
    Choice("feed_price", "Cost of one {volume} of feed", "The water itself, and getting rid of its concentrate.",
           "per volume", default=0.05, problem=NEGATIVE),
    Choice("chemicals_per_m3", "Chemicals per {volume}", "Antiscalant, acid, bisulfite: {low} to {high}.", "per volume",
           default=0.02, problem=NEGATIVE, usual=(0.01, 0.03)),
    Choice("cartridges_per_m3", "Cartridges per {volume}", "{low} to {high}.", "per volume", default=0.01,
           problem=NEGATIVE, usual=(0.005, 0.02)),
    Choice("upkeep_per_year", "Other upkeep of a train per year", "Pumps, meters, valves.", default=2000.0,
           problem=NEGATIVE),
    Choice("attendance_hours", "Hours of attendance per train and week", "Walks, logs, small repairs.", default=5.0,
           most=168.0, problem="A week has 168 hours."),
    Choice("escalation_goods", "Rise of prices of goods per year", "Elements, seals, freight, disposal.", "percent",
           default=0.03, least=-0.5, most=0.5, problem="A rise of prices lies between −50 and 50 % a year."),
    Choice("escalation_work", "Rise of wages per year", "", "percent", default=0.03, least=-0.5, most=0.5,
           problem="A rise of wages lies between −50 and 50 % a year."),
    Choice("escalation_energy", "Rise of the price of energy per year", "", "percent", default=0.03, least=-0.5,
           most=0.5, problem="A rise of prices lies between −50 and 50 % a year."),
    Choice("price_spread", "How sure the price of elements is", "Two in three futures lie within this share of it.",
           "percent", default=0.10, most=1.0, problem="This share lies between 0 and 100 %."),
    Choice("discount_rate", "Discount rate", "For present values.", "percent", default=0.06, least=-0.5, most=0.5,
           problem="A discount rate lies between −50 and 50 % a year."),
    Choice("accident_rate", "Chance in a year to lose a set at once",
           "Chlorine, hot cleaning, hydraulic shock. Common practice, no source: 1 to 3 %.", "percent",
           default=0.02, most=0.5, problem="This chance lies between 0 and 50 % a year."),
    Choice("lead_time_weeks", "Weeks from order to delivery", "8 to 16 are usual.", default=12.0, most=104.0,
           problem="A lead time lies between 0 and 104 weeks."),
    Choice("rate", "One unit of this site's money in the reporting currency", "1 where they are the same.", default=1.0,
           above=True, problem="A rate of exchange is above zero."),
)  # fmt: skip
LOGBOOK = (
    Choice("reporting_currency", "Reporting currency", "In which sites are added up, such as EUR.", "text",
           problem="Three capital letters, such as EUR."),
    Choice("horizon_years", "Years ahead", "1 to 10 whole years after this one.", default=5.0, least=1.0,
           most=MOST_HORIZON,
           problem="1 to 10 whole years: neither the logs nor the trade's experience carry further."),
)  # fmt: skip
TRAIN = (
    Choice("permeate_flow", "Permeate flow to be delivered", "Empty: as in the reference period.", "flow", above=True,
           most=1e5, problem="A flow to be delivered is above zero."),
    Choice("recovery", "Recovery", "Empty: as in the reference period.", "percent", least=0.05, most=0.95,
           problem="A recovery lies between 5 and 95 %."),
    Choice("product_conductivity", "Product conductivity at most",
           "In the warmest water. Empty: no limit. [µS/cm]", above=True, most=1e5,
           problem="A limit of conductivity is above zero."),
    Choice("most_feed_pressure", "Feed pressure at most", "What pump and elements bear. Empty: not looked at.",
           "pressure", above=True, most=100.0, problem="This pressure is above zero and at most 100 bar (1450 psi)."),
    Choice("permeability_left", "Flow of a stage that counts as worn out",
           "Normalized, after cleaning, over the reference. Default 70 %: an example of a three-year warranty.",
           "percent", default=PERMEABILITY_LEFT, least=0.2, most=0.95,
           problem="This share lies between 20 and 95 %."),
    Choice("chlorine_tolerance", "Free chlorine that the elements bear",
           "200 to 1000 mg·h/L are published for polyamide; see your data sheet. [mg·h/L]", default=CHLORINE_TOLERANCE,
           above=True, problem="This tolerance is above zero."),
    Choice("warranty_years", "Years of performance warranty", "3 are usual. 0: none.", default=WARRANTY_YEARS,
           most=20.0, problem="A warranty lies between 0 and 20 years."),
    Choice("water_source", "Where the water comes from", "Chooses the trade's experience with irreversible loss.",
           "choice", default="unknown", problem="Choose one of these."),
    Choice("cleanings_per_year", "Cleanings of the whole train per year",
           "One of a stage counts by its share of the elements. Empty: as in the log; without a log one.", most=52.0,
           problem="Between 0 and 52 cleanings a year."),
    Choice("element_price", "Price of one element of this train", "Empty: as for the site.", problem=NEGATIVE),
    *(Choice(f"installed_stage{n}", f"Elements of stage {n} put in on",
             "A replacement written down as an event goes before this.", "day", problem="Enter a day that has been.")
      for n in range(1, 7)),
)  # fmt: skip
BY_SCOPE: Mapping[str, tuple[Choice, ...]] = {"logbook": LOGBOOK, "site": SITE, "train": TRAIN}

GOODS, WORK, ENERGY = "escalation_goods", "escalation_work", "escalation_energy"
ESCALATION_OF = dict.fromkeys(COMPONENTS, GOODS) | {"labour": WORK, "cleaning": WORK, "energy": ENERGY}
"""Which rise of prices each component follows."""


@dataclass(frozen=True)
class Chosen:
    """Choices of one scope: what was chosen by name, over the defaults."""

    scope: str
    given: Mapping[str, str]

    def number(self, name: str) -> float | None:
        """The value of a number, or None where neither choice nor default says one."""
        default = next(choice.default for choice in BY_SCOPE[self.scope] if choice.name == name)
        text = self.given.get(name, "")
        if text:
            return float(text)
        return float(default) if isinstance(default, int | float) else None

    def sure(self, name: str) -> float:
        """The value of a number that has a default."""
        value = self.number(name)
        assert value is not None, name
        return value

    def text(self, name: str) -> str:
        default = next(choice.default for choice in BY_SCOPE[self.scope] if choice.name == name)
        return self.given.get(name, "") or str(default or "")

    def day(self, name: str) -> date | None:
        text = self.given.get(name, "")
        return date.fromisoformat(text) if text else None

    @property
    def priced(self) -> bool:
        """Whether anybody has said what an element costs."""
        return bool(self.given.get("element_price"))
