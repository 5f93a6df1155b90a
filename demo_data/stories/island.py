"""A scaling last stage on salty wells: slow, steady, and near the limit in a month or two."""

from datetime import date

from demo_data.files import Story
from demo_data.simulator.ageing import scaling, slow_fouling
from demo_data.simulator.design import Design, Element, Stage
from demo_data.simulator.meters import Meter
from demo_data.simulator.operation import Operation
from demo_data.simulator.scenario import FLOW, Happening, Scenario, span_of
from demo_data.simulator.seasons import Season
from demo_data.simulator.shifts import Diary
from demo_data.stories.span import DAYS, START, on

SCALING_BEGINS = on(2025, 12, 15)
GAUGE = Meter("kPa", 10.0, noise=3.0)
ELEMENT = Element(water_permeability_lmh_bar=3.3, salt_permeability_lmh=0.16, friction_bar=0.21)

ISLAND = Story(
    slug="sandrisa-waterworks-train-1",
    scenario=Scenario(
        days=DAYS,
        start=START,
        seed=20250803,
        site={
            "name": "Sandrisa Waterworks",
            "timezone": "Europe/Athens",
            "currency": "EUR",
            "location": "Island of Sandrisa, upper village",
        },
        train={"name": "Train 1", "assumed": {"tds_per_conductivity": 0.65}},
        membrane={"area_m2": 37.0, "temperature_correction": "exponential", "slope_k": 2700.0},
        design=Design((Stage(4, 7, ELEMENT), Stage(2, 7, ELEMENT))),
        operation=Operation(28.0, 0.74, permeate_pressure_bar=0.9, permeate_pressure_wander_bar=0.04),
        temperature_c=Season(20.0, swing=1.6, lowest_day_of_year=60, wander=0.3),
        conductivity_us_cm=Season(5200.0, swing=350.0, lowest_day_of_year=90, wander=90.0),
        ageing=(
            slow_fouling(1, flow_loss_per_year=0.015, friction_per_year=0.01),
            scaling(2, flow_loss=0.10, over_days=320.0, begins=SCALING_BEGINS),
        ),
        meters={
            "feed_temperature_c": Meter("degC", 0.5, noise=0.2),
            "feed_pressure_bar": GAUGE,
            "stage1_concentrate_pressure_bar": GAUGE,
            "concentrate_pressure_bar": GAUGE,
            "permeate_pressure_bar": GAUGE,
            "permeate_flow_m3h": FLOW,
            "concentrate_flow_m3h": FLOW,
            "stage1_permeate_flow_m3h": FLOW,
            "stage2_permeate_flow_m3h": Meter("m3/h", 0.05, noise_share=0.006),
            "feed_conductivity_us_cm": Meter("mS/cm", 0.01, noise_share=0.006),
            "permeate_conductivity_us_cm": Meter("uS/cm", 1.0, noise_share=0.008),
            "stage1_permeate_conductivity_us_cm": Meter("uS/cm", 1.0, noise_share=0.008),
            "stage2_permeate_conductivity_us_cm": Meter("uS/cm", 1.0, noise_share=0.008),
        },
        diary=Diary(
            hours=(7.0, 19.0),
            lateness_minutes=20.0,
            missed=0.06,
            holidays=(span_of(START, date(2026, 4, 10), date(2026, 4, 13)),),
            standstills=(span_of(START, date(2026, 2, 17), date(2026, 2, 19)),),
            short_stops=0.02,
        ),
        happenings=(
            Happening(on(2025, 10, 6), "cartridge-change", "Cartridges changed"),
            Happening(
                SCALING_BEGINS, "chemical-change", "Antiscalant: new drums from another supplier, pump as before"
            ),
            Happening(on(2026, 2, 17, 9), "shutdown", "Storm, no power for three days"),
            Happening(on(2026, 2, 20, 6), "start-up", "Power back, started"),
            Happening(on(2026, 3, 9), "cartridge-change", "Cartridges changed"),
            Happening(on(2026, 6, 22), "meter-calibration", "Feed conductivity checked, nothing changed"),
            Happening(on(2026, 8, 31), "cartridge-change", "Cartridges changed, clean"),
        ),
        reference=(date(2025, 8, 4), date(2025, 8, 31)),
        typing_mistakes=0.0008,
    ),
)
