"""What a file leaves out of its times is asked through the pages; what whole columns show is told."""

import tomllib

import pytest
from fastapi.testclient import TestClient

from tests.server.intake.test_guided import answer, hand_in
from tests.server.seen import seen


@pytest.fixture
def train(client: TestClient, plant_text: str) -> TestClient:
    client.post("/plants", data={"text": plant_text})
    return client


CLOCKS = "Time,Feed pressure (bar)\n22:00,12.5\n23:00,12.6\n00:00,12.7\n"


def mapping_of(client: TestClient, place: str) -> dict[str, dict[str, object]]:
    return tomllib.loads(client.get(f"{place.removesuffix('/columns')}/mapping.toml").text)


def test_the_day_in_the_name_of_the_file_is_offered_and_told(train: TestClient) -> None:
    place = hand_in(train, CLOCKS, "RO1_2025-06-12.csv")
    page = train.get(place).text
    assert 'name="day" type="date" value="2025-06-12"' in page
    assert "“RO1_2025-06-12.csv” says 2025-06-12" in seen(page)
    looked = answer(train, place, day="2025-06-12", timezone="Europe/Lisbon")
    assert "3 new readings to bring in." in looked and "13 June 2025" in looked
    assert mapping_of(train, place)["time"]["day"] == "2025-06-12"


def test_a_day_that_could_be_two_is_asked_and_not_filled_in(train: TestClient) -> None:
    place = hand_in(train, CLOCKS, "log 05-06-2025.csv")
    page = train.get(place).text
    assert 'name="day" type="date" value=""' in page and "Of which day is the first reading?" in seen(page)
    assert "Say the day of the first reading" in answer(train, place)
    assert "3 new readings to bring in." in answer(train, place, day="2025-05-06")


def test_a_day_that_no_file_says_is_asked_too(train: TestClient) -> None:
    assert "Of which day is the first reading?" in seen(train.get(hand_in(train, CLOCKS)).text)


def test_a_mapping_with_a_day_is_not_taken_for_the_next_file(train: TestClient) -> None:
    answer(train, hand_in(train, CLOCKS, "2025-06-12.csv"), day="2025-06-12", save_as="Clocks")
    assert 'value="2025-06-13"' in train.get(hand_in(train, CLOCKS, "2025-06-13.csv")).text


def test_a_clock_of_twelve_hours_must_be_answered(train: TestClient) -> None:
    rows = "".join(f"2025-05-{day:02d},06:00,12.{n}\n" for day in range(1, 4) for n in range(2))
    place = hand_in(train, f"Date,Time,Feed pressure (bar)\n{rows}")
    assert "Which times are after noon?" in seen(train.get(place).text)
    assert "Say how the clock is meant." in answer(train, place)
    assert "6 new readings to bring in." in answer(train, place, noon="order")
    assert mapping_of(train, place)["time"]["noon_by_order"] is True


def test_times_that_come_again_with_other_values_are_asked_about(train: TestClient) -> None:
    rows = "".join(
        f"2025-05-{day:02d} {hour}:00,{value}\n" for value in (12, 13) for day in (1, 2) for hour in ("06", 18)
    )
    place = hand_in(train, f"Date,Feed pressure (bar)\n{rows}")
    assert "Why do 4 of 4 times come more than once, with other values (row 2 and row 6)?" in seen(
        train.get(place).text
    )


def test_did_you_mean_is_told_of_a_canonical_file_before_it_comes_in(train: TestClient) -> None:
    rows = "".join(f"2025-05-{day:02d}T06:00,19{day % 10}\n" for day in range(1, 20))
    place = hand_in(train, f"time,feed_pressure [bar]\n{rows}")
    assert not place.endswith("/columns")
    assert "did you mean psi? Then it is" in seen(train.get(place).text)
