"""Checks of an entry: the trade's own examples of slips, and invented entries that are odd in one way each."""

import dataclasses

import pytest

from analytics.condition.entry_words import WORDS
from analytics.condition.plausible import Entry, Finding, check_entry
from analytics.condition.recent import FEWEST, Level, Recent, recent_of
from analytics.condition.rule_book import RuleBook, rule_book
from analytics.plant import Meters
from tests.analytics.condition.steady_train import STEADY, living, plant, readings

UNITS = {
    "feed_temperature_c": "degC", "feed_conductivity_us_cm": "uS/cm", "feed_flow_m3h": "m3/h",
    "feed_pressure_bar": "bar", "stage1_concentrate_pressure_bar": "bar", "concentrate_pressure_bar": "bar",
    "concentrate_flow_m3h": "m3/h", "concentrate_conductivity_us_cm": "uS/cm", "permeate_flow_m3h": "m3/h",
    "permeate_conductivity_us_cm": "uS/cm", "permeate_pressure_bar": "bar", "hours_counter_h": "h",
}  # fmt: skip
HOURS = 12_345.0
LAST = 1_767_938_400.0
"""2026-01-09T06:00Z, eight hours before the entries below, in seconds since 1970."""
SHIFT = {name: f"{value:g}" for name, value in STEADY.items() if name in UNITS} | {
    "feed_conductivity_us_cm": "2010", "feed_pressure_bar": "12.1", "permeate_flow_m3h": "29.9",
    "concentrate_pressure_bar": "9.5", "stage1_concentrate_pressure_bar": "10.7", "hours_counter_h": "12353",
    "permeate_conductivity_us_cm": "36.5", "concentrate_conductivity_us_cm": "7850",
}  # fmt: skip
"""An honest entry: each gauge near what it showed before."""


@pytest.fixture(scope="module")
def book() -> RuleBook:
    recent = recent_of(living(days=20), Meters())
    known = dataclasses.replace(
        recent, last={**recent.last, "hours_counter_h": HOURS}, last_at={**recent.last_at, "hours_counter_h": LAST}
    )
    return rule_book(plant(), known, UNITS)


def check(book: RuleBook, state: str = "running", **typed: str) -> list[Finding]:
    at = LAST + 8 * 3600
    return list(check_entry(book, Entry(SHIFT | typed, state, at, at)))


def one(book: RuleBook, **typed: str) -> Finding:
    found = check(book, **typed)
    assert len(found) == 1, found
    return found[0]


def test_an_honest_entry_is_not_asked_about(book: RuleBook) -> None:
    assert check(book) == []
    assert check(book, feed_pressure_bar="12,1") == []  # with a decimal comma


@pytest.mark.parametrize(
    ("column", "typed", "severity", "suggestion", "words"),
    [
        # facts of the trade: 174 in a bar field with a median of 12 is psi; ratios of units from NIST SP 811
        ("feed_pressure_bar", "174", "confirm", "12.0", "read in psi"),
        ("feed_pressure_bar", "1200", "confirm", "12.00", "read in kPa"),
        ("permeate_flow_m3h", "132", "ask", "30.0", "read in gpm"),
        ("feed_temperature_c", "77", "confirm", "25.0", "read in degF"),
        ("feed_conductivity_us_cm", "2.01", "ask", "2010", "read in mS/cm"),
        ("feed_pressure_bar", "121", "confirm", "12.1", "decimal point"),
        ("permeate_flow_m3h", "2.99", "ask", "29.9", "decimal point"),
        ("feed_pressure_bar", "21.1", "ask", "12.1", "digits may be swapped"),
        ("feed_pressure_bar", "17.3", "ask", "", ""),
    ],
)
def test_a_slip_is_asked_about_with_what_was_meant(
    book: RuleBook, column: str, typed: str, severity: str, suggestion: str, words: str
) -> None:
    found = one(book, **{column: typed})
    assert (found.severity, found.columns, found.suggestion) == (severity, (column,), suggestion)
    assert words in found.offer and typed in found.sentence


def test_the_example_of_swapped_digits() -> None:
    """Trade practice: 1423 typed as 1243 with a median of 1430; 180 apart, divisible by nine."""
    book = rule_book(
        plant(), Recent({"feed_conductivity_us_cm": Level(1430.0, 115.0)}), {"feed_conductivity_us_cm": "uS/cm"}
    )
    found = check_entry(book, Entry({"feed_conductivity_us_cm": "1243"}, "running", 0, 0))
    assert [(f.code, f.suggestion) for f in found] == [("jump", "1423")]


def test_counters_run_forward_and_no_faster_than_the_clock(book: RuleBook) -> None:
    back = one(book, hours_counter_h="12335")
    assert (back.code, back.severity) == ("counter back", "confirm")
    assert one(book, hours_counter_h="13253").suggestion == "12353"  # swapped
    fast = one(book, hours_counter_h="12363")
    assert (fast.code, fast.suggestion) == ("counter fast", "")
    assert "rose by 18 h" in fast.sentence
    earlier = Entry(SHIFT | {"hours_counter_h": "12000"}, "running", LAST - 3600, LAST)
    assert check_entry(book, earlier) == ()  # an entry for an earlier shift


def test_pressures_fall_along_the_way_of_the_water() -> None:
    book = rule_book(plant(), Recent(), UNITS)
    found = one(book, stage1_concentrate_pressure_bar="9.9", concentrate_pressure_bar="10.05")
    assert found.code == "pressure order"
    assert found.columns == ("stage1_concentrate_pressure_bar", "concentrate_pressure_bar")
    assert "10.05 bar" in found.sentence and "9.9 bar" in found.sentence


def test_a_gauge_that_is_always_out_of_order_is_not_asked_about_each_time() -> None:
    log = living(days=20, concentrate_pressure_bar=11.5)
    book = rule_book(plant(), recent_of(log, Meters()), UNITS)
    assert [f.code for f in check(book, concentrate_pressure_bar="11.5")] == []


def test_flows_and_salt_must_add_up() -> None:
    """Each within its own range, together impossible: 40 = 30 + 10 m3/h, see the steady train."""
    book = rule_book(plant(), Recent(), UNITS)
    assert check(book) == []
    found = one(book, feed_flow_m3h="52")
    assert (found.code, found.columns[0]) == ("flow balance", "feed_flow_m3h")
    # 52 - 29.9 - 10 = 12.1 of 52
    assert "52 m3/h" in found.sentence and "39.9 m3/h" in found.sentence and "23 %" in found.sentence
    salty = check(book, concentrate_conductivity_us_cm="16000")
    assert {f.code for f in salty} == {"salt balance"}


def test_the_usual_imbalance_of_a_train_is_not_asked_about() -> None:
    log = living(days=20, feed_flow_m3h=44.0)  # this meter reads 10 % high
    book = rule_book(plant(), recent_of(log, Meters()), UNITS)
    assert check(book, feed_flow_m3h="44.1") == []
    assert [f.code for f in check(book, feed_flow_m3h="42.0")] == ["flow balance"]


def test_a_copy_of_the_last_shift_is_asked_about(book: RuleBook) -> None:
    typed = {name: f"{book.copied.values[name]:g}" for name in UNITS if name in book.copied.values}
    found = check(book, **typed)
    assert [f.code for f in found] == ["copied"]
    assert "11 of 11 values" in found[0].sentence
    some = check(book, **dict(list(typed.items())[:5]))  # half of the gauges may stand still
    assert some == []


def test_a_copy_of_what_the_page_shows_is_one_though_the_log_knows_more_digits(book: RuleBook) -> None:
    last = {name: book.copied.values[name] for name in UNITS if name in book.copied.values}
    shown = {name: float(f"{value:.3g}") for name, value in last.items()}
    copied = {name: f"{value:g}" for name, value in shown.items()}
    assert [f.code for f in check(book, **copied)] == []
    known = dataclasses.replace(book, copied=dataclasses.replace(book.copied, shown=shown))
    assert [f.code for f in check(known, **copied)] == ["copied"]


def test_nothing_is_offered_that_is_of_another_size_than_usual(book: RuleBook) -> None:
    """The permeate runs at 0.5 bar and may well be at zero; that makes no tiny number what was meant."""
    assert one(book, permeate_pressure_bar="-0.4").offer == ""
    assert one(book, permeate_pressure_bar="17").offer == ""  # not 0.17 bar, read in kPa
    assert "read in kPa" in one(book, permeate_pressure_bar="52").offer


def test_a_comma_is_asked_about_where_nobody_can_tell_what_it_is() -> None:
    """Twelve hours and a half, or twelve thousand: on the first day both may be."""
    new = rule_book(plant(), Recent(), UNITS)
    found = one(new, hours_counter_h="12,480")
    assert (found.code, found.severity, found.suggestion) == ("comma", "ask", "12480")
    assert "12.480 h" in found.sentence
    for plain in ("12480", "12.480", "12,48", "0,480"):
        assert check(new, hours_counter_h=plain) == []
    assert check(new, feed_pressure_bar="12,125") == []  # 12 125 bar cannot be


def test_before_there_is_a_history_two_flows_must_make_a_recovery_that_can_be() -> None:
    """1.01 m3/h beside 29.9 m3/h of permeate would be a recovery of 97 %: a lost point."""
    new = rule_book(plant(), Recent(), {name: UNITS[name] for name in UNITS if name != "feed_flow_m3h"})
    alone = {"feed_flow_m3h": "", "concentrate_conductivity_us_cm": ""}
    assert check(new, **alone) == []
    found = one(new, concentrate_flow_m3h="1.01", **alone)
    assert (found.code, found.severity) == ("recovery", "ask")
    assert "30.91 m3/h" in found.sentence and "3.3 %" in found.sentence and "5 to 75 %" in found.sentence


def test_gauges_that_often_stand_still_are_not_held_to_be_copied() -> None:
    recent = recent_of(readings(days=20), Meters())
    book = rule_book(plant(), recent, UNITS)
    assert check(book, **{name: f"{STEADY[name]:g}" for name in UNITS if name in STEADY}) == []


def test_while_starting_or_stopped_only_what_cannot_be_is_asked_about(book: RuleBook) -> None:
    odd = {"permeate_flow_m3h": "0", "feed_pressure_bar": "3.0", "concentrate_pressure_bar": "3.2"}
    assert check(book, "stopped", **odd) == check(book, "starting", **odd) == []
    assert [f.code for f in check(book, "stopped", feed_pressure_bar="174")] == ["possible"]
    assert check(book, **odd) != []


def test_times_ahead_of_the_clock_or_long_ago_are_asked_about(book: RuleBook) -> None:
    at = LAST + 8 * 3600
    for now, code in ((at - 3600, "future"), (at + 32 * 86_400, "long ago")):
        found = check_entry(book, Entry(SHIFT, "running", at, now))
        assert [(f.code, f.columns) for f in found] == [(code, ("time",))]


def test_what_is_no_number_cannot_be_kept(book: RuleBook) -> None:
    assert one(book, feed_pressure_bar="12 bar").severity == "wrong"


def test_too_few_readings_make_nothing_usual() -> None:
    assert recent_of(living(days=(FEWEST - 1) / 3), Meters()).levels == {}
    assert recent_of(readings(days=0), Meters()).reading_at is None
    assert "feed_pressure_bar" in recent_of(living(days=FEWEST / 3), Meters()).levels


def test_every_sentence_has_its_places_filled(book: RuleBook) -> None:
    odd = check(book, feed_pressure_bar="174", hours_counter_h="1", permeate_flow_m3h="990", permeate_pressure_bar="3")
    assert len(odd) >= 4
    assert not [f for f in odd if "{" in f.sentence + f.offer]
    assert {f.code for f in odd} <= set(WORDS)
