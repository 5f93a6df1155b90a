"""Adding a plant: from a file or from the page, with what is wrong said by its key path."""

import tomllib

import pytest
from fastapi.testclient import TestClient

from analytics.plant_file import plant_from_dict
from server.plants.page import EXAMPLE
from server.templating import STATIC
from tests.server.seen import seen


def test_a_plant_file_is_taken_and_leads_to_bringing_in_readings(client: TestClient, plant_text: str) -> None:
    files = {"file": ("plant.toml", plant_text.encode())}
    response = client.post("/plants", files=files, follow_redirects=False)
    assert (response.status_code, response.headers["location"]) == (303, "/trains/1/imports/new")
    assert "No readings yet" in seen(client.get("/trains/1/assessment").text)
    assert "Quay Laundry · RO 1" in seen(client.get("/").text)


def test_a_plant_may_be_written_on_the_page(client: TestClient, plant_text: str) -> None:
    response = client.post("/plants", data={"text": plant_text.replace("\n", "\r\n")}, follow_redirects=False)
    assert response.status_code == 303


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (("vessels = 2", "vessels = 0"), "train.stage[1].vessels: at least 1 is needed"),
        (("Europe/Lisbon", "Europe/Lisboa"), "site.timezone"),
        (("elements_per_vessel = 6", "elements_per_vesel = 6"), "did you mean"),
        (("[site]", "[site"), "is not valid TOML"),
    ],
)
def test_what_is_wrong_is_said_and_nothing_that_was_entered_is_lost(
    client: TestClient, plant_text: str, change: tuple[str, str], said: str
) -> None:
    wrong = plant_text.replace(*change, 1)
    response = client.post("/plants", data={"text": wrong})
    text = seen(response.text)
    assert response.status_code == 422 and said in text and "Add a plant" in text
    assert 'name = "Quay Laundry"' in text
    assert "Add a plant, then" in seen(client.get("/").text)


def test_nothing_handed_in_is_said_beside_the_field(client: TestClient) -> None:
    response = client.post("/plants")
    assert response.status_code == 422
    assert "Choose a plant file, or write one below." in seen(response.text)
    assert 'aria-invalid="true"' in response.text


def test_the_same_train_twice_is_refused_and_changes_nothing(client: TestClient, plant_text: str) -> None:
    assert client.post("/plants", data={"text": plant_text}, follow_redirects=False).status_code == 303
    response = client.post("/plants", data={"text": plant_text})
    assert response.status_code == 409 and 'already has a train "RO 1"' in seen(response.text)
    assert seen(client.get("/").text).count("Quay Laundry") == 1


def test_the_example_on_the_page_is_a_plant(client: TestClient) -> None:
    text = (STATIC / EXAMPLE).read_text(encoding="utf-8")
    assert plant_from_dict(tomllib.loads(text)).train.name == "Skid 1"
    assert "Fenwick Quay" in seen(client.get("/plants/new").text)
    assert client.post("/plants", data={"text": text}, follow_redirects=False).status_code == 303
