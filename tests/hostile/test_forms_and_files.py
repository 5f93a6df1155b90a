"""Forms and files filled by somebody who means no good."""

import csv
import io
from typing import Any
from urllib.parse import quote_plus

import pytest
import xlsxwriter
from fastapi import FastAPI
from fastapi.testclient import TestClient
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.hostile.conftest import HOSTILE, check_answer, who

NASTY = [
    "",
    " ",
    "\x00",
    "\r\n",
    "a\r\nSet-Cookie: x=1",
    "=1+1",
    "<script>alert(1)</script>",
    "{{ 7*7 }}",
    "${7*7}",
    "'; DROP TABLE--",
    "../../etc/passwd",
    "%00",
    "%s%n",
    "\ud800",
    "\u202e",
    "NaN",
    "inf",
    "-inf",
    "1e999",
    "9" * 400,
    "-0",
    "0x10",
    "1_000",
    "2026-02-30T25:61",
    "0001-01-01T00:00",
    "9999-12-31T23:59:59",
    "2026-03-29T01:30",
    "A" * 100_000,
    "\N{ARABIC LETTER ALEF}" * 300,
    "\N{BOM}",
]
WORDS = st.one_of(st.sampled_from(NASTY), st.text(max_size=60), st.integers().map(str), st.floats().map(str))
FORMS = {
    "/trains/1/events": ("kind", "stage", "when", "detail"),
    "/plants": ("text",),
    "/units": ("units", "back"),
    "/sign-in": ("email", "password", "back"),
    "/set-up": ("email", "name", "password"),
    "/account/password": ("current", "password"),
    "/people": ("email", "name", "site", "role"),
    "/people/2": ("name", "role_1", "role_2", "administrator"),
    "/sites/1/tokens": ("name", "read", "write"),
    "/imports/1/undo": ("reason",),
    "/trains/1/imports": ("mapping",),
    "/readings/1/amend": ("reason", "feed_pressure_bar", "taken_at", "state", "remark"),
    "/readings/1/void": ("reason",),
    "/events/1/amend": ("reason", "kind", "stage", "when", "detail"),
    "/events/1/withdraw": ("reason",),
    "/trains/1/shift": (
        "key",
        "time",
        "instant",
        "state",
        "remark",
        "feed_pressure_bar",
        "unit.feed_pressure_bar",
        "reason.feed_pressure_bar",
        "queued",
    ),
    "/trains/1/shift/layout": (
        "column",
        "move",
        "ask.feed_pressure_bar",
        "tag.feed_pressure_bar",
        "unit.feed_pressure_bar",
    ),
    "/trains/1/shift/entries/1/settle": ("right",),
    "/trains/1/setup": ("reason", "start", "end", "permeate_flow_limit", "water"),
}
GOOD_KIND = {"/trains/1/events": {"kind": "cleaning"},
             "/trains/1/shift": {"key": "key-000001", "time": "2026-03-01T06:00", "state": "running",
                                "queued": "yes"}, "/events/1/amend": {"kind": "note", "reason": "why"},
             "/readings/1/amend": {"reason": "why"}}  # fmt: skip


def encoded(fields: dict[str, str]) -> bytes:
    """A form as bytes; half of a pair of signs, which no browser sends, as the three bytes it would be."""
    quoted = (f"{quote_plus(n)}={quote_plus(v.encode('utf-8', 'surrogatepass'))}" for n, v in fields.items())
    return "&".join(quoted).encode()


@pytest.mark.parametrize("path", FORMS)
def test_a_form_takes_or_refuses_any_words(stranger_free: FastAPI, attacker: TestClient, path: str) -> None:
    headers = who(stranger_free, "administrator") | {"content-type": "application/x-www-form-urlencoded"}
    who(stranger_free, "operator")

    @settings(HOSTILE, max_examples=30)
    @given(fields=st.fixed_dictionaries(dict.fromkeys(FORMS[path], WORDS)), good=st.booleans())
    def answers(fields: dict[str, str], good: bool) -> None:
        body = encoded(fields | (GOOD_KIND.get(path, {}) if good else {}))
        mine = headers if path != "/account/password" else headers | who(stranger_free, "administrator")
        answer = attacker.post(path, content=body, headers=mine)
        check_answer(answer, stranger=False, sent=str(fields))
        assert "<script>alert(1)" not in answer.text
        assert "set-cookie: x" not in str(answer.headers).lower()

    answers()


@pytest.mark.parametrize(
    "body",
    [b"%", b"&&&==", b"a" * 3_000_000, b"&".join(b"a%d=1" % n for n in range(3000)), b"\xff\xfe\x00", b"=" * 5000],
)
@pytest.mark.parametrize(
    "kind",
    ["application/x-www-form-urlencoded", "multipart/form-data", "multipart/form-data; boundary=x",
     "multipart/form-data; boundary=" + "y" * 500, "text/plain", "application/json", ""],
)  # fmt: skip
def test_a_body_that_is_no_form_is_refused(
    stranger_free: FastAPI, attacker: TestClient, kind: str, body: bytes
) -> None:
    for path in ("/trains/1/events", "/plants", "/imports/1/undo", "/people/2", "/sign-in", "/sign-out"):
        headers = who(stranger_free, "administrator") | {"content-type": kind}
        check_answer(attacker.post(path, content=body, headers=headers), stranger=False, sent=path)


CELLS = st.one_of(
    WORDS, st.sampled_from(["2026-02-05T06:00Z", "2026-02-06T06:00", "12.1", "-", "n/a", "running", "0", "1,5"])
)
HEADERS = st.one_of(
    st.sampled_from(["time", "feed_pressure [bar]", "feed_pressure [psi]", "feed_temperature [degF]", "state", "remark",
                     "feed_pressure", "permeate_flow [m3/h]", "feed_pressure [nonsense]", "=1+1", ""]),
    st.text(max_size=30),
)  # fmt: skip
TABLES = st.lists(HEADERS, min_size=1, max_size=6).flatmap(
    lambda names: st.tuples(
        st.just(["time", *names]), st.lists(st.lists(CELLS, min_size=1, max_size=len(names) + 2), max_size=6)
    )
)
LETTERS = ["utf-8", "utf-8-sig", "utf-16", "utf-32", "latin-1", "cp1252", "cp437", "shift_jis"]


def as_csv(table: tuple[list[str], list[list[str]]], letters: str, delimiter: str) -> bytes:
    stream = io.StringIO()
    writer = csv.writer(stream, delimiter=delimiter)
    writer.writerows([table[0], *table[1]])
    return stream.getvalue().encode(letters, "replace")


def as_xlsx(table: tuple[list[str], list[list[str]]]) -> bytes:
    stream = io.BytesIO()
    made = xlsxwriter.Workbook(stream, {"strings_to_formulas": False, "strings_to_urls": False})
    sheet = made.add_worksheet()
    for number, row in enumerate([table[0], *table[1]]):
        for column, cell in enumerate(row):
            sheet.write_string(number, column, cell.encode("utf-8", "replace").decode()[:32_000])
    made.close()
    return stream.getvalue()


def bring_in(client: TestClient, headers: dict[str, str], name: str, content: bytes, mapping: str = "") -> Any:
    """Hand a file in and, when that goes, look at it, confirm it and look at everything that it touches."""
    answer = client.post(
        "/trains/1/imports", files={"file": (name, content)}, data={"mapping": mapping}, headers=headers
    )
    check_answer(answer, stranger=False, sent=name)
    if answer.status_code == 303:
        place = answer.headers["location"]
        for method, path in (("get", place), ("post", f"{place}/confirm"), ("get", place),
                             ("get", "/trains/1/readings"), ("get", "/trains/1/assessment"), ("get", "/")):  # fmt: skip
            check_answer(client.request(method, path, headers=headers), stranger=False, sent=path)
    return answer


def test_any_table_of_cells_is_taken_or_refused(stranger_free: FastAPI, attacker: TestClient) -> None:
    headers = who(stranger_free, "operator")

    @settings(HOSTILE, max_examples=120)
    @given(table=TABLES, letters=st.sampled_from(LETTERS), delimiter=st.sampled_from(",;\t"), sheet=st.booleans())
    def answers(table: Any, letters: str, delimiter: str, sheet: bool) -> None:
        name = "log.xlsx" if sheet else "log.csv"
        bring_in(attacker, headers, name, as_xlsx(table) if sheet else as_csv(table, letters, delimiter))

    answers()


def test_any_bytes_under_any_name_are_taken_or_refused(stranger_free: FastAPI, attacker: TestClient) -> None:
    headers = who(stranger_free, "operator")

    @settings(HOSTILE, max_examples=120)
    @given(
        content=st.one_of(st.binary(max_size=400), st.binary(max_size=99).map(lambda b: b"PK\x03\x04" + b),
                          st.binary(max_size=99).map(lambda b: b"time,feed_pressure [bar]\n" + b)),
        name=st.text(min_size=1, max_size=40, alphabet=st.characters(exclude_categories=["Cs"])),
        mapping=st.one_of(st.just(""), WORDS.map(lambda text: text.encode("utf-8", "replace").decode()[:5_000])),
    )  # fmt: skip
    def answers(content: bytes, name: str, mapping: str) -> None:
        bring_in(attacker, headers, name, content, mapping)

    answers()


@pytest.mark.parametrize(
    "values",
    [["1e308", "1e308"], ["-1e308", "1e-320"], ["nan", "inf"], ["0", "0"], ["-0.0", "1e16"], ["1" * 300, "2"]],
)
def test_huge_and_strange_numbers_do_not_break_an_assessment(
    stranger_free: FastAPI, attacker: TestClient, values: list[str]
) -> None:
    names = ["feed_pressure [bar]", "permeate_flow [m3/h]", "feed_temperature [degC]", "feed_conductivity [uS/cm]",
             "permeate_conductivity [uS/cm]", "concentrate_flow [m3/h]", "concentrate_pressure [bar]"]  # fmt: skip
    rows = [
        ",".join([f"2026-03-{day:02d}T06:00Z", *(values[(day + n) % 2] for n in range(len(names)))])
        for day in range(1, 29)
    ]
    content = "\n".join([",".join(["time", *names]), *rows]).encode()
    bring_in(attacker, who(stranger_free, "operator"), "log.csv", content)


PLANTS = st.recursive(
    st.one_of(st.integers(), st.floats(), st.booleans(), st.text(max_size=20)),
    lambda inner: st.lists(inner, max_size=3),
)


def test_any_plant_file_is_taken_or_refused(stranger_free: FastAPI, attacker: TestClient, plant_text: str) -> None:
    headers = who(stranger_free, "administrator")
    lines = plant_text.strip().splitlines()

    @settings(HOSTILE, max_examples=100)
    @given(place=st.integers(0, len(lines) - 1), value=st.one_of(WORDS, PLANTS.map(repr)), drop=st.booleans())
    def answers(place: int, value: str, drop: bool) -> None:
        line = lines[place]
        changed = [] if drop else [f"{line.split('=')[0]}= {value}" if "=" in line else value]
        text = "\n".join([*lines[:place], *changed, *lines[place + 1 :]]).encode("utf-8", "surrogatepass")
        check_answer(attacker.post("/plants", files={"file": ("p.toml", text)}, headers=headers), stranger=False)

    answers()


@pytest.mark.parametrize(
    "text",
    [
        "a = " + "[" * 5_000,
        "a." * 5_000 + "b = 1",
        "[" * 9_000,
        'a = """' + "x" * 900_000,
        "\x00",
        'a = "\\u0000"',
        "a = 1e400",
        "a = " + "9" * 5_000,
        "a = " + "[" * 90 + "]" * 90,
    ],
    ids=["lists", "keys", "brackets", "long", "zero", "written zero", "float", "integer", "levels"],
)
def test_a_plant_file_or_mapping_that_is_deep_or_long_is_refused(
    stranger_free: FastAPI, attacker: TestClient, text: str
) -> None:
    headers = who(stranger_free, "administrator")
    answer = attacker.post("/plants", files={"file": ("p.toml", text.encode())}, headers=headers)
    check_answer(answer, stranger=False, sent=text[:50])
    assert answer.status_code == 422
    log = b"time,feed_pressure [bar]\n2026-02-05T06:00Z,12\n"
    answer = attacker.post("/trains/1/imports", files={"file": ("a.csv", log)}, data={"mapping": text}, headers=headers)
    check_answer(answer, stranger=False, sent=text[:50])
    assert answer.status_code in {400, 422}


@pytest.mark.parametrize(
    "path",
    [
        "/trains/1/readings?leaf=99999999999999999999",
        "/trains/1/readings?show=%00",
        "/trains/1/readings?show=" + "x" * 5_000,
        "/trains/99999999999999999999999",
        "/trains/-1",
        "/trains/1%00",
        "/trains/1/../../etc",
        "/imports/0x1",
        "/trains/%31",
        "/trains/\N{ARABIC-INDIC DIGIT ONE}",
        "/static/../app.py",
        "/static/..%2fapp.py",
        "/static/%00",
        "//evil.example/",
        "/sign-in?back=//evil.example",
        "/links/" + "x" * 5_000,
        "/links/%00",
        "/set-up?key=%ff",
        "/readings/1e3",
        "/account?done=<script>",
    ],
)
def test_an_address_leads_somewhere_or_nowhere(stranger_free: FastAPI, attacker: TestClient, path: str) -> None:
    answer = attacker.get(path, headers=who(stranger_free, "administrator"))
    check_answer(answer, stranger=False, sent=path)
    assert "evil.example" not in answer.headers.get("location", "")
    assert "def create_app" not in answer.text


@pytest.mark.parametrize(
    "headers",
    [{"cookie": "skidbook_session=" + "x" * 6_000}, {"cookie": "skidbook_session=\xff\xfe"}, {"cookie": ";;;=;="},
     {"cookie": "skidbook_units=<script>"}, {"content-length": "abc"}, {"accept-encoding": "\xff"}, {"referer": "http://[/"},
     {"x-form-token": "\xe9"}, {"origin": "\x01"}, {"content-type": "multipart/form-data; boundary=\xff"}],
)  # fmt: skip
def test_a_header_of_any_kind_is_borne(stranger_free: FastAPI, attacker: TestClient, headers: dict[str, str]) -> None:
    given_headers = [(name.encode(), value.encode("latin-1")) for name, value in headers.items()]
    for method, path in (("GET", "/"), ("GET", "/sign-in"), ("POST", "/sign-in"), ("POST", "/trains/1/events")):
        check_answer(attacker.request(method, path, headers=given_headers), stranger=False, sent=str(headers))
