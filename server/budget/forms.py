"""What a person enters about the budget, as text, with what is wrong beside each field."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal

from server.budget.choices import BY_SCOPE, WATER_SOURCES, Choice, Chosen
from server.budget.units import from_reader, hint_of, label_of, to_reader, unit_of
from server.typed_numbers import number_problem, typed_number

SPENDING_KINDS = {"order": "Ordered", "replacement": "Put in and paid"}
MOST_ELEMENTS = 100_000
MOST_MONEY = Decimal(10) ** 12
LONGEST_NOTE = 500


@dataclass(frozen=True)
class ChoiceField:
    """One field: how it is called, what stands in it, and what is wrong with it."""

    name: str
    label: str
    hint: str
    text: str
    error: str
    type: str
    options: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class ChoiceForm:
    """Choices of one scope as text in the reader's units; `stages` of the train, where it is one.

    `hints` say more beside the fields that they name.
    """

    scope: str
    units: str
    entered: Mapping[str, str]
    stages: int = 0
    errors: Mapping[str, str] = field(default_factory=dict)
    hints: Mapping[str, str] = field(default_factory=dict)

    @classmethod
    def of(cls, chosen: Chosen, units: str, stages: int = 0) -> "ChoiceForm":
        """The form with what stands; a default shows as an empty field with its value in the hint."""
        form = cls(chosen.scope, units, {}, stages)
        return replace(form, entered={c.name: form._shown(c, chosen.given.get(c.name, "")) for c in form.choices})

    @classmethod
    def sent(cls, scope: str, sent: Mapping[str, str], units: str, stages: int = 0) -> "ChoiceForm":
        """What came in."""
        form = cls(scope, units, {}, stages)
        return replace(form, entered={c.name: sent[c.name].strip() for c in form.choices if c.name in sent})

    @property
    def choices(self) -> tuple[Choice, ...]:
        """Those that this form has."""
        kept = {f"installed_stage{n}" for n in range(1, self.stages + 1)}
        return tuple(c for c in BY_SCOPE[self.scope] if c.kind != "day" or c.name in kept)

    def checked(self, today: date) -> "ChoiceForm":
        """The same form with what is wrong with it."""
        errors = {c.name: self._problem(c, self.entered.get(c.name, ""), today) for c in self.choices}
        return replace(self, errors={name: problem for name, problem in errors.items() if problem})

    def values(self, present: Chosen) -> dict[str, str]:
        """What is to be kept, in canonical units; only for a form without errors.

        What stands as it was shown stays as it is kept, however few digits were shown.
        """
        named = {choice.name: choice for choice in self.choices}
        return {name: self._kept(named[name], text, present.given.get(name, "")) for name, text in self.entered.items()}

    def fields(self) -> tuple[ChoiceField, ...]:
        """The fields to show."""
        return tuple(self._field(choice) for choice in self.choices)

    def _field(self, choice: Choice) -> ChoiceField:
        hint = hint_of(choice, self.units)
        if unit := unit_of(choice.kind, self.units):
            hint = f"{hint} [{unit}]"
        if choice.default is not None and choice.kind != "choice" and "Default" not in hint:
            hint = f"{hint} Default {self._shown(choice, str(choice.default), digits=4)}."
        hint = f"{hint} {self.hints.get(choice.name, '')}"
        options = WATER_SOURCES if choice.kind == "choice" else ()
        return ChoiceField(
            choice.name, label_of(choice, self.units), hint.strip(), self.entered.get(choice.name, ""),
            self.errors.get(choice.name, ""), "date" if choice.kind == "day" else "text", options,
        )  # fmt: skip

    def _shown(self, choice: Choice, kept: str, digits: int = 6) -> str:
        """A kept value as the reader enters it; a plain number with all that was entered."""
        if not kept or choice.kind in ("text", "day", "choice"):
            return kept
        return f"{to_reader(float(kept), choice.kind, self.units):.{10 if choice.kind == 'number' else digits}g}"

    def _number(self, choice: Choice, text: str) -> float:
        return from_reader(float(typed_number(text)), choice.kind, self.units)

    def _kept(self, choice: Choice, text: str, present: str) -> str:
        if not text or choice.kind in ("text", "day", "choice"):
            return text
        return present if text == self._shown(choice, present) else f"{self._number(choice, text):.12g}"

    def _problem(self, choice: Choice, text: str, today: date) -> str:
        if not text:
            return ""
        if choice.kind == "choice":
            return "" if text in dict(WATER_SOURCES) else choice.problem
        if choice.kind == "text":
            return "" if len(text) == 3 and text.isascii() and text.isupper() and text.isalpha() else choice.problem
        if choice.kind == "day":
            return "" if (found := read_day(text)) and date(1970, 1, 1) <= found <= today else choice.problem
        try:
            value = self._number(choice, text)
        except ValueError as error:
            return str(error)
        if value < choice.least or value > choice.most or (choice.above and value <= choice.least):
            return choice.problem
        return "Give a whole number of years." if choice.name == "horizon_years" and value != int(value) else ""


@dataclass(frozen=True)
class SpendingForm:
    """An order or a replacement as it was entered."""

    kind: str = "replacement"
    day: str = ""
    elements: str = ""
    amount: str = ""
    note: str = ""
    errors: Mapping[str, str] = field(default_factory=dict)

    def checked(self, today: date) -> "SpendingForm":
        """The same form with what is wrong with it."""
        errors = {}
        if self.kind not in SPENDING_KINDS:
            errors["kind"] = "Choose one of these."
        found = read_day(self.day)
        if found is None or found > today or found.year < 1970:
            errors["day"] = "Enter a day that has been, such as 2026-02-17."
        if not (self.elements.strip().isascii() and self.elements.strip().isdigit()) or not (
            1 <= int(self.elements.strip()[:9]) <= MOST_ELEMENTS
        ):
            errors["elements"] = "Enter how many elements, 1 or more."
        if (amount := self._money()) is None:
            an_amount = "Enter an amount, such as 9960.50; it cannot be below zero."
            errors["amount"] = (number_problem(self.amount) if self.amount.strip() else "") or an_amount
        elif amount > MOST_MONEY:
            errors["amount"] = "This is more money than one replacement costs."
        if len(self.note) > LONGEST_NOTE:
            errors["note"] = f"At most {LONGEST_NOTE} characters, please."
        return replace(self, errors=errors)

    @property
    def date(self) -> date:
        """Only for a form without errors."""
        found = read_day(self.day)
        assert found is not None
        return found

    @property
    def count(self) -> int:
        return int(self.elements.strip())

    @property
    def cents(self) -> int:
        amount = self._money()
        assert amount is not None
        return int((amount * 100).to_integral_value())

    def _money(self) -> Decimal | None:
        try:
            amount = Decimal(typed_number(self.amount))
        except ValueError:
            return None
        return amount if amount >= 0 else None


def read_day(text: str) -> date | None:
    """A day as a browser sends it, or None."""
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        return None
