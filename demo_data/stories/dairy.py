"""A healthy train whose permeate flow meter reads lower and lower: the paddle wheel wears since February."""

from datetime import date

from demo_data.files import Story
from demo_data.simulator.ageing import slow_fouling
from demo_data.simulator.design import Design, Element, Stage
from demo_data.simulator.meters import Drift, Meter
from demo_data.simulator.operation import Operation
from demo_data.simulator.scenario import CONDUCTIVITY, PRESSURE, TEMPERATURE, Happening, Scenario, span_of
from demo_data.simulator.seasons import Season
from demo_data.simulator.shifts import Diary
from demo_data.stories.span import DAYS, START, on

DRIFT = Drift(on(2026, 2, 1), on(2026, 10, 31, 24), -0.08)
ELEMENT = Element(water_permeability_lmh_bar=3.5, salt_permeability_lmh=0.18)

DAIRY = Story(
    slug="drumvarna-dairy-ro-1",
    times_with_offset=True,
    scenario=Scenario(
        days=DAYS,
        start=START,
        seed=20250805,
        site={"name": "Drumvarna Dairy", "timezone": "Europe/Dublin", "currency": "EUR", "location": "Drumvarna"},
        train={"name": "RO 1", "assumed": {"permeate_pressure": 0.4}},
        membrane={"area_m2": 37.0, "temperature_correction": "percent", "percent_per_degc": 2.9},
        design=Design((Stage(4, 6, ELEMENT), Stage(2, 6, ELEMENT))),
        operation=Operation(29.0, 0.76, permeate_pressure_bar=0.4, permeate_pressure_wander_bar=0.04),
        temperature_c=Season(13.0, swing=3.0, lowest_day_of_year=50, wander=0.5),
        conductivity_us_cm=Season(1450.0, swing=90.0, lowest_day_of_year=200, wander=30.0),
        ageing=(
            slow_fouling(1, flow_loss_per_year=0.012, friction_per_year=0.01),
            slow_fouling(2, flow_loss_per_year=0.010, friction_per_year=0.01),
        ),
        meters={
            "feed_temperature_c": TEMPERATURE,
            "feed_pressure_bar": PRESSURE,
            "stage1_concentrate_pressure_bar": PRESSURE,
            "concentrate_pressure_bar": PRESSURE,
            "feed_flow_m3h": Meter("m3/h", 0.1, noise_share=0.005),
            "permeate_flow_m3h": Meter("m3/h", 0.1, noise_share=0.006, drift=DRIFT),
            "concentrate_flow_m3h": Meter("m3/h", 0.1, noise_share=0.006),
            "feed_conductivity_us_cm": Meter(
                "uS/cm", 1.0, noise_share=0.008, frozen=span_of(START, date(2025, 11, 10), date(2025, 11, 21))
            ),
            "permeate_conductivity_us_cm": Meter("uS/cm", 0.1, noise_share=0.01),
            "concentrate_conductivity_us_cm": CONDUCTIVITY,
        },
        diary=Diary(
            lateness_minutes=10.0,
            missed=0.05,
            holidays=(span_of(START, date(2025, 12, 25), date(2025, 12, 27)),),
            short_stops=0.004,
        ),
        happenings=(
            Happening(on(2025, 9, 30), "cartridge-change", "Cartridges changed"),
            Happening(
                on(2025, 11, 22), "note", "Feed conductivity showed the same for days, transmitter switched off and on"
            ),
            Happening(on(2026, 2, 24), "cartridge-change", "Cartridges changed"),
            Happening(on(2026, 7, 7), "cartridge-change", "Cartridges changed"),
            Happening(on(2026, 8, 3), "note", "Pump runs faster than last summer for the same permeate"),
        ),
        reference=(date(2025, 8, 4), date(2025, 8, 24)),
        typing_mistakes=0.0007,
        states=False,
    ),
)
