"""A healthy two-stage train on river-bank water: a cold winter, a summer with more beer, and membranes that hold."""

from datetime import date

import numpy as np

from demo_data.files import Story
from demo_data.simulator.ageing import slow_fouling
from demo_data.simulator.design import Design, Element, Stage
from demo_data.simulator.meters import Meter
from demo_data.simulator.operation import Operation, SetPoint
from demo_data.simulator.scenario import CONDUCTIVITY, FLOW, PRESSURE, TEMPERATURE, Happening, Scenario, span_of
from demo_data.simulator.seasons import Season
from demo_data.simulator.shifts import Diary
from demo_data.simulator.water import FloatArray
from demo_data.stories.span import DAYS, START, on

CARTRIDGE_CHANGES = (on(2025, 10, 14), on(2026, 1, 13), on(2026, 4, 8), on(2026, 6, 30), on(2026, 9, 22))


def cartridge_outlet(days: FloatArray, _rng: np.random.Generator) -> FloatArray:
    """Pressure after the cartridge filter: 2.4 bar when new, 0.6 bar less after three months. [bar]"""
    changes = np.asarray((-20.0, *CARTRIDGE_CHANGES))
    age = days - changes[np.searchsorted(changes, days, side="right") - 1]
    return np.asarray(2.4 - 0.6 * (age / 90.0) ** 1.5)


BREWERY = Story(
    slug="obermarn-brewery-ro-a",
    scenario=Scenario(
        days=DAYS,
        start=START,
        seed=20250801,
        site={"name": "Obermarn Brewery", "timezone": "Europe/Vienna", "currency": "EUR", "location": "Obermarn"},
        train={"name": "RO A", "assumed": {"permeate_pressure": 0.6}},
        membrane={"area_m2": 37.0, "temperature_correction": "two-slope"},
        design=Design(
            (Stage(4, 6, Element(water_permeability_lmh_bar=3.7)), Stage(2, 6, Element(water_permeability_lmh_bar=3.7)))
        ),
        operation=Operation(
            30.0,
            0.75,
            permeate_pressure_bar=0.6,
            permeate_pressure_wander_bar=0.04,
            changes=(
                SetPoint(on(2026, 2, 2), recovery=0.73),
                SetPoint(on(2026, 3, 16), recovery=0.75),
                SetPoint(on(2026, 5, 11), permeate_flow_m3h=32.0),
                SetPoint(on(2026, 9, 7), permeate_flow_m3h=30.0),
            ),
        ),
        temperature_c=Season(14.5, swing=7.5, lowest_day_of_year=36, wander=0.8),
        conductivity_us_cm=Season(1100.0, swing=80.0, lowest_day_of_year=120, wander=30.0),
        ageing=(
            slow_fouling(1, flow_loss_per_year=0.015, friction_per_year=0.02),
            slow_fouling(2, flow_loss_per_year=0.010, friction_per_year=0.01),
        ),
        meters={
            "feed_temperature_c": TEMPERATURE,
            "cartridge_outlet_pressure_bar": PRESSURE,
            "feed_pressure_bar": PRESSURE,
            "stage1_concentrate_pressure_bar": PRESSURE,
            "concentrate_pressure_bar": PRESSURE,
            "feed_flow_m3h": Meter("m3/h", 0.1, noise_share=0.006, offset_share=0.006),
            "permeate_flow_m3h": FLOW,
            "stage1_permeate_flow_m3h": FLOW,
            "feed_conductivity_us_cm": CONDUCTIVITY,
            "permeate_conductivity_us_cm": Meter("uS/cm", 0.1, noise_share=0.01),
            "concentrate_conductivity_us_cm": Meter("uS/cm", 10.0, noise_share=0.01),
        },
        extras={"cartridge_outlet_pressure_bar": cartridge_outlet},
        diary=Diary(
            lateness_minutes=12.0,
            missed=0.04,
            holidays=(span_of(START, date(2026, 4, 3), date(2026, 4, 6)),),
            standstills=(span_of(START, date(2025, 12, 24), date(2026, 1, 1)),),
            short_stops=0.015,
        ),
        happenings=(
            *(Happening(day, "cartridge-change", "Cartridges changed, light brown") for day in CARTRIDGE_CHANGES),
            Happening(on(2025, 12, 24, 8), "shutdown", "Brewhouse closed over Christmas, train flushed and left full"),
            Happening(on(2026, 1, 2, 5), "start-up", "Started again, first hour to drain"),
            Happening(on(2026, 2, 2), "set-point-change", "Recovery down to 73 %, cold water and high pressure"),
            Happening(on(2026, 3, 16), "set-point-change", "Recovery back to 75 %"),
            Happening(on(2026, 5, 11), "set-point-change", "Permeate up to 32 m3/h for the summer"),
            Happening(on(2026, 5, 27, 9), "meter-calibration", "Conductivity meters checked against the hand meter"),
            Happening(on(2026, 9, 7), "set-point-change", "Permeate back to 30 m3/h"),
        ),
        reference=(date(2025, 8, 4), date(2025, 8, 24)),
        typing_mistakes=0.0006,
        remarks=True,
    ),
)
