"""A fouling first stage on canal water: one cleaning that worked, one that did not, and the next one due soon."""

from datetime import date

import numpy as np

from demo_data.files import Story
from demo_data.simulator.ageing import Cleaning, biofouling, cleaned, slow_fouling
from demo_data.simulator.design import Design, Element, Stage
from demo_data.simulator.meters import Meter
from demo_data.simulator.operation import Operation, SetPoint
from demo_data.simulator.scenario import CONDUCTIVITY, FLOW, PRESSURE, TEMPERATURE, Happening, Scenario, span_of
from demo_data.simulator.seasons import Season, weather
from demo_data.simulator.shifts import Diary
from demo_data.simulator.water import FloatArray
from demo_data.stories.media_filter import inlet_pressure, outlet_pressure
from demo_data.stories.span import DAYS, START, on
from demo_data.stories.walks import DENSITY_KG_L, TANK_SHARE, TARGET_MG_L

FIRST_CLEANING = on(2026, 3, 25, 7)
SECOND_CLEANING = on(2026, 9, 9, 7)
GIVEN_BACK_FIRST = 0.90
GIVEN_BACK_SECOND = 0.45


def turbidity(days: FloatArray, rng: np.random.Generator) -> FloatArray:
    """Turbidity after the filters: quiet, with muddy weeks after rain. [NTU]"""
    return 0.25 * np.exp(0.5 * weather(days, 8.0, rng) + 0.15 * rng.standard_normal(len(days)))


GLASSHOUSES = Story(
    slug="tolmera-glasshouses-ro-2",
    scenario=Scenario(
        days=DAYS,
        start=START,
        seed=20250802,
        site={
            "name": "Tolmera Glasshouses",
            "timezone": "Europe/Madrid",
            "currency": "EUR",
            "location": "Tolmera, at the east canal",
        },
        train={
            "name": "RO 2",
            "meters": {"pressure_accuracy_bar": 0.1},
            "dosing": {
                "antiscalant_mg_l": TARGET_MG_L,
                "antiscalant_tank_share": TANK_SHARE,
                "antiscalant_density_kg_l": DENSITY_KG_L,
            },
        },
        membrane={"area_m2": 37.0, "temperature_correction": "two-slope"},
        design=Design(
            (
                Stage(6, 6, Element(water_permeability_lmh_bar=3.9, salt_permeability_lmh=0.21)),
                Stage(3, 6, Element(water_permeability_lmh_bar=3.8, salt_permeability_lmh=0.21)),
            )
        ),
        operation=Operation(
            45.0,
            0.75,
            permeate_pressure_bar=0.5,
            permeate_pressure_wander_bar=0.04,
            changes=(SetPoint(on(2026, 6, 1), 47.0),),
        ),
        temperature_c=Season(19.0, swing=6.0, lowest_day_of_year=25, wander=0.9),
        conductivity_us_cm=Season(2300.0, swing=220.0, lowest_day_of_year=80, wander=60.0),
        ageing=(
            slow_fouling(1, flow_loss_per_year=0.02, friction_per_year=0.02),
            slow_fouling(2, flow_loss_per_year=0.015, friction_per_year=0.01),
            cleaned(
                biofouling(1, doubling_days=55.0, seed=0.045),
                Cleaning(FIRST_CLEANING, GIVEN_BACK_FIRST),
                Cleaning(SECOND_CLEANING, GIVEN_BACK_SECOND),
            ),
        ),
        meters={
            "feed_temperature_c": TEMPERATURE,
            "feed_turbidity_ntu": Meter("NTU", 0.01, noise_share=0.05),
            "feed_pressure_bar": PRESSURE,
            "stage1_concentrate_pressure_bar": PRESSURE,
            "concentrate_pressure_bar": PRESSURE,
            "permeate_pressure_bar": PRESSURE,
            "permeate_flow_m3h": FLOW,
            "concentrate_flow_m3h": Meter("m3/h", 0.1, noise_share=0.01, offset_share=-0.01),
            "stage1_permeate_flow_m3h": FLOW,
            "feed_conductivity_us_cm": CONDUCTIVITY,
            "permeate_conductivity_us_cm": Meter("uS/cm", 0.1, noise_share=0.01),
            "stage1_permeate_conductivity_us_cm": Meter("uS/cm", 0.1, noise_share=0.01),
        },
        recorded={
            "media_filter_inlet_pressure_bar": Meter("bar", 0.01, noise=0.015),
            "media_filter_outlet_pressure_bar": Meter("bar", 0.01, noise=0.015),
        },
        extras={
            "feed_turbidity_ntu": turbidity,
            "media_filter_inlet_pressure_bar": inlet_pressure,
            "media_filter_outlet_pressure_bar": outlet_pressure,
        },
        diary=Diary(
            lateness_minutes=15.0,
            missed=0.05,
            holidays=(span_of(START, date(2026, 8, 14), date(2026, 8, 16)),),
            standstills=(
                span_of(START, date(2026, 3, 25), date(2026, 3, 25)),
                span_of(START, date(2026, 9, 9), date(2026, 9, 9)),
            ),
            short_stops=0.02,
        ),
        happenings=(
            Happening(on(2025, 11, 4), "cartridge-change", "Cartridges changed, slimy at the outlet side"),
            Happening(on(2026, 2, 10), "cartridge-change", "Cartridges changed, slimy"),
            Happening(
                FIRST_CLEANING, "cleaning", "Stage 1 with caustic and detergent, pH 11.8, 33 degC, soaked overnight", 1
            ),
            Happening(on(2026, 5, 19), "cartridge-change", "Cartridges changed"),
            Happening(on(2026, 6, 1), "set-point-change", "Permeate up to 47 m3/h, new glasshouse on line"),
            Happening(on(2026, 8, 25), "cartridge-change", "Cartridges changed, slimy again"),
            Happening(
                SECOND_CLEANING, "cleaning", "Stage 1 with caustic, heater out of order, 19 degC, two hours only", 1
            ),
            Happening(on(2026, 9, 21), "note", "Pressure drop did not come down as in spring"),
        ),
        reference=(date(2025, 8, 4), date(2025, 8, 24)),
        typing_mistakes=0.0006,
    ),
)
