"""No change without the token of a page of ours, for anybody, on any route."""

from pathlib import Path

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from server import templating
from server.accounts.needs import declared_routes
from server.accounts.roles import Right
from server.security.form_token import HEADER, LENGTH, _plain, _unmasked, masked
from tests.people import headers_for, sign_in
from tests.server.security.conftest import as_role

MACHINES = {Right.TOKEN_READ, Right.TOKEN_WRITE}


def test_a_masked_token_is_another_each_time_and_the_same_behind_its_mask() -> None:
    plain = _plain("some secret")
    one, other = masked(plain, bytes(range(LENGTH))), masked(plain, bytes(LENGTH))
    assert one != other and _unmasked(one) == _unmasked(other) == plain


@pytest.mark.parametrize("token", ["", "zz", "00", "é", "ab" * 63, "ab" * 200])
def test_what_is_no_token_is_none(token: str) -> None:
    assert _unmasked(token) != _plain("some secret")


def test_no_route_changes_anything_without_the_token(app: FastAPI, anybody: TestClient) -> None:
    tried = 0
    for route, right in declared_routes(app):
        for method in set(route.methods or ()) - {"GET", "HEAD", "OPTIONS"}:
            if right in MACHINES:
                continue
            path = route.path.replace("{role}", "engineer")
            path = "/".join("1" if part.startswith("{") else part for part in path.split("/"))
            for token in ("", "0" * 128, headers_for("another session")[HEADER]):
                headers = as_role(app, "administrator") | {HEADER: token}
                given = anybody.request(method, path, headers=headers)
                assert given.status_code == 403 and "open too long" in given.text, (method, path)
                tried += 1
    assert tried >= 40


def test_the_token_of_one_person_is_not_good_for_another(app: FastAPI, anybody: TestClient) -> None:
    mine, yours = headers_for(sign_in(app.state.engine)), headers_for(sign_in(app.state.engine, "b@example.org"))
    assert anybody.post("/sign-out", headers=mine | {HEADER: yours[HEADER]}).status_code == 403
    assert anybody.post("/sign-out", headers=mine).status_code == 303


def test_the_token_goes_in_the_form_as_well(app: FastAPI, anybody: TestClient) -> None:
    headers = headers_for(sign_in(app.state.engine))
    token = headers.pop(HEADER)
    for how in ({"data": {"form_token": token}}, {"data": {"form_token": token}, "files": {"file": ("a", b"x")}}):
        assert anybody.post("/units", headers=headers, **how).status_code == 303
    assert anybody.post("/units", headers=headers, json={"form_token": token}).status_code == 403


def test_every_form_of_every_template_has_the_token() -> None:
    pages = Path(templating.__file__).parent / "templates"
    forms = 0
    for path in pages.rglob("*.html"):
        for form in path.read_text(encoding="utf-8").split("<form")[1:]:
            inside = form.split("</form>")[0]
            if 'method="post"' in inside:
                forms += 1
                assert "_parts/token.html" in inside or "form_token" in inside, path
    assert forms >= 12
