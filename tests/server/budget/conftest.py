"""A logbook of two demo trains with prices and contracts, and its budget as a view."""

from collections.abc import Iterator

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import Engine
from sqlalchemy.orm import Session

from server.app import create_app
from server.budget.actions import choose
from server.budget.plan import make_ledger
from server.budget.queries import budget_facts, chosen, logbook_day
from server.budget.view import View
from server.db import make_engine, transaction
from server.settings import Settings
from tests.people import signed_in

PRICES = {"element_price": "560.55", "tax_share": "0.075", "rate": "1"}
DOLLARS = {"element_price": "641.37", "rate": "0.9173"}


@pytest.fixture
def priced_url(demo_copy: str) -> str:
    """Both sites have prices that do not divide evenly, and a rate between them."""
    engine = make_engine(demo_copy)
    with transaction(engine) as session:
        choose(session, {"reporting_currency": "EUR", "horizon_years": "3"}, author="test")
        choose(session, PRICES, site_id=1, author="test")
        choose(session, DOLLARS, site_id=2, author="test")
    engine.dispose()
    return demo_copy


@pytest.fixture
def priced_engine(priced_url: str) -> Iterator[Engine]:
    engine = make_engine(priced_url)
    yield engine
    engine.dispose()


@pytest.fixture
def view(priced_engine: Engine) -> View:
    """The budget of both sites."""
    with Session(priced_engine) as session:
        return View.of(make_ledger(budget_facts(session), chosen(session), logbook_day(session), draws=400))


@pytest.fixture
def budget_client(priced_url: str) -> Iterator[TestClient]:
    """Signed in as administrator; may change things."""
    with signed_in(create_app(Settings(database_url=priced_url)), follow_redirects=False) as client:
        yield client
