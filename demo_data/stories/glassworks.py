"""Three stages with a booster before the last: silica in stage 3 until its elements were replaced, steady since."""

from datetime import date

from demo_data.files import Story
from demo_data.simulator.ageing import Change, compaction, replaced, scaling, slow_fouling
from demo_data.simulator.design import Design, Element, Stage
from demo_data.simulator.meters import Meter
from demo_data.simulator.operation import Operation, SetPoint
from demo_data.simulator.scenario import CONDUCTIVITY, PRESSURE, TEMPERATURE, Happening, Scenario, span_of
from demo_data.simulator.seasons import Season
from demo_data.simulator.shifts import Diary
from demo_data.stories.span import DAYS, START, on

REPLACED = on(2026, 2, 17, 8)
FLOW_METER = Meter("L/s", 0.01, noise_share=0.006)
PERMEATE_METER = Meter("uS/cm", 0.1, noise_share=0.01)
ELEMENT = Element(water_permeability_lmh_bar=3.6, salt_permeability_lmh=0.2)


def ageing() -> tuple[Change, ...]:
    """Stage 3 was the worst before the replacement; the dose was raised on the same day and the scaling ended."""
    third = (scaling(3, flow_loss=0.16, over_days=200.0, ends=REPLACED), compaction(0.03, stage=3))
    return (
        slow_fouling(1, flow_loss_per_year=0.03, friction_per_year=0.04),
        slow_fouling(2, flow_loss_per_year=0.02, friction_per_year=0.02),
        *replaced(third, stage=3, day=REPLACED),
    )


GLASSWORKS = Story(
    slug="umvolani-glassworks-ro-3",
    scenario=Scenario(
        days=DAYS,
        start=START,
        seed=20250806,
        site={
            "name": "Umvolani Glassworks",
            "timezone": "Africa/Johannesburg",
            "currency": "ZAR",
            "location": "Umvolani, cooling water house",
        },
        train={"name": "RO 3"},
        membrane={"area_m2": 37.0, "temperature_correction": "two-slope"},
        design=Design((Stage(5, 6, ELEMENT), Stage(3, 6, ELEMENT), Stage(2, 6, ELEMENT, booster_bar=3.0))),
        operation=Operation(
            46.0,
            0.80,
            permeate_pressure_bar=0.3,
            permeate_pressure_wander_bar=0.04,
            changes=(SetPoint(on(2026, 6, 15), permeate_flow_m3h=43.0),),
        ),
        temperature_c=Season(20.0, swing=4.5, lowest_day_of_year=200, wander=0.7),
        conductivity_us_cm=Season(2600.0, swing=180.0, lowest_day_of_year=60, wander=70.0),
        ageing=ageing(),
        meters={
            "feed_temperature_c": TEMPERATURE,
            "feed_pressure_bar": PRESSURE,
            "stage1_concentrate_pressure_bar": PRESSURE,
            "stage2_concentrate_pressure_bar": PRESSURE,
            "stage3_feed_pressure_bar": PRESSURE,
            "concentrate_pressure_bar": PRESSURE,
            "permeate_pressure_bar": PRESSURE,
            "permeate_flow_m3h": FLOW_METER,
            "concentrate_flow_m3h": FLOW_METER,
            "feed_conductivity_us_cm": CONDUCTIVITY,
            "permeate_conductivity_us_cm": PERMEATE_METER,
            "stage1_permeate_conductivity_us_cm": PERMEATE_METER,
            "stage2_permeate_conductivity_us_cm": PERMEATE_METER,
            "stage3_permeate_conductivity_us_cm": PERMEATE_METER,
            "concentrate_conductivity_us_cm": Meter("uS/cm", 10.0, noise_share=0.01),
        },
        diary=Diary(
            hours=(7.5, 16.0),
            lateness_minutes=15.0,
            missed=0.05,
            holidays=(span_of(START, date(2025, 12, 25), date(2025, 12, 28)),),
            standstills=(span_of(START, date(2026, 2, 16), date(2026, 2, 17)),),
            short_stops=0.015,
        ),
        happenings=(
            Happening(on(2025, 10, 20), "cartridge-change", "Cartridges changed"),
            Happening(on(2026, 2, 16, 6), "shutdown", "Stopped for the change of elements"),
            Happening(REPLACED, "element-replacement", "All 12 elements of stage 3 new, old ones hard and white", 3),
            Happening(on(2026, 2, 17, 12), "chemical-change", "Antiscalant dose raised from 2.5 to 3.5 mg/L"),
            Happening(on(2026, 2, 18, 7), "start-up", "Started, permeate to drain for two hours"),
            Happening(on(2026, 4, 28), "cartridge-change", "Cartridges changed"),
            Happening(on(2026, 6, 15), "set-point-change", "Permeate down to 43 m3/h, furnace 2 cold for repair"),
            Happening(on(2026, 9, 29), "cartridge-change", "Cartridges changed"),
        ),
        typing_mistakes=0.0007,
        remarks=True,
    ),
)
