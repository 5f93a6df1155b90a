"""The economic interval of a train from its assessment and prices, against a calculation by hand."""

from typing import Any

import pytest

from analytics.plant import CleaningSystem, Membrane, Plant, Site, Stage, Train
from server.cleanings.economics import cleaning_price, economics_of, recorded_cost, recorded_means

PLANT = Plant(
    Site("Somewhere", currency="EUR"),
    Train(
        "RO 1",
        (Stage(4, 6, Membrane(area_m2=37.0)), Stage(2, 6, Membrane(area_m2=37.0))),
        cleaning=CleaningSystem(30.0, 77.9, 1.1, 250.0),
    ),
)
PRICES = {"energy_price": 0.12, "pump_efficiency": 0.651, "chemicals_cost": 900.0}


def document(*, flow: float | None = -0.10 / 3, drop: float | None = None, aim: str | None = None) -> dict[str, Any]:
    """The parts of an assessment that count: 9 bar, 20 m3/h, and changes in 30 days."""
    changes = {("train", "permeate_flow"): flow, ("stage1", "pressure_drop"): drop}
    return {
        "reference": {
            "conditions": {"net_driving_pressure_bar": 9.0, "feed_flow_m3h": 20.0, "permeate_flow_m3h": 15.0},
            "stages": {"stage1": {"pressure_drop_bar": 1.0}},
        },
        "indicators": [
            {"scope": scope, "name": name, "change_per_30_days": value} for (scope, name), value in changes.items()
        ],
        "runs": [{"start": "2026-01-01", "end": "2026-03-01"}],
        "cleaning": {"aim": aim},
    }


def test_the_worked_example_by_hand() -> None:
    # By hand: 10 % in 90 days at 9 bar is 0.010 bar a day, 0.02458 a day each day; with its heat (0.12 * 2 * 11.6 kWh)
    # a cleaning costs 902.8: sqrt(2 * 902.8 / 0.02458) = 271.0 days.
    found = economics_of(PLANT, document(), PRICES, 1)
    assert found.interval is not None and found.pressure_growth_bar == pytest.approx(0.010)
    assert found.price.total == pytest.approx(902.8, abs=0.1)
    assert found.interval.optimum_days == pytest.approx(271.0, abs=0.5)
    assert found.limit_days is None and not found.interval.bounded_by_limit


def test_the_limit_bounds_what_money_wants() -> None:
    # By hand: from 1 January to 1 April are 90 days.
    found = economics_of(PLANT, document(aim="2026-04-01"), PRICES, 1)
    assert found.interval is not None and found.limit_days == 90.0
    assert found.interval.planned_days == 90.0 and found.interval.bounded_by_limit


def test_pressure_drop_and_a_pump_at_its_limit_count() -> None:
    # By hand: 0.010 bar and half of 1.0 bar * 0.03 / 30 d = 0.0005: 0.0105 bar a day; 2.1 bar are gone after 200 days.
    prices = PRICES | {"spare_pressure_bar": 2.1, "water_value": 1.0}
    found = economics_of(PLANT, document(drop=0.03), prices, 1)
    assert found.pressure_growth_bar == pytest.approx(0.0105) and found.pump_limit_days == pytest.approx(200.0)
    without = economics_of(PLANT, document(drop=0.03), prices | {"spare_pressure_bar": 99.0}, 1)
    assert found.interval is not None and without.interval is not None
    assert found.interval.optimum_days < without.interval.optimum_days


def test_what_one_cleaning_costs_by_hand() -> None:
    # By hand, stage 1: 1.0 m3 a bath, 2 baths and 4 volumes of rinse are 6 m3 at 1.5 and 0.5; 10 h at 40; 8 h of
    # 15 m3/h at 0.5; 24 elements of 500 over 40 cleanings; 2 * 11.63 kWh at 0.12.
    prices = PRICES | {
        "waste_price": 1.5, "water_value": 0.5, "labour_hours": 10.0, "labour_rate": 40.0, "downtime_hours": 8.0,
        "element_price": 500.0, "cleanings_in_life": 40.0,
    }  # fmt: skip
    found = cleaning_price(PLANT, document(), prices, 1)
    assert (found.water_and_waste, found.labour, found.lost_production, found.exposure) == pytest.approx(
        (12, 400, 60, 300)
    )
    assert found.energy == pytest.approx(2 * 11.63 * 0.12, abs=0.01)


@pytest.mark.parametrize(
    ("prices", "given", "said"),
    [
        ({}, document(), "what electricity costs"),
        (PRICES | {"chemicals_cost": 0.0}, document(), "what a cleaning costs"),
        (PRICES, None, "no assessment yet"),
        (PRICES, document(flow=None), "cannot be told yet"),
        (PRICES, document(flow=0.01), "Nothing gets worse"),
    ],
)
def test_what_is_missing_is_said(prices: dict[str, float], given: dict[str, Any] | None, said: str) -> None:
    found = economics_of(PLANT, given, prices, 1)
    assert found.interval is None and said in found.missing


def test_a_recorded_cleaning_is_priced_by_what_was_written_down() -> None:
    # By hand: 365 + 15 h * 48 + 27 h * 15 m3/h * 0.9 = 1449.5.
    content = {"chemicals_cost": 365.0, "labour_hours": 15.0, "downtime_hours": 27.0}
    assert recorded_cost(content, document(), {"labour_rate": 48.0, "water_value": 0.9}) == pytest.approx(1449.5)
    assert recorded_cost({}, document(), PRICES) is None


def test_what_the_records_say_stands_for_a_price_that_is_not_entered() -> None:
    records: list[dict[str, Any]] = [
        {"chemicals_cost": 300.0, "labour_hours": 10.0}, {"chemicals_cost": 100.0}, {"remarks": "nothing counted"},
    ]  # fmt: skip
    assert recorded_means(records) == {"chemicals_cost": 200.0, "labour_hours": 10.0}  # by hand
    assert recorded_means([]) == {}
