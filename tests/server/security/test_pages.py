"""Every page as it is sent: no script or style in it, the token in each form, and nothing of another site."""

import re
from pathlib import Path

import pytest
from fastapi import APIRouter, FastAPI
from fastapi.testclient import TestClient

import server
from server.accounts.needs import SITE_OF, Undeclared, needs, require_declared
from server.accounts.roles import SITE_RIGHTS, Right
from server.security.headers import POLICY, POLICY_WITH_CHARTS
from tests.server.security.conftest import OTHER, Logbook, as_role
from tests.server.security.test_every_route import MACHINES, cases, plain

THEIRS = {"token_id": "3", "reading_id": "3"}
"""Of these each site has two, so that number 2 is still of the first."""
INLINE = re.compile(
    r"<style|<script(?![^>]*\bsrc=)(?![^>]*application/json)|<[^>]+\s(?:style|on\w+)=|javascript:", re.I
)
FORM = re.compile(r"<form\b[^>]*method=\"post\".*?</form>", re.S)
WRITES_TABLES = re.compile(r"\.to_csv\(|\.to_excel\(|csv\.writer\(|csv\.DictWriter\(|xlsxwriter")
NOT_TAKEN_AWAY = {"server/api/forms.py"}
"""Writes a table for the intake of the program itself, which nobody opens in a spreadsheet."""


def test_pages_bring_no_script_or_style_and_each_form_its_token(app: FastAPI, anybody: TestClient) -> None:
    headers = as_role(app, "administrator")
    seen, forms, charts = 0, 0, 0
    for case in cases(app):
        if case.method != "GET" or case.right in MACHINES.values():
            continue
        given = anybody.get(case.address(), headers=headers)
        if not given.headers.get("content-type", "").startswith("text/html"):
            continue
        seen += 1
        assert given.headers["content-security-policy"] in {POLICY, POLICY_WITH_CHARTS}, case.path
        charts += given.headers["content-security-policy"] == POLICY_WITH_CHARTS
        found = INLINE.search(given.text)
        assert found is None, (case.path, given.text[found.start() : found.start() + 80])
        for form in FORM.findall(given.text):
            forms += 1
            assert 'name="form_token" value="' in form, (case.path, form[:200])
    assert seen >= 15 and forms >= 15 and charts >= 1, (seen, forms, charts)


@pytest.mark.parametrize("text", ["<script>a()</script>", '<p style="x">', "<a onclick='b()'>", "<style>"])
def test_the_walk_would_find_what_it_looks_for(text: str) -> None:
    assert INLINE.search(text)
    assert not INLINE.search('<script src="/a.js"></script><script type="application/json" id="x">{}</script>')


def test_numbers_of_another_site_behind_ones_own_lead_nowhere(
    app: FastAPI, anybody: TestClient, logbook: Logbook
) -> None:
    """`/trains/MINE/.../YOURS` is answered as if there were no such number, whoever asks."""
    mixed = 0
    for case in cases(app):
        names = [name for name in re.findall(r"{(\w+_id)}", case.path) if name != "user_id"]
        if len(names) < 2 or case.right not in SITE_RIGHTS:
            continue
        answers = []
        for number in (THEIRS.get(names[-1], str(OTHER)), "8"):
            address = case.address(**{names[0]: "1"}, **dict.fromkeys(names[1:], number))
            given = anybody.request(case.method, address, headers=as_role(app, "engineer", logbook))
            answers.append((given.status_code, plain(given.text, f" {number}.")))
        assert answers[0] == answers[1] and answers[0][0] == 404, (case.method, case.path, answers[0])
        mixed += 1
    assert mixed >= 1


def test_a_number_whose_site_nobody_can_find_stops_the_application() -> None:
    lost = APIRouter()
    lost.get("/trains/{train_id}/pumps/{pump_id}", dependencies=[needs(Right.SEE)])(lambda: None)
    broken = FastAPI(openapi_url=None, docs_url=None, redoc_url=None)
    broken.include_router(lost)
    assert "pump_id" not in SITE_OF
    with pytest.raises(Undeclared, match="pump_id"):
        require_declared(broken)


def test_whatever_writes_a_table_makes_words_plain() -> None:
    """A cell of words that begins like a formula must not become one in a spreadsheet."""
    root = Path(server.__file__).parent
    writers = [path for path in root.rglob("*.py") if WRITES_TABLES.search(path.read_text(encoding="utf-8"))]
    assert writers, "the search has lost its way"
    for path in writers:
        name = str(path.relative_to(root.parent))
        if name not in NOT_TAKEN_AWAY:
            assert "plain_cell" in path.read_text(encoding="utf-8"), f"{name}: see server/security/spreadsheets.py"
