"""The budget pages as somebody sees them."""

import re

import pytest
from fastapi.testclient import TestClient

from server.app import create_app
from server.settings import Settings
from tests.people import signed_in


def test_the_fleet_budget_answers_what_when_and_how_sure(demo_client: TestClient) -> None:
    text = demo_client.get("/budget").text
    for words in (
        "What",
        "When",
        "How sure",
        "8 in 10",
        "Tolmera Glasshouses · RO 2",
        "Pell Harrow Hospital · RO East",
    ):
        assert words in text
    assert "no prices were given, the amounts are examples in US dollars" in text


def test_a_train_and_a_site_have_their_own_budget(demo_client: TestClient) -> None:
    for path in ("/trains/1/budget", "/sites/1/budget"):
        text = demo_client.get(path).text
        assert "Tolmera Glasshouses" in text and "Pell Harrow" not in text


def test_an_empty_logbook_says_so(client: TestClient) -> None:
    given = client.get("/budget")
    assert given.status_code == 200
    assert "Nothing can be said yet" in given.text
    assert given.text.count("Not known") == 3 and "Expected cost by component" not in given.text


def test_a_manager_sees_the_budget_of_the_own_site_alone(demo_copy: str) -> None:
    app = create_app(Settings(database_url=demo_copy))
    with signed_in(app, roles={2: "manager"}, email="m@example.org") as client:
        text = client.get("/budget").text
        assert "Pell Harrow" in text and "Tolmera" not in text
        assert client.get("/trains/2/budget").status_code == 200
        assert client.get("/trains/1/budget").status_code == 404


def test_an_operator_is_shown_no_way_to_the_budget(demo_copy: str) -> None:
    with signed_in(
        create_app(Settings(database_url=demo_copy)), roles={1: "operator"}, email="o@example.org"
    ) as client:
        assert 'href="/budget"' not in client.get("/").text
        assert client.get("/budget").status_code == 403
        assert client.get("/trains/1/budget").status_code == 403


def test_a_wrong_price_is_shown_and_nothing_is_stored(budget_client: TestClient) -> None:
    before = budget_client.get("/sites/1/budget").text
    given = budget_client.post("/sites/1/budget/choices", data={"element_price": "-5", "labour_rate": "60"})
    assert given.status_code == 422
    assert "A price cannot be below zero." in given.text and 'value="-5"' in given.text
    assert "Nothing was stored" in given.text
    after = budget_client.get("/sites/1/budget").text
    assert plain(after) == plain(before)


def test_rates_of_another_currency_are_asked_for_again(budget_client: TestClient) -> None:
    assert "No rate of exchange" not in budget_client.get("/budget").text
    sent = {"reporting_currency": "CHF", "horizon_years": "5"}
    assert budget_client.post("/budget/choices", data=sent).status_code == 303
    assert "No rate of exchange was given for" in budget_client.get("/budget").text


def plain(text: str) -> str:
    return re.sub(r'name="form_token" value="\w+"', "", text)


def test_a_new_price_changes_the_budget_and_is_in_the_record(budget_client: TestClient) -> None:
    before = plain(budget_client.get("/sites/1/budget").text)
    assert budget_client.post("/sites/1/budget/choices", data={"element_price": "900"}).status_code == 303
    assert plain(budget_client.get("/sites/1/budget").text) != before
    again = budget_client.get("/sites/1/budget/choices").text
    assert 'value="900"' in again


def test_a_contract_changes_when_elements_are_due(budget_client: TestClient) -> None:
    budget_client.post("/trains/2/budget/choices", data={"product_conductivity": "20"})
    text = budget_client.get("/trains/2/budget").text
    assert "past its limit" in text and "Product quality" in text
    budget_client.post("/trains/2/budget/choices", data={"product_conductivity": "500"})
    assert "past its limit" not in budget_client.get("/trains/2/budget").text


def test_plan_against_actual(budget_client: TestClient) -> None:
    assert "No plan was kept yet" in budget_client.get("/trains/1/budget").text
    assert budget_client.post("/trains/1/budget/plan").status_code == 303
    spent = {"kind": "replacement", "day": "2026-10-01", "elements": "6", "amount": "3360.55", "note": "lead"}
    assert budget_client.post("/trains/1/budget/spendings", data=spent).status_code == 303
    text = budget_client.get("/trains/1/budget").text
    assert "Plan kept by The Keeper" in text
    assert "3\u202f360.55" in text
    assert budget_client.post("/trains/1/budget/spendings/1/withdraw").status_code == 303
    assert "3\u202f360.55" not in budget_client.get("/trains/1/budget").text
    assert budget_client.post("/trains/1/budget/spendings/1/withdraw").status_code == 409
    assert budget_client.post("/trains/2/budget/spendings/1/withdraw").status_code == 404


def test_a_wrong_spending_comes_back_with_its_words(budget_client: TestClient) -> None:
    given = budget_client.post("/trains/1/budget/spendings", data={"kind": "order", "amount": "-3"})
    assert given.status_code == 422
    assert "it cannot be below zero" in given.text


def test_ways_are_compared_and_the_cheapest_that_keeps_the_contract_is_first(budget_client: TestClient) -> None:
    text = budget_client.get("/trains/2/budget").text
    for words in ("Whole set at once", "Tail first", "Rotate first", "In thirds", "Raise the pressure"):
        assert words in text
    assert "Nothing need be bought to keep the contract until the end of 2029" in text
    assert "No different: " in text
    assert "Low to high" in text and "Low and high are the least and the most that a way costs" in text
    budget_client.post("/trains/2/budget/choices", data={"product_conductivity": "24"})
    assert "is the cheapest way that keeps the contract" in budget_client.get("/trains/2/budget").text


def test_why_budget_and_runs_tell_other_losses_stands_where_both_are_seen(demo_copy: str) -> None:
    app = create_app(Settings(database_url=demo_copy))
    with signed_in(app, roles={2: "manager"}, email="m@example.org") as client:
        assert "They are others than" in client.get("/trains/2/budget").text
        assert "its losses a year are others" in client.get("/trains/2/runs").text
    with signed_in(app, roles={2: "operator"}, email="o@example.org") as client:
        assert "its losses a year are others" not in client.get("/trains/2/runs").text


def test_when_names_what_is_due_later_too(budget_client: TestClient) -> None:
    """A product that must be fresher than it is makes the second train due at once; the first follows by its pump."""
    budget_client.post("/trains/2/budget/choices", data={"product_conductivity": "20"})
    budget_client.post("/trains/1/budget/choices", data={"most_feed_pressure": "14.9"})
    when = budget_client.get("/budget").text.split("<h2>When</h2>")[1].split("</div>")[0].replace("\u00a0", " ")
    assert "Pell Harrow Hospital · RO East, stage 1 is past its limit." in when
    assert re.search(r"Tolmera Glasshouses · RO 2, stage \d: \w+ 2027\.", when)


def test_how_far_the_logs_carry_stands_beside_the_years_ahead(budget_client: TestClient) -> None:
    text = budget_client.get("/budget/choices").text
    assert "The logs span" in text
    given = budget_client.post("/budget/choices", data={"horizon_years": "40"})
    assert given.status_code == 422 and "experience carry further" in given.text and "The logs span" in given.text


def test_a_cubic_metre_has_a_history(budget_client: TestClient) -> None:
    text = budget_client.get("/trains/2/budget").text
    assert "Year by year of the log" in text and "kWh/kgal" in text and "none noted" in text


def in_units(client: TestClient, units: str, path: str = "/trains/2/budget") -> str:
    """A page as a reader with these units sees it."""
    client.cookies.set("skidbook_units", units)
    return client.get(path).text


def test_a_reader_of_gallons_finds_no_cubic_metre(budget_client: TestClient) -> None:
    """1000 US gallons are 3.785 m3 (NIST SP 811), and so the water costs by them."""
    budget_client.post("/trains/2/budget/choices", data={"product_conductivity": "24"})
    metric, text = (in_units(budget_client, units) for units in ("SI", "US"))
    for words in ("USD per kgal", "kWh/kgal", "gpm made", "kgal a year", "°F"):
        assert words in text and words not in metric
    for page in (text, in_units(budget_client, "US", "/sites/2/budget/choices")):
        assert "m³" not in page and "°C" not in page
    sums = [float(re.findall(r'Sum</th><td class="n">(\d+\.\d{4})<', page)[0]) for page in (metric, text)]
    assert sums[1] == pytest.approx(3.785411784 * sums[0], rel=1e-3)


def test_the_months_of_a_part_of_a_year_are_counted(budget_client: TestClient) -> None:
    page = in_units(budget_client, "SI")
    years = re.findall(r'<th scope="row">(\d{4}[^<]*)</th><td class="n" data-label="m³/h made">', page)
    assert years and all(re.fullmatch(r"\d{4}(, (1\xa0month|\d+\xa0months))?", year) for year in years)


def test_what_was_spent_before_the_log_is_no_cost_of_its_water(budget_client: TestClient) -> None:
    """The demo's logs begin in August 2025: elements of that January made water that nobody wrote down."""
    spent = {"kind": "replacement", "elements": "12", "amount": "6700", "note": ""}
    assert budget_client.post("/trains/2/budget/spendings", data=spent | {"day": "2025-01-10"}).status_code == 303
    assert paid_by_year(budget_client)[0] == "none noted"
    assert budget_client.post("/trains/2/budget/spendings", data=spent | {"day": "2025-10-10"}).status_code == 303
    assert float(paid_by_year(budget_client)[0]) > 0


def paid_by_year(client: TestClient) -> list[str]:
    return re.findall(r'data-label="Elements paid">([^<]*)<', client.get("/trains/2/budget").text)


def test_the_workbook_comes_as_a_file(budget_client: TestClient) -> None:
    for path in ("/budget.xlsx", "/sites/1/budget.xlsx", "/trains/1/budget.xlsx"):
        given = budget_client.get(path)
        assert given.status_code == 200 and given.content.startswith(b"PK")
        assert "attachment" in given.headers["content-disposition"]
