"""How the fields of a shift log are put in order, and what an engineer can change about them."""

from analytics.quantities import COLUMNS
from server.shift.layout import LogField, laid_out, walk
from server.shift.layout_form import laid_out_anew

ORDER = list(walk(2))
FIELDS = laid_out(2, ["feed_pressure_bar", "permeate_flow_m3h", "feed_temperature_c"], [], {"feed_pressure_bar": "psi"})


def shown(fields: tuple[LogField, ...]) -> list[str]:
    return [field.column for field in fields if not field.hidden]


def test_the_walk_follows_the_water_and_has_every_gauge_of_the_train() -> None:
    assert shown(FIELDS) == ["feed_temperature_c", "feed_pressure_bar", "permeate_flow_m3h"]
    places = [ORDER.index(name) for name in (
        "raw_pressure_bar", "cartridge_inlet_pressure_bar", "pump_suction_pressure_bar", "feed_pressure_bar",
        "stage1_concentrate_pressure_bar", "stage2_permeate_flow_m3h", "concentrate_flow_m3h", "permeate_flow_m3h",
        "hours_counter_h")]  # fmt: skip
    assert places == sorted(places)
    left_out = {name for name, quantity in COLUMNS.items() if (quantity.stage or 0) <= 2} - set(ORDER)
    assert left_out == set()
    assert not [name for name in walk(1) if name.startswith("stage2")]


def test_a_new_train_is_asked_for_what_matters_most() -> None:
    assert "feed_temperature_c" in shown(laid_out(2, [], [], {})) and len(shown(laid_out(2, [], [], {}))) == 10


def test_what_is_kept_counts_and_what_is_not_known_any_more_is_passed_over() -> None:
    kept = [{"column": "no_such_column"},
            {"column": "permeate_flow_m3h", "tag": "FI-3", "unit": "gpm", "hidden": False},
            {"column": "feed_pressure_bar", "tag": "", "unit": "degC", "hidden": True}]  # fmt: skip
    fields = laid_out(2, ["feed_temperature_c"], kept, {"feed_pressure_bar": "psi"})
    assert fields[0] == LogField("permeate_flow_m3h", "Permeate", "FI-3", "gpm", False)
    assert (fields[1].column, fields[1].unit, fields[1].hidden) == ("feed_pressure_bar", "psi", True)
    assert len(fields) == len(ORDER)


def sent(*asked: str, **other: str) -> dict[str, str]:
    return {f"ask.{name}": "1" for name in asked} | other


def test_fields_move_up_and_down_but_not_off_the_list() -> None:
    order, asked = shown(FIELDS), sent(*shown(FIELDS))
    moved = laid_out_anew(FIELDS, order, asked | {"move": "up:permeate_flow_m3h"}, ORDER)
    assert shown(moved) == ["feed_temperature_c", "permeate_flow_m3h", "feed_pressure_bar"]
    for move in ("up:feed_temperature_c", "down:permeate_flow_m3h", "sideways:feed_pressure_bar", "up:nothing"):
        assert shown(laid_out_anew(FIELDS, order, asked | {"move": move}, ORDER)) == order


def test_a_field_asked_for_anew_takes_its_place_of_the_walk() -> None:
    order = [field.column for field in FIELDS]
    asked = sent(*shown(FIELDS), "pump_suction_pressure_bar", "hours_counter_h")
    fields = laid_out_anew(FIELDS, order, asked, ORDER)
    assert shown(fields) == ["feed_temperature_c", "pump_suction_pressure_bar", "feed_pressure_bar",
                             "permeate_flow_m3h", "hours_counter_h"]  # fmt: skip
    assert {field.column for field in fields} == set(ORDER)


def test_tags_and_units_are_taken_and_a_unit_that_does_not_fit_is_not() -> None:
    asked = sent("feed_pressure_bar") | {"tag.feed_pressure_bar": " PI-104 ", "unit.feed_pressure_bar": "kPa",
                                         "unit.feed_temperature_c": "bar"}  # fmt: skip
    fields = {field.column: field for field in laid_out_anew(FIELDS, shown(FIELDS), asked, ORDER)}
    assert (fields["feed_pressure_bar"].tag, fields["feed_pressure_bar"].unit) == ("PI-104", "kPa")
    assert (fields["feed_temperature_c"].unit, fields["feed_temperature_c"].hidden) == ("degC", True)
