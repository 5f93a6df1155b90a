"""The history of a reading: versions, corrections and voiding through the page."""

import pytest
from fastapi.testclient import TestClient

from tests.server.seen import seen

LOG = b"time,feed_pressure [bar],permeate_flow [m3/h]\n2026-01-05 06:10,12.04,30.5\n2026-01-06 06:10,12.1,30.6\n"


@pytest.fixture
def reading(client: TestClient, plant_text: str) -> str:
    """Address of the first of two readings."""
    client.post("/plants", data={"text": plant_text})
    client.post("/trains/1/imports", files={"file": ("log.csv", LOG)})
    client.post("/imports/1/confirm")
    assert '/readings/1"' in client.get("/trains/1/readings").text
    return "/readings/1"


def _entered(client: TestClient, reading: str, **changed: str) -> dict[str, str]:
    revision = client.get(reading).text.split('name="revision" value="')[1].split('"')[0]
    as_shown = {"feed_pressure_bar": "12.04", "permeate_flow_m3h": "30.5", "units": "SI", "revision": revision}
    return as_shown | changed


def test_a_correction_keeps_what_was_there(client: TestClient, reading: str) -> None:
    sent = _entered(client, reading, feed_pressure_bar="12.5", reason="read the wrong gauge")
    response = client.post(f"{reading}/amend", data=sent, follow_redirects=False)
    assert (response.status_code, response.headers["location"]) == (303, reading)
    text = seen(client.get(reading).text)
    newest, oldest = text.split("Version 2")[1].split("Version 1")
    assert "from a file" not in newest and "Why: read the wrong gauge" in newest
    assert "12.5 bar 12.0 bar" in newest and "30.5" not in newest
    assert "12.0 bar" in oldest and "30.5" in oldest
    assert "read the wrong gauge" in seen(client.get("/trains/1/history").text)


def test_what_was_not_touched_stays_as_it_was_to_the_last_digit(client: TestClient, reading: str) -> None:
    client.post(f"{reading}/amend", data=_entered(client, reading, permeate_flow_m3h="", reason="not read"))
    text = client.get(reading).text
    assert 'value="12.04"' in text and "nothing" in seen(text).split("Version 1")[0]


def test_values_in_us_units_are_taken_as_such(client: TestClient, reading: str) -> None:
    client.post("/units", data={"units": "US"})
    shown = client.get(reading).text.split('name="feed_pressure_bar"')[1].split('value="')[1].split('"')[0]
    assert float(shown) == pytest.approx(12.04 * 14.5038, rel=1e-4)
    sent = {"feed_pressure_bar": "145.038", "units": "US", "revision": "1", "reason": "x"}
    client.post(f"{reading}/amend", data=sent)
    client.post("/units", data={"units": "SI"})
    assert "10.0 bar" in seen(client.get(reading).text)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"reason": " "}, "Say why"),
        ({"feed_pressure_bar": "12;5", "reason": "x"}, "This is not a number; write it like 12.5 or 12,5."),
        ({"feed_conductivity_us_cm": "1,843", "reason": "x"}, "This can be read as 1.843 or as 1843"),
        ({"feed_pressure_bar": "nan", "reason": "x"}, "This is not a number"),
        ({"feed_pressure_bar": "1e12", "reason": "x"}, "This cannot be a reading"),
        ({"feed_pressure_bar": "1e400", "reason": "x"}, "This is too large a number"),
        ({"reason": "x"}, "Nothing was changed above"),
        ({"state": "asleep", "reason": "x"}, "Choose one of these"),
    ],
)
def test_what_is_wrong_stands_beside_its_field(
    client: TestClient, reading: str, change: dict[str, str], said: str
) -> None:
    response = client.post(f"{reading}/amend", data=_entered(client, reading, **change))
    assert response.status_code == 422 and said in seen(response.text)
    assert "Version 2" not in seen(client.get(reading).text)


def test_a_decimal_comma_is_as_good_as_a_point(client: TestClient, reading: str) -> None:
    client.post(f"{reading}/amend", data=_entered(client, reading, feed_pressure_bar="13,5", reason="read again"))
    assert "13.5 bar" in seen(client.get(reading).text)


def test_a_correction_of_what_somebody_else_has_corrected_is_refused(client: TestClient, reading: str) -> None:
    old = _entered(client, reading, feed_pressure_bar="13", reason="mine")
    client.post(f"{reading}/amend", data=_entered(client, reading, feed_pressure_bar="12.5", reason="theirs"))
    response = client.post(f"{reading}/amend", data=old)
    assert response.status_code == 409 and "while you looked at it" in seen(response.text)


def test_a_voided_reading_stays_visible_with_its_reason_and_cannot_be_corrected(
    client: TestClient, reading: str
) -> None:
    assert client.post(f"{reading}/void", data={"void_reason": " "}).status_code == 409
    client.post(f"{reading}/void", data={"void_reason": "typed for another train"})
    page = client.get(reading).text
    assert "Taken out of use by" in seen(page) and "typed for another train" in seen(page)
    assert "Correct it" not in seen(page)
    assert "typed for another train" in seen(client.get("/trains/1/readings?show=voided").text)


def test_a_reading_that_is_not_there(client: TestClient, reading: str) -> None:
    assert {client.get(f"/readings/{number}").status_code for number in (77, "x")} <= {404, 422}
