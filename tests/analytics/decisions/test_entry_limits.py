"""What is said about an entry before the membranes: each limit by hand, and nothing where it cannot be known."""

import dataclasses
from typing import Any

import pytest

from analytics.condition.plausible import Entry, Finding, check_entry
from analytics.condition.recent import Recent, recent_of
from analytics.condition.rule_book import RuleBook, rule_book
from analytics.decisions.entry_limits import LEVEL, entry_limits
from analytics.plant import Meters
from analytics.quantities import COLUMNS
from tests.analytics.condition.steady_train import living, plant

AT = 1_772_000_000.0
EIGHT_HOURS = 8 * 3600.0
DOSING = {"antiscalant_mg_l": 3.0, "antiscalant_tank_share": 0.1, "antiscalant_density_kg_l": 1.15}
FIELDS = (
    "feed_sdi", "feed_free_chlorine_mg_l", "raw_free_chlorine_mg_l", "feed_orp_mv", "cartridge_inlet_pressure_bar",
    "cartridge_outlet_pressure_bar", "bisulfite_dose_mg_l", "antiscalant_dose_mg_l", LEVEL, "feed_flow_m3h",
    "permeate_flow_m3h", "concentrate_flow_m3h",
)  # fmt: skip


def book(
    *, recent: Recent | None = None, fields: tuple[str, ...] = FIELDS, psi: bool = False, **train: Any
) -> RuleBook:
    tank = Recent(last={LEVEL: 100.0}, last_at={LEVEL: AT - EIGHT_HOURS}) if recent is None else recent
    units = {name: "psi" if psi and COLUMNS[name].unit == "bar" else COLUMNS[name].unit for name in fields}
    built = plant(**{"dosing": DOSING} | train)
    return rule_book(built, tank, units, limits=entry_limits(built, tank, frozenset(units)))


def told(rules: RuleBook, state: str = "running", **typed: str) -> list[Finding]:
    return [one for one in check_entry(rules, Entry(typed, state, AT, AT)) if one.severity == "tell"]


@pytest.mark.parametrize(
    ("fine", "odd", "words"),
    [
        ({"feed_sdi": "4.9"}, {"feed_sdi": "5.2"}, "SDI 5.2 is above 5"),
        ({"feed_free_chlorine_mg_l": "0.05"}, {"feed_free_chlorine_mg_l": "0.3"},
         "Free chlorine 0.3 mg/L reaches the membranes and destroys them: restore dechlorination now."),
        ({"cartridge_inlet_pressure_bar": "2.9", "cartridge_outlet_pressure_bar": "2.0"},
         {"cartridge_inlet_pressure_bar": "3.3", "cartridge_outlet_pressure_bar": "2.0"},
         "The cartridge filter takes 1.3 bar; at 1 bar cartridges are changed."),
        # by hand: 1.2 mg/L over 1.0 mg/L is 1.2; the strongest sulfite takes 190.10 / 2 / 70.906 = 1.34 (molar masses)
        ({"bisulfite_dose_mg_l": "1.5", "raw_free_chlorine_mg_l": "1.0"},
         {"bisulfite_dose_mg_l": "1.2", "raw_free_chlorine_mg_l": "1.0"},
         "Bisulfite is 1.2 times the chlorine before it; the reaction alone takes 1.34."),
        ({"antiscalant_dose_mg_l": "3.4"}, {"antiscalant_dose_mg_l": "2.4"},
         "Antiscalant 2.4 mg/L is not what is meant here, 2.55 to 3.45 mg/L"),
        ({"antiscalant_dose_mg_l": "2.6"}, {"antiscalant_dose_mg_l": "4"}, "draw the pump down"),
        # by hand: 3 mg/L of 40 m3/h in 8 h are 960 g: 8.35 L of a tank with 0.1 x 1.15 kg/L; 4 L are 1.44 mg/L
        ({LEVEL: "91.65", "feed_flow_m3h": "40"}, {LEVEL: "96", "feed_flow_m3h": "40"},
         "By the tank, 1.44 mg/L of antiscalant went in"),
    ],
)  # fmt: skip
def test_each_limit_by_hand(fine: dict[str, str], odd: dict[str, str], words: str) -> None:
    assert told(book(), **fine) == []
    (found,) = told(book(), **odd)
    assert words in found.sentence and set(found.columns) == set(odd)
    assert told(book(), "stopped", **odd) == []


def test_a_drop_in_psi_is_told_in_psi() -> None:
    # By hand: 48 - 30 = 18 psi are 1.24 bar; the limit of 1 bar is 14.5 psi.
    (found,) = told(book(psi=True), cartridge_inlet_pressure_bar="48", cartridge_outlet_pressure_bar="30")
    assert "takes 18 psi; at 14.5 psi" in found.sentence


def test_orp_is_held_against_the_sites_own() -> None:
    log = living(days=20)
    log["feed_orp_mv"], log["feed_free_chlorine_mg_l"] = 180.0, 0.0
    rules = book(recent=recent_of(log, Meters()))
    assert told(rules, feed_orp_mv="225") == []
    (found,) = told(rules, feed_orp_mv="236")
    assert "ORP 236 mV is above 230 mV" in found.sentence
    assert not any(one.words == "high orp" for one in book().limits.values)  # a site whose own is not known


@pytest.mark.parametrize(
    ("level", "hours"), [("101", 8), ("99", 2), ("60", 100)], ids=["filled up", "too soon", "too late"]
)
def test_a_tank_says_nothing_where_it_cannot(level: str, hours: float) -> None:
    recent = Recent(last={LEVEL: 100.0}, last_at={LEVEL: AT - hours * 3600})
    assert told(book(recent=recent), **{LEVEL: level, "feed_flow_m3h": "40"}) == []


def test_the_feed_of_a_tank_may_be_the_sum_of_permeate_and_concentrate() -> None:
    fields = tuple(name for name in FIELDS if name != "feed_flow_m3h")
    (found,) = told(book(fields=fields), **{LEVEL: "96", "permeate_flow_m3h": "30", "concentrate_flow_m3h": "10"})
    assert "1.44 mg/L" in found.sentence


def test_without_a_target_or_a_field_nothing_is_said() -> None:
    assert not book(dosing={}).limits.tanks
    assert "antiscalant" not in {one.words for one in book(dosing={}).limits.values}
    assert book(fields=("feed_sdi",)).limits.values == tuple(
        one for one in book().limits.values if one.words == "high sdi"
    )


def test_a_value_that_cannot_be_is_asked_about_and_not_judged() -> None:
    found = check_entry(book(), Entry({"feed_sdi": "60"}, "running", AT, AT))
    assert [one.severity for one in found] == ["confirm"]


def test_a_jump_of_chlorine_is_asked_about_and_told() -> None:
    log = living(days=20)
    log["feed_free_chlorine_mg_l"] = 0.0
    found = check_entry(
        book(recent=recent_of(log, Meters())), Entry({"feed_free_chlorine_mg_l": "0.6"}, "running", AT, AT)
    )
    assert [one.severity for one in found][-1:] == ["tell"]


def test_a_book_goes_through_json() -> None:
    table = book().table()
    assert table["limits"]["tanks"][0]["level"] == LEVEL and dataclasses.is_dataclass(book().limits)
