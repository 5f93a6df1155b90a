"""A table as people keep it: handed in, understood, corrected, looked at, brought in. All through the pages."""

import re

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


SIMPLE = "Date,Feed pressure (bar),Permeate flow (m3/h)\n"


def staged(client: TestClient, content: str) -> str:
    """Hand a table in, and answer as it was understood; returns the address of the import."""
    place = hand_in(client, content)
    answered = client.post(place, data=chosen(client.get(place).text), follow_redirects=False)
    assert answered.status_code == 303, seen(answered.text)
    return place.removesuffix("/columns")


def test_bad_rows_are_listed_and_left_out(train: TestClient) -> None:
    rows = "2026-01-02,12.5,14.1\n2026-01-03,=A1,14.1\n2026-01-04,oops,14.1\n2026-01-05,12.6,14.1\n"
    place = staged(train, SIMPLE + rows)
    page = seen(train.get(place).text)
    assert "2 problems to mend" in page and "Leave out 2 rows and bring in the rest" in page
    listed = train.get(f"{place}/problems.csv").text.lstrip("\ufeff").splitlines()
    assert listed[0] == "sheet,row,column,value,reason,expected"
    assert listed[1].startswith(",3,Feed pressure (bar),'=A1,is a formula") and ",4," in listed[2]
    assert train.post(f"{place}/confirm").status_code == 422
    assert "2 readings brought in." in seen(train.post(f"{place}/confirm", data={"leave_out": "yes"}).text)


def test_other_values_are_kept_or_taken_and_given_back(train: TestClient) -> None:
    first = staged(train, SIMPLE + "2026-01-02,12.5,14.1\n2026-01-03,12.6,14.1\n")
    train.post(f"{first}/confirm")
    place = staged(train, SIMPLE + "2026-01-02,12.9,14.1\n2026-01-03,12.6,14.1\n2026-01-04,12.7,14.1\n")
    page = seen(train.get(place).text)
    assert "Feed pressure 12.5 bar 12.9 bar" in page and "Keep what is in the logbook" in page
    without = train.post(f"{place}/confirm", data={"take": "yes"})
    assert without.status_code == 422 and "Say why the values of the file" in seen(without.text)
    done = seen(train.post(f"{place}/confirm", data={"take": "yes", "reason": "gauge read anew"}).text)
    assert "1 reading brought in." in done and "Given the values of the file 1" in done
    assert "12.9" in seen(train.get("/trains/1/readings").text)
    undone = seen(train.post(f"{place}/undo", data={"reason": "wrong gauge"}).text)
    assert "Given back what they said before 1" in undone
    readings = seen(train.get("/trains/1/readings").text)
    assert "12.9" not in readings and "12.5" in readings
