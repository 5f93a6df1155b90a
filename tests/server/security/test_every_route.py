"""Every route says what it needs, and every role (and nobody) gets from every route exactly what it may."""

import re
from dataclasses import dataclass

import pytest
from fastapi import APIRouter, FastAPI
from fastapi.testclient import TestClient

from server.accounts.needs import SITE_OF, Undeclared, declared_routes, needs, require_declared
from server.accounts.roles import ROLES, SITE_RIGHTS, Right
from tests.server.security.conftest import Logbook, as_role

EVERYBODY = ("nobody", "stranger", "operator", "engineer", "manager", "administrator", "reading", "writing", "foreign")
MACHINES = {"reading": Right.TOKEN_READ, "writing": Right.TOKEN_WRITE}
FILLED = {"secret": "none", "role": "engineer"}
"""Parts of an address that are not the number 1."""
HIDDEN = 404


@dataclass(frozen=True)
class Case:
    method: str
    path: str
    right: Right

    def address(self, **other: str) -> str:
        return re.sub(r"{(\w+)(:\w+)?}", lambda part: (FILLED | other).get(part[1], "1"), self.path)


def cases(app: FastAPI) -> list[Case]:
    return [
        Case(method, route.path, right)
        for route, right in declared_routes(app)
        for method in sorted(route.methods or ())
        if right is not None
    ]


def allowed(role: str, right: Right) -> bool:
    """What the roles come to, said a second time in other words."""
    if right is Right.PUBLIC:
        return True
    if role == "nobody":
        return False
    if right in MACHINES.values():
        return MACHINES.get(role) is right
    if role in {*MACHINES, "foreign"}:
        return False
    if role == "administrator" or right is Right.SIGNED_IN:
        return True
    if right is Right.ADD_PLANT:
        return role in {"engineer", "stranger"}
    if right is Right.FLEET_BUDGET:
        return role in {"engineer", "stranger", "manager"}
    return right in {
        "operator": {Right.SEE, Right.ENTER},
        "engineer": {Right.SEE, Right.ENTER, Right.MANAGE, Right.BUDGET},
        "manager": {Right.SEE, Right.BUDGET},
    }.get(role, set())


def refusals(role: str, case: Case) -> set[int]:
    """With which status somebody without the right is sent away."""
    about_a_site = case.right in SITE_RIGHTS
    if case.right in MACHINES.values():
        elsewhere = role == "foreign" and "{train_id}" in case.path
        return {HIDDEN} if elsewhere else {403} if role in {"reading", "writing", "foreign"} else {401}
    if role in {"nobody", "reading", "writing", "foreign"}:
        return {303} if case.method == "GET" else {401}
    return {HIDDEN} if about_a_site and role == "stranger" else {403}


def test_every_route_says_what_it_needs(app: FastAPI) -> None:
    found = list(declared_routes(app))
    assert len(found) > 30, "the walk has lost its way"
    assert [f"{sorted(route.methods or ())} {route.path}" for route, right in found if right is None] == []


def test_an_application_with_a_route_that_says_nothing_does_not_start() -> None:
    silent, lost, named = APIRouter(), APIRouter(), APIRouter()
    silent.get("/silent")(lambda: None)
    lost.get("/lost", dependencies=[needs(Right.SEE)])(lambda: None)
    named.get("/named/{train_id}", dependencies=[needs(Right.SEE)])(lambda: None)
    for router, words in ((silent, "add needs"), (lost, "which site")):
        broken = FastAPI(openapi_url=None, docs_url=None, redoc_url=None)
        broken.include_router(router)
        with pytest.raises(Undeclared, match=words):
            require_declared(broken)
    whole = FastAPI(openapi_url=None, docs_url=None, redoc_url=None)
    whole.include_router(named)
    require_declared(whole)


def test_roles_are_those_that_are_told() -> None:
    assert ROLES["operator"] == {Right.SEE, Right.ENTER}
    assert ROLES["engineer"] == SITE_RIGHTS
    assert ROLES["manager"] == {Right.SEE, Right.BUDGET}


@pytest.mark.parametrize("role", EVERYBODY)
def test_each_role_gets_what_it_may_and_nothing_else(
    app: FastAPI, anybody: TestClient, logbook: Logbook, role: str
) -> None:
    wrong = []
    for case in cases(app):
        anybody.cookies.clear()
        app.state.limits = type(app.state.limits)()
        given = anybody.request(case.method, case.address(), headers=as_role(app, role, logbook))
        at_sign_in = given.status_code == 303 and given.headers["location"].startswith("/sign-in?")
        if case.right is Right.PUBLIC:
            refused = at_sign_in or (given.status_code == 401 and case.path != "/sign-in")
            fits = not refused and given.status_code < 500
        elif allowed(role, case.right) or (role == "foreign" and case.path == "/api/v1/trains"):
            fits = given.status_code not in {401, 403} and not at_sign_in and given.status_code < 500
        else:
            fits = given.status_code in refusals(role, case) and (given.status_code != 303 or at_sign_in)
        if not fits:
            wrong.append((case.method, case.path, case.right.value, given.status_code))
    assert wrong == []


def plain(text: str, number: str) -> str:
    """An answer without the numbers asked for and without the token of its forms, which is new each time."""
    return re.sub(r'name="form_token" value="\w+"', "", text).replace(number, "N")


@pytest.mark.parametrize("role", ["stranger", "foreign"])
def test_nobody_learns_that_a_site_of_others_is_there(
    app: FastAPI, anybody: TestClient, logbook: Logbook, role: str
) -> None:
    """The answer for what belongs to others is, letter by letter, the one for what does not exist."""
    compared = 0
    for case in cases(app):
        names = [name for name in SITE_OF if f"{{{name}}}" in case.path]
        if not names or (case.right in MACHINES.values()) != (role == "foreign"):
            continue
        there, nowhere = dict.fromkeys(names, "1"), dict.fromkeys(names, "8")
        answers = []
        for numbers, number in ((there, "1"), (nowhere, "8")):
            headers = as_role(app, role, logbook)
            given = anybody.request(case.method, case.address(**numbers), headers=headers)
            answers.append((given.status_code, plain(given.text, f" {number}."), sorted(given.headers)))
        assert answers[0] == answers[1], (case.method, case.path)
        assert answers[0][0] in {404, 422}, (case.method, case.path, answers[0][0])
        compared += 1
    assert compared >= (10 if role == "stranger" else 4)


def test_lists_show_only_ones_own_sites(app: FastAPI, anybody: TestClient) -> None:
    for role, seen, unseen in (("operator", "Quay Laundry", "Weir Mill"), ("stranger", "Weir Mill", "Quay Laundry")):
        for path in ("/", "/account"):
            text = anybody.get(path, headers=as_role(app, role)).text
            assert seen in text and unseen not in text, (role, path)
    assert "Weir Mill" in anybody.get("/", headers=as_role(app, "administrator")).text


def test_an_engineer_adds_trains_to_the_own_site_and_learns_nothing_of_others(
    app: FastAPI, anybody: TestClient, plant_text: str
) -> None:
    def add(site: str, train: str, role: str) -> tuple[int, str]:
        text = plant_text.replace("Quay Laundry", site).replace("RO 1", train).replace('currency = "EUR"', "")
        given = anybody.post("/plants", data={"text": text}, headers=as_role(app, role))
        return given.status_code, plain(given.text, site)

    assert add("Quay Laundry", "RO 2", "engineer")[0] == 303
    known, unknown = add("Weir Mill", "RO 2", "engineer"), add("Nowhere Works", "RO 2", "engineer")
    assert known == unknown and known[0] == 403
    assert add("Nowhere Works", "RO 2", "administrator")[0] == 303
