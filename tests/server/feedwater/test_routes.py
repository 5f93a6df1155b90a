"""Feed water: an analysis is entered as the laboratory gave it, and what can form is said."""

import pytest
from fastapi.testclient import TestClient

from tests.server.seen import seen

WATER = "/trains/1/water"
SENT = {
    "when": "2026-03-01T14:30", "ph": "7,6", "temperature_c": "25", "conductivity_us_cm": "1890",
    "ion_calcium": "250", "unit_calcium": "mg/L as CaCO3", "ion_magnesium": "30", "ion_sodium": "246",
    "ion_potassium": "10", "ion_chloride": "360", "ion_sulfate": "200", "ion_barium": "0.05", "ion_strontium": "1.5",
    "ion_silica": "20", "ion_bicarbonate": "250",
}  # fmt: skip


@pytest.fixture
def train(client: TestClient, plant_text: str) -> TestClient:
    client.post("/plants", data={"text": plant_text.replace("booster = true", "")})
    return client


def test_from_an_analysis_to_what_can_form(train: TestClient) -> None:
    assert "Enter an analysis of the feed" in seen(train.get(WATER).text)
    response = train.post(WATER, data=SENT, follow_redirects=False)
    assert (response.status_code, response.headers["location"]) == (303, WATER)
    text = seen(train.get(WATER).text)
    assert "With antiscalant up to" in text or "even with antiscalant" in text
    assert "Langelier index" in text and "Barium sulfate" in text
    assert "not metered" in text  # the recovery of a train without readings
    assert "calcium 250 mg/L as CaCO3" in text
    assert "do not balance" not in text and "cannot be right" not in text


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"ph": ""}, "Needed: what can form depends on it."),
        ({"ph": "neutral"}, '"neutral" is not a number'),
        ({"ph": "1.5"}, "pH: 1.5 is not between 2 and 12"),
        ({"temperature_c": "nan"}, '"nan" is not a number'),
        ({"ion_calcium": "-3"}, '"-3" is not a number between 0 and 100000'),
        ({"unit_silica": "meq/L"}, "Silica has no charge"),
        ({"unit_calcium": "grains"}, "Choose one of the units."),
        ({"when": "2999-01-01T00:00"}, "lies in the future"),
        ({"when": "yesterday"}, "Enter the day and time"),
    ],
)
def test_what_is_wrong_stands_beside_its_field_and_nothing_is_kept(
    train: TestClient, change: dict[str, str], said: str
) -> None:
    response = train.post(WATER, data=SENT | change)
    text = seen(response.text)
    assert response.status_code == 422 and said in text and "None yet." in text
    assert 'value="246"' in response.text


def test_an_analysis_is_withdrawn_with_a_reason_and_stays_readable(train: TestClient) -> None:
    train.post(WATER, data=SENT)
    assert train.post("/analyses/1/withdraw", data={"reason": " "}).status_code == 409
    train.post("/analyses/1/withdraw", data={"reason": "Wrong well."})
    text = seen(train.get(WATER).text)
    assert "Wrong well." in text and "Enter an analysis of the feed" in text
    assert "Feed analysis withdrawn" in seen(train.get("/trains/1/history").text)
    assert train.post("/analyses/7/withdraw", data={"reason": "x"}).status_code == 404


def test_limits_are_changed_with_a_reason(train: TestClient) -> None:
    train.post(WATER, data=SENT)
    names = [f"{side}_{n}" for n in range(6) for side in ("without", "with")]
    values = ["0", "2.5", "80", "230", "80", "6000", "80", "800", "80", "12000", "80", "100"]
    sent = dict(zip(names, values, strict=True))
    assert "Say why" in seen(train.post(f"{WATER}/limits", data=sent).text)
    assert train.post(f"{WATER}/limits", data=sent | {"with_0": "-1", "reason": "x"}).status_code == 422
    assert train.post(f"{WATER}/limits", data=sent | {"reason": "Supplier's letter."}).status_code == 200
    assert "0.0 / 2.5" in seen(train.get(WATER).text)
    assert "Limits of the concentrate changed" in seen(train.get("/trains/1/history").text)


def test_the_recovery_of_the_train_is_used(demo_client: TestClient) -> None:
    assert "Enter an analysis" in seen(demo_client.get(WATER).text)
