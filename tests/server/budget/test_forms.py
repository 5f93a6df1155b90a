"""What can be meant and what cannot, in words beside the field."""

from datetime import date

import pytest

from server.budget.choices import BY_SCOPE, Chosen
from server.budget.forms import ChoiceForm, SpendingForm

TODAY = date(2026, 11, 1)
NOTHING = Chosen("train", {})


def errors(scope: str, stages: int = 2, units: str = "SI", **entered: str) -> dict[str, str]:
    return dict(ChoiceForm.sent(scope, entered, units, stages).checked(TODAY).errors)


@pytest.mark.parametrize(
    ("scope", "name", "text", "words"),
    [
        ("site", "element_price", "-1", "cannot be below zero"),
        ("site", "energy_price", "-0.01", "cannot be below zero"),
        ("site", "rate", "0", "above zero"),
        ("site", "availability", "0", "nothing is made"),
        ("site", "efficiency", "0", "above 0"),
        ("site", "accident_rate", "60", "between 0 and 50"),
        ("site", "escalation_goods", "80", "between"),
        ("site", "element_price", "six hundred", "not a number"),
        ("site", "element_price", "1,600", "can be read as 1.600 or as 1600"),
        ("site", "element_price", "nan", "not a number"),
        ("site", "element_price", "inf", "not a number"),
        ("site", "element_price", "1_000", "not a number"),
        ("logbook", "horizon_years", "11", "neither the logs nor the trade's experience carry further"),
        ("logbook", "horizon_years", "0", "1 to 10"),
        ("logbook", "horizon_years", "2.5", "whole number"),
        ("logbook", "reporting_currency", "euro", "Three capital letters"),
        ("train", "recovery", "99", "between 5 and 95"),
        ("train", "most_feed_pressure", "0", "above zero"),
        ("train", "permeate_flow", "0", "above zero"),
        ("train", "water_source", "sea", "Choose one"),
        ("train", "installed_stage1", "2027-01-01", "a day that has been"),
        ("train", "installed_stage1", "soon", "a day that has been"),
    ],
)
def test_what_cannot_be_meant_is_said_beside_its_field(scope: str, name: str, text: str, words: str) -> None:
    found = errors(scope, **{name: text})
    assert list(found) == [name]
    assert words in found[name]


def test_percent_and_units_are_kept_in_canonical_units() -> None:
    form = ChoiceForm.sent("train", {"recovery": "75", "permeate_flow": "100", "most_feed_pressure": "200"}, "US", 2)
    values = form.checked(TODAY).values(NOTHING)
    assert values["recovery"] == "0.75"
    assert float(values["permeate_flow"]) == pytest.approx(22.7125, abs=1e-3)  # 1 gpm is 0.2271247 m3/h
    assert float(values["most_feed_pressure"]) == pytest.approx(13.79, abs=0.01)
    again = ChoiceForm.of(Chosen("train", values), "US", 2).entered
    assert (again["recovery"], again["permeate_flow"], again["most_feed_pressure"]) == ("75", "100", "200")


def test_prices_of_water_are_asked_for_by_the_thousand_gallons_where_the_reader_has_gallons() -> None:
    """1000 US gallons are 3.785 m3 (NIST SP 811): 3.785 for them is 1 for a m3; usual chemicals 0.038 to 0.11."""
    sent = {"water_value": "3.785411784", "energy_price": "0.12"}
    values = ChoiceForm.sent("site", sent, "US").checked(TODAY).values(NOTHING)
    assert values == {"water_value": "1", "energy_price": "0.12"}
    fields = {field.name: field for field in ChoiceForm.of(Chosen("site", values), "US").fields()}
    assert (fields["water_value"].label, fields["water_value"].text) == ("Cost of one kgal that is not made", "3.78541")
    assert fields["chemicals_per_m3"].label == "Chemicals per kgal"
    assert "0.038 to 0.11. Default 0.07571." in fields["chemicals_per_m3"].hint
    metric = {field.name: field for field in ChoiceForm.of(Chosen("site", values), "SI").fields()}
    assert (metric["water_value"].label, metric["water_value"].text) == ("Cost of one m³ that is not made", "1")
    assert "0.01 to 0.03. Default 0.02." in metric["chemicals_per_m3"].hint


def test_a_field_that_is_left_as_it_was_shown_is_kept_as_it_was() -> None:
    """1.4 for a m3 are 5.29958 for 1000 gallons: entered anew they would be 1.40000093."""
    kept = Chosen("site", {"water_value": "1.4"})
    shown = ChoiceForm.of(kept, "US").entered["water_value"]
    assert shown == "5.29958"
    assert ChoiceForm.sent("site", {"water_value": shown}, "US").values(kept) == {"water_value": "1.4"}
    assert ChoiceForm.sent("site", {"water_value": "5.3"}, "US").values(kept)["water_value"].startswith("1.4001")


def test_an_empty_field_is_the_default_and_stands_in_the_hint() -> None:
    assert errors("site", element_price="") == {}
    fields = {field.name: field for field in ChoiceForm.of(Chosen("site", {}), "SI").fields()}
    assert fields["element_price"].text == "" and "Default 600" in fields["element_price"].hint
    assert "Default 90" in fields["availability"].hint


def test_a_train_is_asked_for_its_own_stages_alone() -> None:
    names = [field.name for field in ChoiceForm.of(Chosen("train", {}), "SI", 2).fields()]
    assert "installed_stage2" in names and "installed_stage3" not in names


def test_every_choice_has_words_for_what_is_wrong_with_it() -> None:
    assert [c.name for choices in BY_SCOPE.values() for c in choices if not c.problem] == []


def test_a_decimal_comma_is_as_good_as_a_point() -> None:
    form = ChoiceForm.sent("site", {"element_price": "600,50"}, "SI").checked(TODAY)
    assert form.values(NOTHING) == {"element_price": "600.5"} and not form.errors
    assert SpendingForm("replacement", "2026-02-17", "12", "9.960,55").checked(TODAY).cents == 996055


def test_a_spending_is_exact_to_the_cent() -> None:
    form = SpendingForm("replacement", "2026-02-17", "12", "9960.55", "stage 3").checked(TODAY)
    assert (form.errors, form.cents, form.count, form.date) == ({}, 996055, 12, date(2026, 2, 17))


@pytest.mark.parametrize(
    ("field", "value"),
    [("kind", "gift"), ("day", "2027-01-01"), ("day", ""), ("elements", "0"), ("elements", "two"), ("elements", "²"),
     ("amount", "-5"), ("amount", "much"), ("amount", "nan"), ("amount", "9e99"), ("note", "x" * 501)],
)  # fmt: skip
def test_a_spending_that_cannot_be_meant(field: str, value: str) -> None:
    entered = {"kind": "order", "day": "2026-02-17", "elements": "12", "amount": "10", "note": ""} | {field: value}
    assert list(SpendingForm(**entered).checked(TODAY).errors) == [field]
