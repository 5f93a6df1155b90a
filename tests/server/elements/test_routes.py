"""Elements: the map from a pasted list, changes by clicking, files out and in, rounds of single vessels."""

import csv
import io
from datetime import date

import pytest
import xlsxwriter
from fastapi.testclient import TestClient
from python_calamine import CalamineWorkbook
from sqlalchemy.orm import Session

from server.budget.queries import installed_days
from tests.server.seen import seen

MAP, VESSELS = "/trains/1/elements", "/trains/1/vessels"


@pytest.fixture
def train(client: TestClient, plant_text: str) -> TestClient:
    """A train of 2 vessels of 6 and then 1 of 6, whatever the plant file says of boosters."""
    client.post("/plants", data={"text": plant_text.replace("booster = true", "")})
    return client


def shape(client: TestClient) -> list[tuple[int, int]]:
    """Stages as (vessels, elements), read from the fields of a round and the places of the map."""
    text = client.get(MAP).text
    stages = []
    for stage in (1, 2, 3):
        vessels = text.count(f'aria-label="Stage {stage}, vessel ')
        if vessels:
            stages.append((vessels, text.count(f"place?at={stage}.1.")))
    return stages


def listing(client: TestClient, day: str = "2026-01-10") -> str:
    rows = ["day\tserial\tmodel\tstage\tvessel\tposition\tmade\tweight_kg"]
    places = [
        (stage, vessel, n)
        for stage, (vessels, elements) in enumerate(shape(client), start=1)
        for vessel in range(1, vessels + 1)
        for n in range(1, elements + 1)
    ]
    rows += [f"{day}\tS{s}{v}{n}\tany 400\t{s}\t{v}\t{n}\t2025-11-01\t15,5" for s, v, n in places]
    return "\n".join(rows)


def test_a_list_fills_the_map(train: TestClient) -> None:
    assert "This train holds" in seen(train.get(MAP).text)
    assert train.post(MAP, data={"pasted": listing(train)}).status_code == 200
    text = seen(train.get(MAP).text)
    assert "elements are known" in text
    place = seen(train.get(f"{MAP}/place?at=1.1.2").text)
    assert (
        "Stage 1, vessel 1, position 2: S112" in place
        and "any 400" in place
        and "Weighed, drained: 15.5 kg on" in place
    )
    assert "Elements placed" in seen(train.get("/trains/1/history").text)
    assert "Element replacement" not in seen(train.get("/trains/1/events").text).split("So far")[1]


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("S112\t", "S111\t", "S111 stands in row 2, too."),
        ("2025-11-01\t15,5", "2027-11-01\t15,5", "after it is said to be installed"),
        ("\t1\t1\t2\t", "\t1\t1\t9\t", "This train has no stage 1, vessel 1, position 9"),
        (
            "2026-01-10\tS112",
            "10.01.2026\tS112",
            'Row 3, column "day": "10.01.2026" is not a day; expected a day such as 2026-03-01.',
        ),
        ("2026-01-10", "2999-01-10", "lies in the future"),
        ("serial\t", "number\t", "Row 1: serial not found; expected a row that names the columns"),
        (
            "15,5",
            "heavy",
            'Row 2, column "weight_kg": "heavy" is no weight; expected a number above 0 and below 100, in kg.',
        ),
    ],
)
def test_what_cannot_be_is_said_by_row_and_nothing_is_stored(train: TestClient, old: str, new: str, said: str) -> None:
    response = train.post(MAP, data={"pasted": listing(train).replace(old, new, 1)})
    text = seen(response.text)
    assert response.status_code == 422 and "Nothing was changed." in text and said in text
    assert "This train holds" in text


def test_an_element_is_replaced_by_clicking_and_opens_a_run(train: TestClient) -> None:
    train.post(MAP, data={"pasted": listing(train)})
    sent = {"at": "1.1.1", "serial": "NEW-1", "model": "any 440", "made": "", "on": "2026-05-01"}
    assert train.post(f"{MAP}/place", data=sent).status_code == 200
    text = seen(train.get(f"{MAP}/place?at=1.1.1").text)
    assert "NEW-1" in text and "S111" in text.split("What lay here")[1]
    events = seen(train.get("/trains/1/events").text).split("So far")[1]
    assert "Element replacement, stage 1" in events and "NEW-1" in events


@pytest.mark.parametrize(
    ("field", "entered", "said"),
    [
        ("serial", {"serial": "S121"}, "S121 lies at stage 1, vessel 2, position 1"),
        ("made", {"made": "2026-06-01"}, "NEW-1 was made on 2026-06-01, after it is said to be installed."),
        ("on", {"on": "2999-05-01"}, "2999-05-01 lies in the future."),
        ("on", {"on": "2026-01-01"}, "On 2026-01-10 something later is known"),
        ("to", {"to": "9.9.9"}, "another place whose element is known"),
    ],
)
def test_what_cannot_be_is_said_beside_the_field_of_a_place(
    train: TestClient, field: str, entered: dict[str, str], said: str
) -> None:
    train.post(MAP, data={"pasted": listing(train)})
    response = train.post(f"{MAP}/place", data={"at": "1.1.1", "serial": "NEW-1", "on": "2026-05-01", **entered})
    error = response.text.split(f'<p class="error" id="e-{field}">')[1].split("</p>")[0].replace("\u00a0", " ")
    assert response.status_code == 422 and said in error and "Row" not in error
    assert f'name="{field}" ' in response.text and f'value="{entered[field]}"' in response.text
    assert "Nothing was changed." in seen(response.text) and "S111" in seen(train.get(f"{MAP}/place?at=1.1.1").text)


def test_two_change_places_and_a_vessel_is_turned(train: TestClient) -> None:
    train.post(MAP, data={"pasted": listing(train)})
    train.post(f"{MAP}/place", data={"at": "1.1.1", "to": "1.1.2", "on": "2026-05-01"})
    assert "S112" in seen(train.get(f"{MAP}/place?at=1.1.1").text).split("here since")[0]
    last = shape(train)[0][1]
    train.post(f"{MAP}/turn", data={"vessel": "1.1", "on": "2026-06-01"})
    assert "S112" in seen(train.get(f"{MAP}/place?at=1.1.{last}").text).split("here since")[0]
    assert train.post(f"{MAP}/place", data={"at": "1.1.1", "to": "9.9.9", "on": "2026-07-01"}).status_code == 422
    assert train.post(f"{MAP}/turn", data={"vessel": "x", "on": "2026-06-01"}).status_code == 422


def test_elements_that_moved_are_no_younger_for_their_life(train: TestClient) -> None:
    train.post(MAP, data={"pasted": listing(train)})
    for vessel in ("1.1", "1.2"):
        train.post(f"{MAP}/turn", data={"vessel": vessel, "on": "2026-06-01"})
    train.post(f"{MAP}/place", data={"at": "2.1.1", "serial": "NEW", "on": "2026-05-01"})
    with Session(train.app.state.engine) as session:  # type: ignore[attr-defined]
        assert installed_days(session, 1) == dict.fromkeys((1, 2), date(2026, 1, 10))


def test_files_come_back_in(train: TestClient) -> None:
    pasted = listing(train).replace("S112", "=1+1")
    train.post(MAP, data={"pasted": pasted})
    text = train.get(f"{MAP}.csv").text
    assert "'=1+1" in text
    rows = (
        CalamineWorkbook.from_filelike(io.BytesIO(train.get(f"{MAP}.xlsx").content)).get_sheet_by_index(0).to_python()
    )
    assert rows[0][:3] == ["day", "serial", "model"] and rows[1][1] == "S111" and rows[2][1] == "'=1+1"
    for day in ("2026-01-10", "2026-02-10"):
        again = train.post(MAP, data={"pasted": text.replace("2026-01-10", day).replace("any 400", "any 440")})
        assert again.status_code == 200 and "No element has been moved or replaced yet." in seen(again.text)
    assert (
        "any 440" in train.get(f"{MAP}.csv").text and train.get(f"{MAP}.csv").text.count("2026-01-10") == len(rows) - 1
    )
    assert "Element move" not in seen(train.get("/trains/1/events").text).split("So far")[1]


def handed_in(client: TestClient, content: bytes, name: str) -> tuple[int, str]:
    response = client.post(MAP, files={"file": (name, content)})
    return response.status_code, seen(response.text)


def workbook(rows: list[list[object]]) -> bytes:
    """A sheet of words before one named Map."""
    out = io.BytesIO()
    with xlsxwriter.Workbook(out) as book:
        book.add_worksheet("Notes").write(0, 0, "Loaded by two of us")
        sheet = book.add_worksheet("Map")
        for number, row in enumerate(rows):
            sheet.write_row(number, 0, row)
    return out.getvalue()


def as_rows(pasted: str) -> list[list[object]]:
    """A list as a workbook holds it: counts are numbers, the serial number of the first element too."""
    head, *rows = [line.split("\t") for line in pasted.splitlines()]
    titles = ["Installed on", "Serial number", "Model", "Stage", "Vessel", "Position", "Made", "Weight [kg]"]
    assert len(titles) == len(head)
    return [["Elements of RO 1"], titles, *([*row[:3], *map(int, row[3:6]), row[6], 15.5] for row in rows)]


def test_a_workbook_of_ones_own_is_handed_in(train: TestClient) -> None:
    rows = as_rows(listing(train))
    rows[2][1] = 70112
    status, text = handed_in(train, workbook(rows), "elements.xlsx")
    assert status == 200 and "18 elements came, moved or left and 18 models, dates or weights noted." in text
    assert "70112" in seen(train.get(f"{MAP}/place?at=1.1.1").text)


def test_what_is_wrong_in_a_file_is_said_with_file_sheet_row_column_and_value(train: TestClient) -> None:
    rows = as_rows(listing(train))
    rows[3][7] = "heavy"
    status, text = handed_in(train, workbook(rows), "elements.xlsx")
    said = 'elements.xlsx, sheet "Map", row 4, column "Weight [kg]": "heavy" is no weight; expected a number above 0'
    assert status == 422 and said in text and "This train holds" in text
    rows[3][7] = 15.5
    rows[4][6] = "2031-01-01"
    status, text = handed_in(train, workbook(rows), "elements.xlsx")
    assert status == 422 and 'sheet "Map", row 5, column "Made": S113 was made on 2031-01-01, after' in text


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "elements.csv: is empty"),
        (b"%PDF-1.7", "is a PDF document"),
        (b"PK\x03\x04 no workbook", "elements.csv"),
        (b"stage,vessel\n1,1\n", "elements.csv, row 1: day, serial, position not found"),
        (b"day,serial,stage,vessel,position\n", "There is no row below the names of the columns."),
        (b'day,serial,stage,vessel,position\n"2026-01-10,A,1,1,1\n' + b"x" * 200_000, "quotation mark"),
        (b"\xff\x00\x01\x02" * 50, "elements.csv"),
        (b"day,day,serial,stage,vessel,position\n1,1,1,1,1,1", "The column day stands there twice."),
    ],
)
def test_a_file_that_is_no_list_is_refused_in_words(train: TestClient, content: bytes, said: str) -> None:
    status, text = handed_in(train, content, "elements.csv")
    assert status == 422 and "Nothing was changed." in text and said in text


def test_a_file_that_is_too_large_is_refused(train: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("server.elements.routes.LARGEST_FILE", 1_000_000)
    status, text = handed_in(train, b"x" * 1_000_001, "elements.csv")
    assert status == 422 and "elements.csv is too large; at most 1 MB, please." in text


@pytest.mark.parametrize("kind", ["csv", "xlsx"])
def test_a_file_taken_from_the_map_comes_back_and_changes_nothing(train: TestClient, kind: str) -> None:
    train.post(MAP, data={"pasted": listing(train)})
    train.post(f"{MAP}/place", data={"at": "1.1.1", "serial": "-1", "on": "2026-05-01"})
    history = train.get("/trains/1/history").text.count("Elements placed")
    first = train.get(f"{MAP}.{kind}").content
    status, text = handed_in(train, first, f"map.{kind}")
    assert status == 200 and "18 lay there already." in text
    assert train.get("/trains/1/history").text.count("Elements placed") == history
    assert train.get(f"{MAP}.csv").text.count("2026-05-01") == 1
    assert "'-1" in train.get(f"{MAP}.csv").text


def test_what_goes_out_says_what_each_element_has_lived_through(train: TestClient) -> None:
    train.post(MAP, data={"pasted": listing(train)})
    train.post("/trains/1/events", data={"when": "2026-03-01T10:00", "kind": "cleaning"})
    train.post(f"{MAP}/place", data={"at": "1.1.1", "serial": "NEW", "on": "2026-05-01"})
    rows = list(csv.DictReader(io.StringIO(train.get(f"{MAP}.csv").text)))
    assert [(row["serial"], row["cleanings"]) for row in rows[:2]] == [("NEW", "0"), ("S112", "1")]
    assert float(rows[1]["age_years"]) - float(rows[0]["age_years"]) == pytest.approx(111 / 365.25, abs=0.011)
    assert rows[1]["weight_kg"] == "15.5" and rows[1]["weighed"] == "2026-01-10" and rows[0]["weight_kg"] == ""
    before = CalamineWorkbook.from_filelike(io.BytesIO(train.get(f"{MAP}.xlsx").content)).get_sheet_by_name("Before")
    assert before.to_python()[1][0] == "S111"


def test_an_element_is_weighed_by_clicking(train: TestClient) -> None:
    train.post(MAP, data={"pasted": listing(train)})
    train.post(f"{MAP}/place", data={"at": "1.1.1", "weight_kg": "19,2", "on": "2026-06-01"})
    text = seen(train.get(f"{MAP}/place?at=1.1.1").text)
    assert "15.5 kg on 10 Jan 2026; 19.2 kg on 1 Jun 2026" in text
    for field, wrong in (("weight_kg", "heavy"), ("weight_kg", ""), ("weighed", "2999-01-01"), ("weighed", "soon")):
        sent = {"weight_kg": "19", "on": "2026-06-01"} | {"on" if field == "weighed" else field: wrong}
        response = train.post(f"{MAP}/place", data={"at": "1.1.1", **sent})
        key = "weigh-on" if field == "weighed" else field
        assert response.status_code == 422 and f'id="e-{key}"' in response.text


def test_colours_can_be_chosen_and_a_wrong_place_is_not_there(train: TestClient) -> None:
    train.post(MAP, data={"pasted": listing(train)})
    assert "? not known" in seen(train.get(f"{MAP}?by=chlorine").text)
    assert "? not known" in seen(train.get(f"{MAP}?by=condition").text)
    assert "from 0" in seen(train.get(f"{MAP}?by=cleanings").text)
    train.post("/trains/1/events", data={"when": "2026-03-01T10:00", "kind": "cleaning"})
    assert "from 1" in seen(train.get(f"{MAP}?by=cleanings").text)
    assert train.get(f"{MAP}/place?at=7.7.7").status_code == 404
    assert train.get(f"{MAP}/place?at=one").status_code == 404


def test_a_round_of_vessels(train: TestClient) -> None:
    vessels = shape(train)[0][0]
    sent = {"when": "2026-03-01T10:00", **{f"v_1_{n}": "60,5" for n in range(1, vessels + 1)}}
    assert train.post(VESSELS, data=sent).status_code == 200
    text = seen(train.get(VESSELS).text)
    assert "stage 1: 60.5" in text
    assert vessels < 3 and "Fewer than 3 vessels do not tell which of them is out" in text
    assert train.post("/rounds/1/withdraw", data={"reason": ""}).status_code == 409
    assert "Wrong probe." in seen(train.post("/rounds/1/withdraw", data={"reason": "Wrong probe."}).text)
    assert train.post(VESSELS, data={"when": "2026-03-01T10:00", "v_1_1": "sixty"}).status_code == 422
    assert "Enter at least one vessel." in seen(train.post(VESSELS, data={"when": "2026-03-01T10:00"}).text)


def test_a_probing_is_worked_out(train: TestClient) -> None:
    query = {"places": "0.1 0.9 1.1 1.9 2.1 2.9 3.1", "values": "40 41 42 43 68 69 70"}
    text = seen(train.get(VESSELS, params=query).text)
    assert "between element 2 and 3" in text and "Element 2, back the step comes behind it 43.0" in text
    assert "four samples" in seen(train.get(VESSELS, params={"places": "1 2", "values": "1 2"}).text)


@pytest.mark.parametrize(
    ("query", "said"),
    [
        ({"places": "a", "values": "1"}, 'Places: "a": This is not a number'),
        ({"places": "1 2 3 4", "values": "40 41 42"}, "There are 4 places and 3 conductivities"),
        ({"places": "1 3 2 4", "values": "40 41 42 43"}, "Places must rise from the feed end"),
        ({"places": "1 2 3 4", "values": "40 41 0 43"}, '"0" is not a conductivity above zero'),
        ({"front1": "40", "back1": "4o"}, 'Element 1, back: "4o": This is not a number'),
        ({"front1": "40"}, "At least four samples"),
    ],
)
def test_a_probing_that_cannot_be_is_refused_in_words(train: TestClient, query: dict[str, str], said: str) -> None:
    assert said in seen(train.get(VESSELS, params=query).text)


def test_a_probing_is_entered_element_by_element(train: TestClient) -> None:
    values = {"front1": "40", "back1": "70", "front2": "42", "back2": "43,5", "front3": "44", "back4": "47"}
    text = train.get(VESSELS, params=values).text
    assert "The sample at 0.9 stands alone: take it again." in seen(text) and 'value="43,5"' in text
    assert "Element 1, back stands alone 70.0" in seen(text)
