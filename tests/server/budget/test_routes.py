"""The budget pages as somebody sees them."""

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
