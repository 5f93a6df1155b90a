"""The page's twin of the rules says word for word what the rules say, over many entries that are odd in every way."""

import dataclasses
import json
import random
from pathlib import Path
from typing import Any

import pytest

from analytics.condition.entry_words import WORDS
from analytics.condition.plausible import Entry, check_entry
from analytics.condition.recent import recent_of
from analytics.condition.rule_book import RuleBook, rule_book
from analytics.condition.typed_number import plain_number
from analytics.decisions.entry_limits import entry_limits
from analytics.quantities import COLUMNS
from analytics.units import units_of
from server import templating
from server.db import json_text
from server.display import UNIT_SYMBOLS
from tests.analytics.condition.steady_train import STEADY, living, plant

pytestmark = pytest.mark.xdist_group("browser")

SCRIPT = Path(templating.__file__).parent / "static" / "shift-rules.js"
ENTRIES = 600
NOW = 1_772_000_000.0
ODD = ("", " ", "12 bar", "1.234,5", "1,234.5", "1 243", "−5", "+7", ".5", ",5", "5.", "1e5", "0", "00012", "-0",
       "1,2,3", "9999999999", "0.00001", "1,234", "12,480", "1.000.000", "12345678901234567890",
       "\u202f12")  # fmt: skip


BEFORE = (
    "feed_sdi",
    "feed_free_chlorine_mg_l",
    "raw_free_chlorine_mg_l",
    "feed_orp_mv",
    "cartridge_inlet_pressure_bar",
    "cartridge_outlet_pressure_bar",
    "bisulfite_dose_mg_l",
    "antiscalant_dose_mg_l",
    "antiscalant_tank_level_l",
)
OFFERS = {"meant unit": "read in psi", "meant point": "point may be lost", "meant digits": "digits may be swapped",
          "meant comma": "leave the comma out"}  # fmt: skip


def books() -> list[RuleBook]:
    """Of a train with a history, in gauges of many units; of one with counters; and of a new one."""
    rng = random.Random(2)
    log = living(days=20)
    log["hours_counter_h"] = [12_000.0 + 8 * n for n in range(len(log))]
    log["permeate_counter_m3"] = [512_000.0 + 240 * n for n in range(len(log))]
    columns = [*STEADY, "hours_counter_h", "permeate_counter_m3", "feed_ph", "pump_suction_pressure_bar"]
    many = {name: rng.choice(units_of(COLUMNS[name].unit)) for name in columns}
    dosed = plant(dosing={"antiscalant_mg_l": 5.0, "antiscalant_tank_share": 1.0, "antiscalant_density_kg_l": 1.0})
    log["antiscalant_tank_level_l"], log["feed_orp_mv"], log["feed_free_chlorine_mg_l"] = 6.0, 3.0, 0.0
    before = {name: rng.choice(units_of(COLUMNS[name].unit)) for name in (*columns, *BEFORE)}
    with_limits = recent_of(log, dosed.train.meters)
    limits = entry_limits(dosed, with_limits, frozenset(before))
    return [
        rule_book(dosed, with_limits, before, UNIT_SYMBOLS, limits=limits),
        rule_book(plant(), recent_of(log, plant().train.meters), {name: COLUMNS[name].unit for name in columns}),
        rule_book(plant(boosters=(2,)), recent_of(log, plant().train.meters), many, UNIT_SYMBOLS),
        rule_book(plant(), recent_of(log[:0], plant().train.meters), many, UNIT_SYMBOLS),
    ]


def entry(rng: random.Random, book: RuleBook) -> Entry:
    """Values near the steady train's, of which some are spoilt."""
    typed = {}
    for rule in book.fields:
        usual = STEADY.get(rule.column, rule.counter[0] + 3 if rule.counter else 5.0)
        if rng.random() < 0.1:
            continue
        value = (usual * rng.gauss(1, 0.01) - rule.offset) / rule.factor
        if rng.random() < 0.15:
            value *= rng.choice([14.5038, 0.0689, 4.403, 0.2271, 10, 0.1, 100, 1000, -1, 1.3, 0.8])
        text = f"{value:.{rng.choice([0, 1, 2, 3])}f}"
        if rng.random() < 0.1 and len(text) > 2:
            text = text[1] + text[0] + text[2:]
        typed[rule.column] = rng.choice(ODD) if rng.random() < 0.05 else text.replace(".", rng.choice([".", ","]))
    if rng.random() < 0.1:
        last = {rule.column: book.copied.values.get(rule.column) for rule in book.fields}
        factor = {rule.column: (rule.factor, rule.offset) for rule in book.fields}
        typed |= {name: f"{(value - factor[name][1]) / factor[name][0]:.10g}" for name, value in last.items() if value}
    taken = (book.newest_s or NOW) + rng.choice([-3600, 60, 8 * 3600, 24 * 3600, 40 * 86_400])
    state = rng.choice(["running", "running", "running", "starting", "stopped"])
    return Entry(typed, state, taken, taken + rng.choice([0, 600, -3600, 60 * 86_400]))


def test_both_say_the_same(browser: Any) -> None:
    rng, page = random.Random(5), browser.new_page()
    page.add_script_tag(path=SCRIPT)
    seen: set[str] = set()
    for book in books():
        entries = [entry(rng, book) for _ in range(ENTRIES // 3)]
        ours = [[json.loads(json_text(dataclasses.asdict(f))) for f in check_entry(book, one)] for one in entries]
        theirs = page.evaluate(
            "([book, entries]) => entries.map(entry => ShiftRules.checkEntry(book, entry))",
            [json.loads(json_text(book.table())), [dataclasses.asdict(one) for one in entries]],
        )
        for one, our, their in zip(entries, ours, theirs, strict=True):
            assert our == their, one
        seen |= {finding["code"] for found in ours for finding in found}
        offers = " ".join(finding["offer"] for found in ours for finding in found)
        seen |= {how for how, words in OFFERS.items() if words in offers}
    assert seen == set(WORDS), set(WORDS) - seen
    page.close()


def test_both_read_the_same_numbers(browser: Any) -> None:
    rng, page = random.Random(6), browser.new_page()
    page.add_script_tag(path=SCRIPT)
    texts = [*ODD, *("".join(rng.choices("0123456789.,-+ '", k=rng.randint(1, 9))) for _ in range(2_000))]
    assert page.evaluate("texts => texts.map(text => ShiftRules.plainNumber(text))", texts) == [
        plain_number(text) for text in texts
    ]
    page.close()
