"""The history page of a train: how its verdict changed, and who changed what."""

from collections.abc import Iterator

import pytest
from fastapi.testclient import TestClient

from server.app import create_app
from server.settings import Settings
from tests.people import signed_in
from tests.server.seen import seen


@pytest.fixture
def changing(demo_copy: str) -> Iterator[TestClient]:
    with signed_in(create_app(Settings(database_url=demo_copy))) as found:
        yield found


def test_the_record_of_a_train_and_of_no_other(demo_client: TestClient) -> None:
    text = seen(demo_client.get("/trains/1/history").text)
    assert "Plant added" in text and "Import brought in" in text and "Events written down" in text
    record = text.split("The record")[1]
    assert record.index("Import brought in") < record.index("Plant added")
    assert "1 to 3 of 3" in record


def test_a_changed_limit_shows_before_after_why_and_a_new_verdict(changing: TestClient) -> None:
    entered = {"limits.permeate_flow_clean": "0.4", "limits.permeate_flow_warn": "0.5",
               "limits.permeate_flow_too_late": "0.3", "reason": "new elements"}  # fmt: skip
    response = changing.post("/trains/1/setup", data=entered, follow_redirects=False)
    assert (response.status_code, response.headers["location"]) == (303, "/trains/1/setup")
    text = seen(changing.get("/trains/1/history").text)
    assert "Limits changed" in text and "Why: new elements" in text
    assert "Permeate flow: clean 0.9 0.4" in text
    assert changing.get("/trains/1/history").text.count("/history/verdicts/") == 2


def test_an_old_verdict_is_worked_out_again_on_its_page(changing: TestClient) -> None:
    changing.post("/trains/1/setup", data={"limits.salt_passage_warn": "1.01", "reason": "stricter"})
    links = [part.split('"')[0] for part in changing.get("/trains/1/history").text.split('href="')[1:]]
    (new, old) = [link for link in links if "/history/verdicts/" in link]
    for link, limit in ((new, "Limits: salt passage: warn 1.01"), (old, "")):
        text = seen(changing.get(link).text)
        assert "The same verdict comes of the" in text
        assert limit in text
    assert changing.get(old.replace("/trains/1/", "/trains/2/")).status_code == 404


def test_an_empty_history(client: TestClient, plant_text: str) -> None:
    client.post("/plants", data={"text": plant_text})
    assert "There has been none yet." in seen(client.get("/trains/1/history").text)
