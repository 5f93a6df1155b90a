"""Import: look first, bring in, undo; whatever cannot be used is said by row and column, and nothing is stored."""

import io

import pytest
import xlsxwriter
from fastapi.testclient import TestClient

from tests.server.seen import seen

HEAD = "time,feed_temperature [degC],feed_pressure [psi],permeate_flow [gpm],colour\n"
ROWS = [f"2026-01-{day:02d}T06:10,17.4,198,62.1,brown\n" for day in range(2, 12)]
LOG = HEAD + "".join(ROWS)


@pytest.fixture
def train(client: TestClient, plant_text: str) -> TestClient:
    client.post("/plants", data={"text": plant_text})
    return client


def hand_in(client: TestClient, content: str | bytes, name: str = "log.csv", **data: str) -> str:
    body = content.encode() if isinstance(content, str) else content
    response = client.post("/trains/1/imports", files={"file": (name, body)}, data=data, follow_redirects=False)
    assert response.status_code == 303, seen(response.text)
    return response.headers["location"]


def readings(client: TestClient) -> str:
    return seen(client.get("/trains/1/readings").text)


def test_a_file_is_looked_at_before_anything_is_stored(train: TestClient) -> None:
    page = seen(train.get(hand_in(train, LOG)).text)
    assert "10 new readings to bring in." in page
    assert "Feed pressure psi" in page and "Not understood, left out colour" in page
    # 198 psi = 13.65 bar, 62.1 gpm = 14.10 m3/h (NIST SP 811), shown in the units of the site
    assert "13.7 bar" in page and "14.1 m³/h" in page
    assert "There are none of these." in readings(train)


def test_it_is_brought_in_and_undone_as_a_whole(train: TestClient) -> None:
    place = hand_in(train, LOG)
    done = train.post(f"{place}/confirm")
    assert "10 readings brought in." in seen(done.text) and "To the train" in seen(done.text)
    assert "1 to 10 of 10" in readings(train)
    question = seen(train.get(f"{place}/undo").text)
    assert "Undo the import of log.csv?" in question and "Undo the import" in question
    undone = seen(train.post(f"{place}/undo", data={"reason": "wrong train"}).text)
    assert "Undone: 10 readings taken out of use." in undone
    assert "Taken out of use" in readings(train) and "wrong train" in readings(train)


def test_a_discarded_file_stores_nothing_and_cannot_be_brought_in_later(train: TestClient) -> None:
    place = hand_in(train, LOG)
    assert "discarded" in seen(train.post(f"{place}/discard").text)
    again = train.post(f"{place}/confirm")
    assert again.status_code == 409 and "nothing was changed" in seen(again.text)
    assert "There are none of these." in readings(train)


def test_problems_are_listed_by_row_and_column_with_what_is_expected(train: TestClient) -> None:
    wrong = HEAD + "2026-01-02T06:10,1o.4,198,62.1,brown\n2026-13-01T06:10,17.4,198,62.1,brown\n"
    place = hand_in(train, wrong)
    page = seen(train.get(place).text)
    assert "2 problems to mend before this file can be brought in." in page
    assert "2 feed_temperature [degC] 1o.4 a number such as" in page and "2026-13-01T06:10" in page
    assert "Bring in" not in page.split("What to mend")[0]
    assert train.post(f"{place}/confirm").status_code == 422
    assert "There are none of these." in readings(train)


def test_the_same_file_again_brings_nothing_and_other_values_are_shown(train: TestClient) -> None:
    train.post(f"{hand_in(train, LOG)}/confirm")
    again = seen(train.get(hand_in(train, LOG)).text)
    assert "There is nothing new in this file." in again and "brought in already" in again
    changed = seen(train.get(hand_in(train, LOG.replace("198", "212", 1))).text)
    # 198 psi = 13.65 bar, 212 psi = 14.62 bar
    assert "Feed pressure 13.7 bar 14.6 bar" in changed


@pytest.mark.parametrize(
    ("content", "name", "said"),
    [("", "log.csv", "log.csv"), (b"PK\x03\x04 broken", "log.xlsx", "log.xlsx"), ("a,b\n1,2\n", "log.csv", "time")],
)
def test_a_file_that_cannot_be_used_is_said_beside_the_field(
    train: TestClient, content: str | bytes, name: str, said: str
) -> None:
    body = content.encode() if isinstance(content, str) else content
    response = train.post("/trains/1/imports", files={"file": (name, body)}, data={"mapping": ""})
    assert response.status_code == 422 and said in seen(response.text)
    assert 'aria-invalid="true"' in response.text and "There are none of these." in readings(train)


def test_no_file_at_all_is_said_beside_the_field(train: TestClient) -> None:
    response = train.post("/trains/1/imports")
    assert response.status_code == 422 and "Choose a file first." in seen(response.text)


def test_a_mapping_that_is_wrong_is_kept_and_said(train: TestClient) -> None:
    response = train.post(
        "/trains/1/imports", files={"file": ("log.csv", LOG.encode())}, data={"mapping": "columns = nonsense"}
    )
    assert response.status_code == 422 and "columns = nonsense" in seen(response.text)


def test_a_workbook_is_taken_as_well(train: TestClient) -> None:
    content = io.BytesIO()
    book = xlsxwriter.Workbook(content)
    sheet = book.add_worksheet()
    for number, row in enumerate([HEAD, *ROWS]):
        for column, cell in enumerate(row.strip().split(",")):
            numeric = number and 0 < column < 4
            sheet.write(number, column, float(cell) if numeric else cell)
    book.close()
    page = seen(train.get(hand_in(train, content.getvalue(), "log.xlsx")).text)
    assert "10 new readings" in page


def test_a_file_above_the_limit_is_refused_in_one_clear_sentence(train: TestClient) -> None:
    large = HEAD + ROWS[0] * 6_000  # 250 kB, above the 200 kB of these tests
    response = train.post("/trains/1/imports", files={"file": ("log.csv", large.encode())})
    assert response.status_code == 413 and "too large" in seen(response.text)
    huge = train.post("/trains/1/imports", files={"file": ("log.csv", b"x" * 3_000_000)})
    assert huge.status_code == 413
    assert "2.9 MB came in; at most 0.2 MB can be taken at once. Nothing was changed." in seen(huge.text)
    assert "There are none of these." in readings(train)


def test_an_import_that_is_not_there_is_said_so(train: TestClient) -> None:
    assert train.get("/imports/77").status_code == 404
    assert train.post("/imports/77/confirm").status_code == 404


def test_two_rows_of_one_time_are_told_by_their_rows(train: TestClient) -> None:
    content = "time,feed_pressure [bar]\n2026-01-05T06:10,12.5\n2026-01-06T06:10,12.6\n2026-01-05T06:10,12.9\n"
    page = train.post("/trains/1/imports", files={"file": ("log.csv", content.encode())}).text
    assert "12.5 bar in row 2" in seen(page)
