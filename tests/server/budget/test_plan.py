"""Periods, rounding, and that every sum is a sum of its cells."""

from dataclasses import replace
from decimal import Decimal

import pytest
from sqlalchemy import Engine, delete, event
from sqlalchemy.orm import Session

from analytics.decisions.cleaning_experience import Spent
from server.assessments.due import note_missing_lives, trains_due
from server.assessments.worker import refresh_due
from server.budget.choices import Chosen
from server.budget.cleaning_cost import CleaningCost, cleaning_cost, cleaning_note
from server.budget.models import Life
from server.budget.money_tables import by_component, by_quarter, by_train, by_year
from server.budget.plan import BUDGET_COMPONENTS, change_costs, make_ledger, train_plan, whole
from server.budget.queries import budget_facts, chosen, logbook_day
from server.budget.view import View
from server.db import transaction


def test_money_is_rounded_half_up() -> None:
    assert [whole(v) for v in (0.5, 1.5, 2.5, 2.4999)] == [Decimal(n) for n in (1, 2, 3, 2)]
    assert whole(Decimal("10") * Decimal("0.05")) == Decimal(1)


def test_all_tables_come_to_the_same_sum(view: View) -> None:
    total = view.total()
    assert total > 1000
    for table in (by_train(view), by_component(view), by_quarter(view, shown=None)):
        assert table.foot.total == sum((row.total for row in table.rows), Decimal()) == total
        assert sum(table.foot.cells, Decimal()) == total
    assert sum((row.expected for row in by_year(view)), Decimal()) == total


def test_the_reporting_currency_is_each_cell_at_its_rate(view: View) -> None:
    seen = next(one for one in view.trains if one.site.currency == "USD")
    for name in BUDGET_COMPONENTS:
        for own, reported in zip(seen.train.cells[name], seen.cells[name], strict=True):
            assert reported == whole(own * Decimal("0.9173"))


def test_a_train_costs_the_same_on_every_page(priced_engine: Engine, view: View) -> None:
    with Session(priced_engine) as session:
        own = View.of(make_ledger(budget_facts(session, train_id=2), chosen(session), logbook_day(session), draws=400))
    in_fleet = next(seen for seen in view.trains if seen.train.facts.train.id == 2)
    assert own.currency == "USD"
    assert own.trains[0].cells == in_fleet.train.cells
    assert own.range == in_fleet.train.range


def test_a_change_of_elements_by_hand(view: View) -> None:
    """36 elements at 560.55, seals 20, freight 25: tax of 7.5 % on all three; 0.4 h at 45; 10 disposal."""
    seen = next(one for one in view.trains if one.site.currency == "EUR")
    life = seen.train.facts.life
    assert life is not None
    costs = change_costs(life.groups[0], seen.train.facts, seen.site.choices)
    assert costs["elements"] == pytest.approx(36 * 560.55)
    assert costs["tax"] == pytest.approx(0.075 * 36 * (560.55 + 20 + 25))
    assert costs["labour"] == pytest.approx(36 * 0.4 * 45)
    assert costs["disposal"] == 360.0
    assert costs["lost production"] == pytest.approx(24 * life.permeate_flow_m3h * 0.5)


def test_records_of_cleanings_say_what_nobody_priced(view: View) -> None:
    """By hand: 36 elements, chemicals 365 and 15 h at 30: (365 + 450) / 36 = 22.64; a given price goes before."""
    seen = next(one for one in view.trains if one.site.currency == "EUR")
    train = replace(seen.train.facts, spent=(Spent(36, chemicals=365.0, labour_hours=15.0),))

    def cost(**given: str) -> CleaningCost:
        return cleaning_cost(train, Chosen("site", given))

    assert cost() == cost(element_price="500") == CleaningCost(25.0, "default")
    recorded = cost(element_price="500", labour_rate="30")
    assert (round(recorded.per_element, 2), recorded.source) == (22.64, "mean of 1\u00a0record")
    given = cost(element_price="500", labour_rate="30", cleaning_per_element="31")
    assert given == CleaningCost(31.0, "given")
    assert "22.64 per element by its records" in cleaning_note(
        train, replace(seen.site, choices=Chosen("site", {"element_price": "500", "labour_rate": "30"}))
    )


def test_nothing_can_be_put_in_before_it_is_delivered(view: View) -> None:
    seen = next(one for one in view.trains if one.site.currency == "USD")
    plan = train_plan(seen.train.facts, seen.site, view.periods)
    assert min(plan.renewals[0].due.years) >= 12 * 7 / 365.25 - 1e-9


def test_low_expected_and_high_stand_in_order(view: View) -> None:
    spread = view.range
    assert all(spread.low[year] <= spread.high[year] for year in view.periods.years)
    assert spread.low_total <= view.total() <= spread.high_total


def test_a_train_without_a_life_has_an_empty_budget(priced_engine: Engine) -> None:
    with Session(priced_engine) as session:
        sites = budget_facts(session, train_id=1)
        nothing = replace(sites[0], trains=(replace(sites[0].trains[0], life=None),))
        ledger = make_ledger([nothing], chosen(session), logbook_day(session))
    assert View.of(ledger).total() == 0


def test_the_queries_do_not_grow_with_the_fleet(priced_engine: Engine) -> None:
    def count(train_id: int | None) -> int:
        statements: list[str] = []

        def note(*args: object) -> None:
            statements.append(str(args[2]))

        event.listen(priced_engine, "before_cursor_execute", note)
        with Session(priced_engine) as session:
            budget_facts(session, train_id=train_id)
        event.remove(priced_engine, "before_cursor_execute", note)
        return len(statements)

    assert count(None) == count(1)


def test_a_train_that_was_assessed_before_there_were_lives_gets_one(priced_engine: Engine) -> None:
    with transaction(priced_engine) as session:
        before = budget_facts(session, train_id=1)[0].trains[0].life
        session.execute(delete(Life).where(Life.train_id == 1))
    with transaction(priced_engine) as session:
        assert note_missing_lives(session) == 1
        assert note_missing_lives(session) == 0
    assert refresh_due(priced_engine) == 1
    with Session(priced_engine) as session:
        after = budget_facts(session, train_id=1)[0].trains[0].life
        assert before is not None and after is not None
        likely = [[group.due.quantile(0.5) for group in life.groups] for life in (before, after)]
        assert likely[1] == pytest.approx(likely[0], abs=0.1)  # the days were kept rounded
        assert trains_due(session) == []
