"""The set-up page: limits, reference and settings, changed with a reason and by the rules of a plant file."""

import pytest
from fastapi.testclient import TestClient

from server.plants.changes import LIMITS
from server.plants.setup_forms import setting_fields
from tests.server.seen import seen


@pytest.fixture
def setup(client: TestClient, plant_text: str) -> str:
    client.post("/plants", data={"text": plant_text})
    return "/trains/1/setup"


def test_every_choice_is_there_with_its_default_and_where_it_comes_from(client: TestClient, setup: str) -> None:
    page = client.get(setup).text
    assert [
        name for name in (*(f"limits.{n}" for n in LIMITS), *setting_fields()) if f'name="{name}"' not in page
    ] == []
    text = seen(page)
    assert (
        "Default 1.1. Changed: plant file" in text and "Default 0.93." in text and "Default 0.93. Changed" not in text
    )


def test_a_change_is_kept_with_its_reason(client: TestClient, setup: str) -> None:
    sent = {"limits.permeate_flow_warn": "0.95", "reference.end": "2026-01-25", "assumed.feed_temperature": "15",
            "screening.frozen_readings": "12", "method.pressure_drop_viscosity": "true", "water": "seawater",
            "reason": "agreed with the owner"}  # fmt: skip
    assert client.post(setup, data=sent, follow_redirects=False).status_code == 303
    page = client.get(setup).text
    for value in ("0.95", "2026-01-25", "15", "12"):
        assert f'value="{value}"' in page, value
    assert '<option value="true" selected>' in page and '<option value="seawater" selected>' in page
    text = seen(client.get("/trains/1/history").text)
    for kind in ("Limits changed", "Reference changed", "Settings changed"):
        assert kind in text
    assert text.count("Why: agreed with the owner") == 3


def test_an_emptied_field_goes_back_to_the_default(client: TestClient, setup: str) -> None:
    client.post(setup, data={"screening.spike_ratio": "9", "limits.salt_passage_warn": "", "reason": "x"})
    client.post(setup, data={"screening.spike_ratio": "", "reason": "x"})
    page = client.get(setup).text
    assert 'name="screening.spike_ratio" type="text" value="4"' in page
    assert 'name="limits.salt_passage_warn" type="text" value="1.1"' in page


@pytest.mark.parametrize(
    ("sent", "said"),
    [
        ({"reason": ""}, "Say why"),
        ({"limits.permeate_flow_warn": "much", "reason": "x"}, "This is not a number"),
        ({"limits.permeate_flow_warn": "inf", "reason": "x"}, "This is not a number"),
        ({"limits.permeate_flow_warn": "0.5", "reason": "x"}, "Nothing was changed"),
        ({"reference.start": "soon", "reason": "x"}, "Enter a day"),
        ({"reference.start": "", "reason": "x"}, "Give both days, or none"),
        ({"reference.start": "", "reference.end": "", "reason": "x"}, "can be moved, but not taken away"),
        ({"reference.end": "2025-01-01", "reason": "x"}, "lies before train.reference.start"),
        ({"screening.frozen_readings": "1.5", "reason": "x"}, "Give a whole number"),
        ({"water": "beer", "reason": "x"}, "Choose one of these"),
    ],
)
def test_what_cannot_be_meant_changes_nothing(client: TestClient, setup: str, sent: dict[str, str], said: str) -> None:
    response = client.post(setup, data=sent)
    assert response.status_code == 422 and said in seen(response.text)
    text = seen(client.get("/trains/1/history").text)
    assert "Plant added" in text and "changed" not in text.split("The record")[1]


def test_nothing_changed_leaves_no_entry(client: TestClient, setup: str) -> None:
    assert client.post(setup, data={"reason": "just looking"}, follow_redirects=False).status_code == 303
    assert "just looking" not in seen(client.get("/trains/1/history").text)
