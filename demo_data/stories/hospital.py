"""An oxidised train on chlorinated town water, in US units: the carbon bed was spent for six weeks in spring."""

from datetime import date

import numpy as np

from demo_data.files import Story
from demo_data.simulator.ageing import oxidation, slow_fouling
from demo_data.simulator.design import Design, Element, Stage
from demo_data.simulator.meters import Meter
from demo_data.simulator.operation import Operation
from demo_data.simulator.scenario import CONDUCTIVITY, Happening, Scenario, span_of
from demo_data.simulator.seasons import Season, weather
from demo_data.simulator.shifts import Diary
from demo_data.simulator.water import FloatArray
from demo_data.stories.span import DAYS, START, on

SLIP_BEGINS = on(2026, 5, 6)
SLIP_ENDS = on(2026, 6, 22)
GAUGE = Meter("psi", 1.0, noise=0.5)
FLOW_METER = Meter("gpm", 0.5, noise_share=0.006)
PERMEATE_METER = Meter("uS/cm", 0.1, noise_share=0.01)
ELEMENT = Element(water_permeability_lmh_bar=4.4, salt_permeability_lmh=0.17, friction_bar=0.22)


def raw_chlorine(days: FloatArray, rng: np.random.Generator) -> FloatArray:
    """Free chlorine of the town water. [mg/L]"""
    return np.maximum(0.8 + 0.12 * weather(days, 6.0, rng), 0.2)


def feed_chlorine(days: FloatArray, rng: np.random.Generator) -> FloatArray:
    """Free chlorine after the carbon bed: nothing that the test shows, but during the slip. [mg/L]"""
    slipping = np.clip((days - SLIP_BEGINS) / 20.0, 0.0, 1.0) * (days < SLIP_ENDS)
    return np.maximum(
        0.008 * np.abs(rng.standard_normal(len(days))) + 0.15 * slipping * rng.uniform(0.5, 1.2, len(days)), 0
    )


def feed_orp(days: FloatArray, rng: np.random.Generator) -> FloatArray:
    """Oxidation-reduction potential after the carbon bed. [mV]"""
    slipping = np.clip((days - SLIP_BEGINS) / 20.0, 0.0, 1.0) * (days < SLIP_ENDS)
    return 210.0 + 240.0 * slipping + 15.0 * weather(days, 4.0, rng)


HOSPITAL = Story(
    slug="pell-harrow-hospital-ro-east",
    scenario=Scenario(
        days=DAYS,
        start=START,
        seed=20250804,
        site={
            "name": "Pell Harrow Hospital",
            "timezone": "America/Denver",
            "currency": "USD",
            "location": "Pell Harrow, basement of the east wing",
            "units": "US",
        },
        train={"name": "RO East"},
        membrane={"area_m2": 37.0, "temperature_correction": "two-slope"},
        design=Design((Stage(3, 6, ELEMENT), Stage(2, 6, ELEMENT))),
        operation=Operation(23.0, 0.75, permeate_pressure_bar=1.0, permeate_pressure_wander_bar=0.04),
        temperature_c=Season(14.0, swing=5.5, lowest_day_of_year=40, wander=0.5),
        conductivity_us_cm=Season(900.0, swing=70.0, lowest_day_of_year=150, wander=25.0),
        ageing=(
            slow_fouling(1, flow_loss_per_year=0.02, friction_per_year=0.01),
            slow_fouling(2, flow_loss_per_year=0.015, friction_per_year=0.01),
            oxidation(1, begins=SLIP_BEGINS, ends=SLIP_ENDS, flow_gain=0.13, salt_gain=1.3),
            oxidation(2, begins=SLIP_BEGINS, ends=SLIP_ENDS, flow_gain=0.04, salt_gain=0.35),
        ),
        meters={
            "feed_temperature_c": Meter("degF", 1.0, noise=0.3),
            "raw_free_chlorine_mg_l": Meter("mg/L", 0.05, noise=0.03),
            "feed_free_chlorine_mg_l": Meter("mg/L", 0.01, noise=0.003),
            "feed_orp_mv": Meter("mV", 1.0, noise=4.0),
            "feed_pressure_bar": GAUGE,
            "concentrate_pressure_bar": GAUGE,
            "permeate_pressure_bar": GAUGE,
            "permeate_flow_m3h": FLOW_METER,
            "concentrate_flow_m3h": FLOW_METER,
            "stage1_permeate_flow_m3h": FLOW_METER,
            "feed_conductivity_us_cm": CONDUCTIVITY,
            "permeate_conductivity_us_cm": PERMEATE_METER,
            "stage1_permeate_conductivity_us_cm": PERMEATE_METER,
            "stage2_permeate_conductivity_us_cm": PERMEATE_METER,
            "concentrate_conductivity_us_cm": Meter("uS/cm", 10.0, noise_share=0.01),
        },
        extras={
            "raw_free_chlorine_mg_l": raw_chlorine,
            "feed_free_chlorine_mg_l": feed_chlorine,
            "feed_orp_mv": feed_orp,
        },
        diary=Diary(
            hours=(6.5, 16.5),
            lateness_minutes=15.0,
            missed=0.03,
            holidays=(span_of(START, date(2025, 11, 27), date(2025, 11, 28)),),
            short_stops=0.015,
        ),
        happenings=(
            Happening(on(2025, 9, 16), "cartridge-change", "Cartridges changed"),
            Happening(
                on(2025, 12, 9), "meter-calibration", "Gauges checked against the master gauge, all within 1 psi"
            ),
            Happening(on(2026, 1, 20), "cartridge-change", "Cartridges changed"),
            Happening(on(2026, 5, 28), "note", "Test strip shows chlorine after the carbon, told the supplier"),
            Happening(
                on(2026, 6, 22), "chemical-change", "Carbon bed emptied and filled new, no chlorine after it now"
            ),
            Happening(on(2026, 7, 14), "cartridge-change", "Cartridges changed"),
            Happening(on(2026, 8, 18), "note", "Dialysis asks why the conductivity alarm comes so often"),
        ),
        reference=(date(2025, 8, 4), date(2025, 8, 31)),
        typing_mistakes=0.0007,
        remarks=False,
    ),
)
