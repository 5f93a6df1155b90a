"""A table as people keep it: handed in, understood, corrected, looked at, brought in. All through the pages."""

import pytest
from fastapi.testclient import TestClient

from tests.server.seen import seen

LOG = "Plant log\n\nDate;Uhrzeit;Druck Zulauf;Permeat;Temp.;Bemerkung\n;;[bar];m³/h;°C;\n" + "".join(
    f"{day:02d}.01.2026;06:10;12,5;14,1;17,4;ok\n" for day in range(2, 20)
)


@pytest.fixture
def train(client: TestClient, plant_text: str) -> TestClient:
    client.post("/plants", data={"text": plant_text})
    return client


def hand_in(client: TestClient, content: str | bytes, name: str = "log.csv") -> str:
    body = content.encode() if isinstance(content, str) else content
    response = client.post("/trains/1/imports", files={"file": (name, body)}, follow_redirects=False)
    assert response.status_code == 303, seen(response.text)
    return response.headers["location"]


def chosen(text: str) -> dict[str, str]:
    """What the form would send as it stands: the chosen option of each select, and each input."""
    import re

    form = {}
    for name, body in re.findall(r'<select id="[^"]*" name="([^"]+)"[^>]*>(.*?)</select>', text, re.DOTALL):
        picked = re.search(r'<option value="([^"]*)" selected', body)
        first = re.search(r'<option value="([^"]*)"', body)
        form[name] = (picked or first)[1]  # type: ignore[index]
    return form


def test_a_foreign_table_is_understood_and_brought_in(train: TestClient) -> None:
    place = hand_in(train, LOG)
    assert place.endswith("/columns")
    page = train.get(place).text
    assert "Druck Zulauf [bar]" in page and "day first" in seen(page)
    form = chosen(page) | {"timezone": "Europe/Lisbon"}
    assert form["meaning-0"] == "feed_pressure" and form["unit-0"] == "bar"
    looked = train.post(place, data=form)
    assert "18 new readings to bring in." in seen(looked.text)
    done = train.post(f"{place.removesuffix('/columns')}/confirm")
    assert "18 readings brought in." in seen(done.text)
