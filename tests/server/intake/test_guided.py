"""A table as people keep it: handed in, understood, corrected, looked at, brought in. All through the pages."""

import re
import time
import tomllib
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from server.intake import jobs
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


def answer(client: TestClient, place: str, **more: str) -> str:
    """Answer as it was understood, but for what is said; returns what the next page shows."""
    return seen(client.post(place, data=chosen(client.get(place).text) | more).text)


def test_the_month_of_days_alone_is_asked_and_stays(train: TestClient) -> None:
    place = hand_in(train, "Day,Feed pressure (bar)\n30,12.5\n31,12.6\n1,12.7\n")
    assert "Of which month is the first reading?" in seen(train.get(place).text)
    assert "Say the month of the first reading, such as" in answer(train, place)
    assert "3 new readings to bring in." in answer(train, place, month="2025-12")
    saved = tomllib.loads(train.get(f"{place.removesuffix('/columns')}/mapping.toml").text)
    assert saved["time"]["months"] == ["2025-12"]


def test_the_train_of_a_file_of_several_is_asked_and_stays(train: TestClient) -> None:
    rows = "2026-01-02,12.5,11.5\n2026-01-03,12.6,11.6\n"
    place = hand_in(train, "Date,Skid A feed pressure (bar),Skid B feed pressure (bar)\n" + rows)
    assert "Which train is meant? The file holds several: “A”, “B”." in seen(train.get(place).text)
    assert "Say which train this is." in answer(train, place)
    assert "it belongs to another train" in answer(train, place, train="B").lower()
    looked = train.post(f"{place.removesuffix('columns')}layout", data={"header_row": "1", "time": "Date"})
    assert "Which train is meant?" not in seen(looked.text)
    assert "2 new readings to bring in." in answer(train, place)
    assert "11.5" in seen(train.get(place.removesuffix("/columns")).text)


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
    assert "Feed pressure 12.5 bar 12.9 bar" in page and "Keep what was there first" in page
    without = train.post(f"{place}/confirm", data={"take": "yes"})
    assert without.status_code == 422 and "Say why the values of the file" in seen(without.text)
    done = seen(train.post(f"{place}/confirm", data={"take": "yes", "reason": "gauge read anew"}).text)
    assert "1 reading brought in." in done and "Given the values of the file 1" in done
    assert "12.9" in seen(train.get("/trains/1/readings").text)
    undone = seen(train.post(f"{place}/undo", data={"reason": "wrong gauge"}).text)
    assert "Given back what they said before 1" in undone
    readings = seen(train.get("/trains/1/readings").text)
    assert "12.9" not in readings and "12.5" in readings


def test_answers_are_kept_for_the_next_file_with_the_same_headers(train: TestClient) -> None:
    place = hand_in(train, SIMPLE + "2026-01-02,12.5,14.1\n")
    form = chosen(train.get(place).text) | {"meaning-1": "feed_flow", "save_as": "Monthly sheet"}
    train.post(place, data=form)
    again = hand_in(train, SIMPLE + "2026-02-02,12.6,14.2\n")
    assert not again.endswith("/columns")
    page = seen(train.get(again).text)
    assert "Read as answered before and kept under “Monthly sheet”." in page and "Feed flow" in page
    assert chosen(train.get(f"{again}/columns").text)["meaning-1"] == "feed_flow"


def test_answers_serve_every_train_of_the_site_and_the_command_line(train: TestClient, plant_text: str) -> None:
    train.post("/plants", data={"text": plant_text.replace('"RO 1"', '"RO 2"')})
    place = hand_in(train, SIMPLE + "2026-01-02,12.5,14.1\n")
    train.post(place, data=chosen(train.get(place).text) | {"meaning-1": "feed_flow", "save_as": "Monthly sheet"})
    file = {"file": ("log.csv", (SIMPLE + "2026-01-02,12.6,14.1\n").encode())}
    page = seen(train.post("/trains/2/imports", files=file).text)
    assert "kept under “Monthly sheet”." in page and "Feed flow" in page
    mapping = train.get(f"{place.removesuffix('/columns')}/mapping.toml").text
    assert tomllib.loads(mapping)["columns"]["Permeate flow (m3/h)"] == "feed_flow [m3/h]"


@pytest.mark.parametrize(
    "log",
    [
        "Date,RO-1 Feed pressure (bar),RO-2 Feed pressure (bar)\n2026-01-02,12.5,11.5\n2026-01-03,12.5,11.5\n",
        "Date,Train,Feed pressure (bar)\n2026-01-02,RO-1,12.5\n2026-01-02,RO-2,11.5\n",
    ],
    ids=["side by side", "below each other"],
)
def test_answers_for_one_train_are_not_used_for_another(train: TestClient, plant_text: str, log: str) -> None:
    train.post("/plants", data={"text": plant_text.replace('"RO 1"', '"RO 2"')})
    place = hand_in(train, log)
    train.post(place, data=chosen(train.get(place).text) | {"timezone": "Europe/Lisbon", "save_as": "Both"})
    assert not hand_in(train, log).endswith("/columns")
    other = train.post("/trains/2/imports", files={"file": ("log.csv", log.encode())}, follow_redirects=False)
    assert other.headers["location"].endswith("/columns")


def test_canonical_names_without_units_are_one_question_less(train: TestClient) -> None:
    place = hand_in(train, "time,feed_pressure,permeate_flow,feed_ph\n2026-01-02T06:00,12.5,14.1,7.2\n")
    form = chosen(train.get(place).text)
    assert (form["meaning-0"], form["unit-0"], form["unit-1"]) == ("feed_pressure", "bar", "m3/h")
    assert "1 new reading to bring in." in seen(train.post(place, data=form | {"timezone": "Europe/Lisbon"}).text)


def test_what_only_a_person_can_say_is_asked_before_anything_is_read(train: TestClient) -> None:
    rows = "".join(f"0{day}/02/2026,174,14.1\n" for day in range(1, 4))
    place = hand_in(train, SIMPLE + rows)
    page = train.get(place).text
    assert "Two questions first" in seen(page) and "did you mean psi?" in seen(page)
    form = chosen(page)
    assert form["order"] == "" and form["unit-0"] == ""
    refused = train.post(place, data=form)
    assert refused.status_code == 422
    assert "Say in which order the dates are written." in seen(refused.text)
    assert "Say in which unit it is." in seen(refused.text)
    answered = train.post(place, data=form | {"order": "month first", "unit-0": "psi"})
    assert "3 new readings to bring in." in seen(answered.text) and "12.0" in seen(answered.text)


def test_the_year_and_the_hours_of_shifts_are_asked_once(train: TestClient) -> None:
    log = "RO log 2026\n\nDate,Shift,Feed pressure (bar)\n5 Jan,Early,12.5\n5 Jan,Crew B,12.6\n6 Jan,Early,12.6\n"
    place = hand_in(train, log)
    page = train.get(place).text
    assert "“RO log 2026”" in seen(page) and 'name="year" type="text" value="2026"' in page
    form = chosen(page) | {"timezone": "Europe/Lisbon", "shift-0": "06:00", "year": "2026"}
    assert "Say a time of day, such as 06:00." in seen(train.post(place, data=form).text)
    looked = train.post(place, data=form | {"shift-1": "14:00"})
    assert "3 new readings to bring in." in seen(looked.text)


def test_answers_with_a_year_are_not_used_for_another_file(train: TestClient) -> None:
    log = "Date,Feed pressure (bar)\n5 Jan,12.5\n6 Jan,12.6\n"
    place = hand_in(train, log)
    form = chosen(train.get(place).text) | {"timezone": "Europe/Lisbon", "year": "2025", "save_as": "Daily"}
    train.post(place, data=form)
    assert hand_in(train, log.replace("12.5", "12.4")).endswith("/columns")


def test_answers_with_a_month_are_not_used_for_another_file(train: TestClient) -> None:
    """Days alone: the month of one file is not that of the next."""
    log = "Day,Feed pressure (bar),Permeate flow (m3/h)\n" + "".join(f"{day},12.{day},14\n" for day in range(1, 29))
    path = hand_in(train, log, "log 2026-01.csv")
    answers = chosen(train.get(path).text) | {"month": "2026-01", "save_as": "daily"}
    assert train.post(path, data=answers, follow_redirects=False).status_code == 303
    assert 'value="2026-02"' in train.get(hand_in(train, log, "log 2026-02.csv")).text


@pytest.mark.parametrize(("log", "asked"), [
    ("".join(f"{hour % 24:02d}:00,12.{hour % 24},14\n" for hour in range(20, 40)), {"day": "9999-12-31"}),
    ("".join(f"{day},12.{day},14\n" for day in range(1, 29)), {"month": "0000-01"}),
])  # fmt: skip
def test_days_that_no_plant_has_seen_are_asked_again(train: TestClient, log: str, asked: dict[str, str]) -> None:
    path = hand_in(train, "Time,Feed pressure (bar),Permeate flow (m3/h)\n" + log)
    given = train.post(path, data=chosen(train.get(path).text) | asked, follow_redirects=False)
    assert given.status_code == 422 and "of the first reading, such as" in given.text


def test_a_date_that_is_none_does_not_break_a_clock_of_twelve_hours(train: TestClient) -> None:
    days = "".join(f"2026-01-{day:02d} {at},12.{day},14\n" for day in range(2, 12) for at in ("6:00", "10:00", "2:00"))
    path = hand_in(train, f"Date,Feed pressure (bar),Permeate flow (m3/h)\n{days}2026-01-32 6:00,12,14\n")
    given = train.post(path, data=chosen(train.get(path).text) | {"noon": "order"}, follow_redirects=True)
    assert given.status_code == 200 and "2026-01-32 6:00" in given.text


def test_a_doubtful_decimal_mark_is_asked_and_the_numbers_looked_at_anew(train: TestClient) -> None:
    place = hand_in(train, "time;feed cond uS/cm\n2026-01-05 06:00;1,834\n2026-01-06 06:00;1,841\n")
    page = train.get(place).text
    assert "more than a thousand: the comma" in page
    form = chosen(page)
    assert train.post(place, data=form).status_code == 422
    anew = train.post(place, data=form | {"decimal": "point"})
    assert "1,834" in anew.text and "Is this what the file says?" in seen(anew.text)
    looked = seen(train.post(place, data=chosen(anew.text)).text)
    assert "2 new readings" in looked and "1 834" in looked.replace("\u202f", " ")


def test_a_file_can_be_looked_at_anew_from_another_row(train: TestClient) -> None:
    place = hand_in(train, "Old,head,er\n" + SIMPLE + "2026-01-02,12.5,14.1\n")
    layout = place.replace("/columns", "/layout")
    assert "Feed pressure (bar)" in train.post(layout, data={"header_row": "2", "time": "Date"}).text
    wrong = train.post(layout, data={"header_row": "900"})
    assert wrong.status_code == 422 and "holds no table of readings" in seen(wrong.text)


REAL = Path(__file__).parents[4] / "shared" / "real" / "reuse_plant_stages_1_2.csv"


@pytest.mark.skipif(not REAL.is_file(), reason="../shared/real, the published log of a real plant, is not here")
def test_the_published_log_of_a_real_plant_comes_in_as_it_is(client: TestClient) -> None:
    tests = Path(__file__).parents[2]
    client.post("/plants", data={"text": (tests / "real" / "plant.toml").read_text(encoding="utf-8")})
    place = hand_in(client, REAL.read_bytes(), REAL.name)
    page = client.get(place).text
    assert "11 columns understood, one left out" in seen(page)
    form = chosen(page)
    expected = tomllib.loads((tests / "real" / "mapping.toml").read_text(encoding="utf-8"))["columns"]
    typed = {f"{form[f'meaning-{n}']} [{form[f'unit-{n}']}]" for n in range(12) if form[f"meaning-{n}"]}
    assert typed == set(expected.values())
    looked = seen(client.post(place, data=form).text)
    assert "new readings to bring in." in looked


def test_a_long_file_is_worked_on_by_a_process_of_its_own(train: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(jobs, "LONG_FILE_BYTES", 100)
    place = hand_in(train, "time,feed_pressure [bar]\n" + "2026-01-02T06:10,12.5\n2026-01-03T06:10,oops\n" * 3)
    assert "/columns" not in place
    assert "The page looks again by itself" in seen(train.get(place).text)
    assert "3 problems to mend" in _when_done(train, place)
    train.post(f"{place}/confirm", data={"leave_out": "yes"})
    assert "1 reading brought in." in _when_done(train, place)


def _when_done(client: TestClient, place: str) -> str:
    for _ in range(600):
        page = client.get(place).text
        if 'http-equiv="refresh"' not in page:
            return seen(page)
        time.sleep(0.3)
    raise AssertionError(seen(page))
