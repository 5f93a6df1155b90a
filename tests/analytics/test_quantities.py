"""The glossary: one list, consistent with the units and with itself."""

import pytest

from analytics.errors import InvalidSettings
from analytics.quantities import COLUMNS, MAX_STAGES, QUANTITIES, Quantity, nearest_names, quantity
from analytics.units import UNITS


@pytest.mark.parametrize("entry", QUANTITIES.values(), ids=lambda q: q.name)
def test_each_entry_is_complete_and_its_ranges_lie_inside_each_other(entry: Quantity) -> None:
    assert UNITS[entry.unit].canonical == entry.unit
    assert entry.label[0].isupper()
    assert entry.meaning.endswith(".")
    assert entry.instrument.isupper()
    assert entry.possible[0] < entry.possible[1]
    assert entry.possible[0] <= entry.usual[0] < entry.usual[1] <= entry.possible[1]


def test_names_and_columns_are_unique_and_find_each_other() -> None:
    assert len(COLUMNS) == len(QUANTITIES)
    for column, entry in COLUMNS.items():
        assert entry.column == column
        assert QUANTITIES[entry.name] is entry


@pytest.mark.parametrize(
    ("name", "column"),
    [
        # Names and units as the design's table of canonical quantities prints them.
        ("feed_temperature", "feed_temperature_c"),
        ("feed_pressure", "feed_pressure_bar"),
        ("permeate_flow", "permeate_flow_m3h"),
        ("feed_conductivity", "feed_conductivity_us_cm"),
        ("feed_tds", "feed_tds_mg_l"),
        ("feed_ph", "feed_ph"),
        ("feed_orp", "feed_orp_mv"),
        ("feed_turbidity", "feed_turbidity_ntu"),
        ("pump_frequency", "pump_frequency_hz"),
        ("antiscalant_tank_level", "antiscalant_tank_level_l"),
        ("stage2_feed_pressure", "stage2_feed_pressure_bar"),
        ("stage4_concentrate_conductivity", "stage4_concentrate_conductivity_us_cm"),
    ],
)
def test_columns_are_name_and_unit(name: str, column: str) -> None:
    assert quantity(name).column == column


def test_the_feed_pressure_of_stage_1_is_the_feed_pressure_of_the_train() -> None:
    assert "stage1_feed_pressure" not in QUANTITIES
    assert {q.stage for q in QUANTITIES.values()} == {None, *range(1, MAX_STAGES + 1)}


def test_a_gauge_may_show_less_than_the_atmosphere_but_not_less_than_nothing() -> None:
    pressures = [q for q in QUANTITIES.values() if q.unit == "bar"]
    assert len(pressures) > 10
    # A gauge pressure below -1.013 bar would be less than a vacuum.
    assert all(-1.013 <= q.possible[0] <= 0 for q in pressures)


def test_an_unknown_name_is_refused_with_the_nearest_known_one() -> None:
    with pytest.raises(
        InvalidSettings, match='"feed_presure" is not a quantity known here; did you mean feed_pressure'
    ):
        quantity("feed_presure")
    with pytest.raises(InvalidSettings, match=r'"colour" is not a quantity known here$'):
        quantity("colour")


def test_nearest_names_reads_headers_as_people_write_them() -> None:
    assert "permeate_flow" in nearest_names("Permeate Flow")
    assert nearest_names("zzz") == ""
