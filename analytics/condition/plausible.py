"""Check an entry of the shift log against the rules of its train: what is odd, why, and what may have been meant.

Nothing is changed and nothing is refused but what is no number: `ask` means that the value is kept when the person
says so, `confirm` that a reason is wanted; `tell` wants no answer. A page that has no connection checks by the same
rule book with the twin of this module (`server/static/shift-rules.js`); a test holds the two together.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Literal

from analytics.condition.meanings import swapped
from analytics.condition.rule_book import BalanceRule, FieldRule, LimitRule, PathRule, RuleBook, TankRule
from analytics.condition.typed_number import count_digits, number_text, plain_number, shifted, without_comma

Severity = Literal["wrong", "confirm", "ask", "tell"]
SAME_WITHIN = 1e-6
"""Share by which a value may differ from another and be the same: what is lost on the way through a unit. [-]"""


@dataclass(frozen=True)
class Entry:
    """What is checked: values as typed by column, what the train was doing, when, and what time it is now. [s]"""

    typed: Mapping[str, str]
    state: str
    taken_at_s: float
    now_s: float


@dataclass(frozen=True)
class Finding:
    """One thing that is odd about an entry; `suggestion` is what to type instead, where something was found."""

    code: str
    severity: Severity
    columns: tuple[str, ...]
    sentence: str
    suggestion: str = ""
    offer: str = ""


@dataclass(frozen=True)
class _Target:
    """Where a value would be believed; `middle` None where only a range is known."""

    low: float
    high: float
    middle: float | None


@dataclass
class _Check:
    """An entry on its way through the rules."""

    book: RuleBook
    entry: Entry
    values: dict[str, float] = field(default_factory=dict)
    findings: list[Finding] = field(default_factory=list)

    @property
    def rules(self) -> dict[str, FieldRule]:
        return {rule.column: rule for rule in self.book.fields}

    def say(self, code: str, severity: Severity, columns: tuple[str, ...], **places: str) -> None:
        self.findings.append(Finding(code, severity, columns, _fill(self.book.words[code], places)))


def check_entry(book: RuleBook, entry: Entry) -> tuple[Finding, ...]:
    """Everything that is odd about an entry, in the order of the fields, then what is odd between them.

    Examples
    --------
    >>> from analytics.condition.recent import Level, Recent
    >>> from analytics.condition.rule_book import rule_book
    >>> from analytics.plant import Membrane, Plant, Site, Stage, Train
    >>> plant = Plant(Site("Quay"), Train("RO 1", (Stage(2, 6, Membrane(37.0)),)))
    >>> book = rule_book(plant, Recent({"feed_pressure_bar": Level(12.0, 0.8)}), {"feed_pressure_bar": "bar"})
    >>> check_entry(book, Entry({"feed_pressure_bar": "174"}, "running", 0, 0))[0].offer
    'Did you mean 12.0 bar (read in psi)?'
    """
    check = _Check(book, entry)
    for rule in book.fields:
        text = entry.typed.get(rule.column, "")
        if text.strip():
            _check_value(check, rule, text)
    if entry.state == "running":
        odd = {name for finding in check.findings for name in finding.columns}
        for path in book.paths:
            _check_path(check, path, odd)
        for balance in book.balances:
            _check_balance(check, balance, odd)
        doubted = {name for f in check.findings if f.severity in ("wrong", "confirm") for name in f.columns}
        for limit in book.limits.values:
            _check_limit(check, limit, doubted)
        for tank in book.limits.tanks:
            _check_tank(check, tank, doubted)
        _check_copied(check)
    _check_time(check)
    return tuple(check.findings)


def _check_value(check: _Check, rule: FieldRule, text: str) -> None:
    digits = plain_number(text)
    if digits is None:
        check.say("number", "wrong", (rule.column,))
        return
    value = float(digits) * rule.factor + rule.offset
    check.values[rule.column] = value
    running = check.entry.state == "running"
    count = len(check.findings)
    if value < rule.possible[0] or value > rule.possible[1]:
        _odd(check, rule, digits, "possible", "confirm", _target(rule), low=rule.possible[0], high=rule.possible[1])
    elif rule.counter is not None:
        _check_counter(check, rule, digits, value)
    elif running and rule.recent is not None:
        low, middle, high = rule.recent
        if value < low or value > high:
            _odd(check, rule, digits, "jump", "ask", _target(rule), middle=middle)
    elif running and (value < rule.usual[0] or value > rule.usual[1]):
        _odd(check, rule, digits, "usual", "ask", _target(rule), low=rule.usual[0], high=rule.usual[1])
    if len(check.findings) == count and rule.recent is None and rule.counter is None:
        _check_comma(check, rule, text, digits)


def _check_comma(check: _Check, rule: FieldRule, text: str, digits: str) -> None:
    """Whether a comma is a decimal or a thousands mark, where no reading from before can tell."""
    other = without_comma(text)
    if other is None or not rule.usual[0] <= float(other) * rule.factor + rule.offset <= rule.usual[1]:
        return
    places = {"label": rule.label, "value": digits, "unit": rule.unit, "suggestion": other}
    words = check.book.words
    sentence, offer = _fill(words["comma"], places), _fill(words["meant comma"], places)
    check.findings.append(Finding("comma", "ask", (rule.column,), sentence, other, offer))


def _target(rule: FieldRule) -> _Target:
    return _Target(*rule.meant, None if rule.recent is None else rule.recent[1])


def _check_counter(check: _Check, rule: FieldRule, digits: str, value: float) -> None:
    """A counter must not go backwards, nor faster than the clock or its meter allow."""
    assert rule.counter is not None
    last, last_at, rate = rule.counter
    hours = (check.entry.taken_at_s - last_at) / 3600
    if hours < 0:
        return
    most = last + rate * hours + 1
    target = _Target(last, most, (last + most) / 2)
    if value < last:
        _odd(check, rule, digits, "counter back", "confirm", target, last=last)
    elif value > most:
        _odd(check, rule, digits, "counter fast", "ask", target, rise=value - last)


def _odd(
    check: _Check, rule: FieldRule, digits: str, code: str, severity: Severity, target: _Target, **numbers: float
) -> None:
    """Note a value that is odd, with what may have been meant."""
    words = check.book.words
    places = {"label": rule.label, "value": digits, "unit": rule.unit}
    for name, number in numbers.items():
        offset = 0.0 if name == "rise" else rule.offset
        places[name] = number_text((number - offset) / rule.factor, 3)
    suggestion, how, other = _meant(rule, digits, target)
    places |= {"suggestion": suggestion, "other": other}
    offer = _fill(words[how], places) if suggestion else ""
    check.findings.append(Finding(code, severity, (rule.column,), _fill(words[code], places), suggestion, _tidy(offer)))


def _meant(rule: FieldRule, digits: str, target: _Target) -> tuple[str, str, str]:
    """What to type instead, by which sentence, and in which unit it was read: the nearest meaning that fits."""
    number = float(digits)
    found: list[tuple[float, str, str, str]] = []
    for symbol, power, factor, offset in rule.others:
        value = number * factor + offset
        if power == 0:
            text = number_text((value - rule.offset) / rule.factor, max(3, count_digits(digits)), trim=False)
            found += [(value, text, "meant unit", symbol)]
        else:
            found += [(value, shifted(digits, power), "meant point", "")]
    found += [(float(text) * rule.factor + rule.offset, text, "meant digits", "") for text in swapped(digits)]
    best, best_distance = ("", "", ""), float("inf")
    for value, text, how, other in found:
        if value < target.low or value > target.high:
            continue
        distance = 0.0 if target.middle is None else abs(value - target.middle)
        if distance < best_distance:
            best, best_distance = (text, how, other), distance
    return best


def _check_path(check: _Check, path: PathRule, odd: set[str]) -> None:
    known = [name for name in path.columns if name in check.values and name not in odd]
    for first, second in pairwise(known):
        if check.values[second] > check.values[first] + path.tolerance:
            places: dict[str, str] = {}
            for name, column in (("first", first), ("second", second)):
                rule = check.rules[column]
                places |= {name: rule.label, f"{name}_unit": rule.unit}
                places[f"{name}_value"] = number_text((check.values[column] - rule.offset) / rule.factor)
            check.say(path.words, "ask", (first, second), **places)


def _check_balance(check: _Check, balance: BalanceRule, odd: set[str]) -> None:
    columns = balance.columns
    if any(name not in check.values or name in odd for name in columns):
        return
    whole, parts = (_sum_of_products(side, check.values) for side in (balance.whole, balance.parts))
    if whole <= 0:
        return
    off = (whole - parts) / whole
    if balance.low <= off <= balance.high:
        return
    rule = check.rules[columns[0]]
    check.say(
        balance.words, "ask", columns, label=rule.label, unit=rule.unit, percent=number_text(100 * abs(off), 2),
        whole=number_text((whole - rule.offset) / rule.factor), parts=number_text((parts - rule.offset) / rule.factor),
    )  # fmt: skip


def _check_limit(check: _Check, limit: LimitRule, odd: set[str]) -> None:
    columns = tuple(dict.fromkeys(name for term in (*limit.value, *limit.minus, *limit.over) for name in term))
    if any(name not in check.values or name in odd for name in columns):
        return
    over = _sum_of_products(limit.over, check.values) if limit.over else 1.0
    if over <= 0:
        return
    found = (_sum_of_products(limit.value, check.values) - _sum_of_products(limit.minus, check.values)) / over
    if limit.low <= found <= limit.high:
        return
    rule = check.rules[columns[0]]
    scale = rule.factor if limit.in_unit else 1.0
    check.say(
        limit.words, "tell", columns, unit=rule.unit, found=number_text(found / scale, 3),
        low=number_text(limit.low / scale, 3), high=number_text(limit.high / scale, 3),
    )  # fmt: skip


def _check_tank(check: _Check, tank: TankRule, odd: set[str]) -> None:
    columns = (tank.level, *dict.fromkeys(name for term in tank.over for name in term))
    hours = (check.entry.taken_at_s - tank.last_at_s) / 3600
    if any(name not in check.values or name in odd for name in columns):
        return
    over, fall = _sum_of_products(tank.over, check.values), tank.last - check.values[tank.level]
    if over <= 0 or fall < 0 or hours < tank.least_hours or hours > tank.most_hours:
        return
    found = fall * tank.scale / (hours * over)
    if tank.low <= found <= tank.high:
        return
    numbers = {"found": found, "low": tank.low, "high": tank.high}
    check.say(tank.words, "tell", columns, **{name: number_text(value, 3) for name, value in numbers.items()})


def _sum_of_products(side: tuple[tuple[str, ...], ...], values: Mapping[str, float]) -> float:
    total = 0.0
    for term in side:
        product = 1.0
        for name in term:
            product *= values[name]
        total += product
    return total


def _check_copied(check: _Check) -> None:
    """Hardly any value has moved since the last reading, or differs from what is shown of it."""
    rule, count, same = check.book.copied, 0, []
    for name, value in check.values.items():
        last = rule.values.get(name)
        if last is None:
            continue
        count += 1
        if any(abs(value - known) <= SAME_WITHIN * abs(known) for known in (last, rule.shown.get(name, last))):
            same.append(name)
    if len(same) >= rule.least and len(same) >= rule.share * count:
        check.say("copied", "ask", tuple(same), same=str(len(same)), count=str(count))


def _check_time(check: _Check) -> None:
    entry = check.entry
    if entry.taken_at_s > entry.now_s + check.book.clock_s:
        check.say("future", "ask", ("time",))
    elif entry.taken_at_s < entry.now_s - check.book.long_ago_s:
        check.say("long ago", "ask", ("time",))


def _fill(words: str, places: Mapping[str, str]) -> str:
    for name, text in places.items():
        words = words.replace("{" + name + "}", text)
    return _tidy(words)


def _tidy(words: str) -> str:
    """Without the gaps that a quantity without a unit leaves."""
    for gap, plain in ((" .", "."), (" )", ")"), ("  ", " "), (" ?", "?"), (" :", ":"), (" ;", ";")):
        words = words.replace(gap, plain)
    return words
