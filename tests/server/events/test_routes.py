"""Events: seen newest first, written down by the clock of the site, refused with what was entered kept."""

import pytest
from fastapi.testclient import TestClient

from tests.server.seen import seen


@pytest.fixture
def train(client: TestClient, plant_text: str) -> str:
    client.post("/plants", data={"text": plant_text.replace("booster = true", "")})
    return "/trains/1/events"


ENTERED = {"kind": "cleaning", "stage": "2", "when": "2026-03-01T14:30", "detail": "Acid, 2 h."}


def test_an_event_is_written_down_and_seen(client: TestClient, train: str) -> None:
    assert "Nothing has been written down yet." in seen(client.get(train).text)
    response = client.post(train, data=ENTERED, follow_redirects=False)
    assert (response.status_code, response.headers["location"]) == (303, train)
    assert "1 March 2026, 14:30 Cleaning, stage 2 Acid, 2 h." in seen(client.get(train).text)


def test_the_newest_comes_first(client: TestClient, train: str) -> None:
    client.post(train, data=ENTERED)
    client.post(train, data=ENTERED | {"when": "2026-03-02T08:00", "kind": "note", "stage": ""})
    text = seen(client.get(train).text)
    listed = text.split("So far")[1]
    assert listed.index("2 March") < listed.index("1 March")


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"kind": "party"}, "Choose what happened."),
        ({"stage": "7"}, "This train has no such stage."),
        ({"when": "yesterday"}, "Enter a day and a time"),
        ({"when": "2999-01-01T00:00"}, "lies in the future"),
        ({"detail": "x" * 2001}, "At most 2000 characters"),
    ],
)
def test_what_is_wrong_stands_beside_its_field_and_nothing_is_lost(
    client: TestClient, train: str, change: dict[str, str], said: str
) -> None:
    entered = ENTERED | change
    response = client.post(train, data=entered)
    assert response.status_code == 422 and said in seen(response.text)
    assert entered["detail"] in response.text and "Nothing has been written down yet." in seen(response.text)


def test_kinds_are_offered_in_words(client: TestClient, train: str) -> None:
    text = seen(client.get(train).text)
    assert "Element replacement" in text and "element-replacement" not in text


def test_an_event_changes_the_assessment_at_once(client: TestClient, train: str) -> None:
    days = range(2, 30)
    rows = "\n".join(f"2026-01-{d:02d}T06:00,12.{d % 10},10.{d % 7},20.{d % 3},8.{d % 4}" for d in days)
    head = "time,feed_pressure [bar],concentrate_pressure [bar],permeate_flow [m3/h],concentrate_flow [m3/h]\n"
    client.post("/trains/1/imports", files={"file": ("log.csv", (head + rows).encode())})
    client.post("/imports/1/confirm")
    client.post(train, data=ENTERED | {"when": "2026-01-20T09:00", "stage": ""})
    assert "20 to 29 January 2026 Cleaning" in seen(client.get("/trains/1/assessment").text)


def test_an_event_is_corrected_and_withdrawn_with_a_reason(client: TestClient, train: str) -> None:
    client.post(train, data=ENTERED)
    assert "Acid, 2 h." in seen(client.get("/events/1").text)
    corrected = ENTERED | {"stage": "1", "reason": "it was stage 1"}
    assert client.post("/events/1/amend", data=corrected | {"reason": ""}).status_code == 422
    assert client.post("/events/1/amend", data=corrected, follow_redirects=False).status_code == 303
    text = seen(client.get(train).text)
    assert "Cleaning, stage 1 Acid, 2 h." in text.split("Withdrawn or replaced")[0]
    assert "Cleaning, stage 2" in text.split("Withdrawn or replaced")[1] and "it was stage 1" in text
    assert client.post("/events/1/amend", data=corrected).status_code == 409
    assert client.post("/events/2/withdraw", data={"reason": ""}).status_code == 409
    client.post("/events/2/withdraw", data={"reason": "another train"})
    assert "Nothing has been written down yet." in seen(client.get(train).text)
    assert "another train" in seen(client.get("/events/2").text)


def test_an_answer_to_a_step_is_an_event_of_that_day(client: TestClient, train: str) -> None:
    answer = {"day": "2026-02-11", "kind": "meter-calibration", "stage": ""}
    response = client.post("/trains/1/steps", data=answer, follow_redirects=False)
    assert (response.status_code, response.headers["location"]) == (303, "/trains/1/assessment")
    assert "11 February 2026, 12:00 Meter calibrated Said when asked about a step." in seen(client.get(train).text)


@pytest.mark.parametrize("change", [{"day": "soon"}, {"kind": "party"}, {"stage": "9"}])
def test_an_answer_that_makes_no_sense_changes_nothing(client: TestClient, train: str, change: dict[str, str]) -> None:
    answer = {"day": "2026-02-11", "kind": "cleaning", "stage": ""} | change
    assert client.post("/trains/1/steps", data=answer).status_code == 409
    assert "Nothing has been written down yet." in seen(client.get(train).text)
