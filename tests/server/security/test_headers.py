"""What every answer tells the browser, whatever the answer is."""

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from server.security.headers import ALWAYS, POLICY, POLICY_WITH_CHARTS
from tests.server.security.conftest import as_role

PLACES = [
    "/", "/sign-in", "/nowhere", "/trains/1/assessment", "/trains/x/assessment", "/static/skidbook.css", "/static/none",
    "/static/plotly.min.js", "/plants/new", "/api/v1/trains", "/trains/1/readings?leaf=0",
]  # fmt: skip


@pytest.mark.parametrize("path", PLACES)
@pytest.mark.parametrize("role", ["nobody", "administrator"])
def test_every_answer_carries_them(app: FastAPI, anybody: TestClient, path: str, role: str) -> None:
    given = anybody.get(path, headers=as_role(app, role))
    for name, value in ALWAYS.items():
        if name != "Content-Security-Policy":
            assert given.headers[name] == value, name
    assert given.headers["content-security-policy"] in {POLICY, POLICY_WITH_CHARTS}


def test_an_unforeseen_error_carries_them_and_tells_nothing(app: FastAPI, anybody: TestClient) -> None:
    @app.get("/breaks")
    @app.get("/api/breaks")
    def breaks() -> None:
        raise RuntimeError("the secret of the house")

    for path in ("/breaks", "/api/breaks"):
        given = anybody.get(path)
        assert given.status_code == 500
        assert "secret" not in given.text and "Traceback" not in given.text and "RuntimeError" not in given.text
        assert {name.lower() for name in ALWAYS} <= set(given.headers)


def test_no_script_may_stand_in_a_page_and_only_charts_may_bring_styles(app: FastAPI, anybody: TestClient) -> None:
    for policy in (POLICY, POLICY_WITH_CHARTS):
        scripts = next(part for part in policy.split("; ") if part.startswith("script-src"))
        assert scripts == "script-src 'self'"
        assert "default-src 'none'" in policy and "frame-ancestors 'none'" in policy and "base-uri 'none'" in policy
        assert "unsafe-eval" not in policy and "*" not in policy and "http" not in policy
    assert "unsafe" not in POLICY
    assert POLICY_WITH_CHARTS.count("unsafe-inline") == 1 and "style-src-attr 'unsafe-inline'" in POLICY_WITH_CHARTS
    with_charts = [
        path
        for path in ["/", "/trains/1/readings", "/trains/1/events", "/people", "/account", "/trains/1/imports/new"]
        if anybody.get(path, headers=as_role(app, "administrator")).headers["content-security-policy"] != POLICY
    ]
    assert with_charts == []


def test_pages_are_kept_by_nobody(app: FastAPI, anybody: TestClient) -> None:
    for path in ("/", "/people", "/account"):
        assert anybody.get(path, headers=as_role(app, "administrator")).headers["cache-control"] == "no-store"
    assert anybody.get("/sign-in").headers["cache-control"] == "no-store"
    reading = anybody.get("/api/v1/trains", headers={"authorization": "Bearer x"})
    assert reading.headers["cache-control"] == "no-store"


def test_plain_http_promises_nothing_about_https(anybody: TestClient) -> None:
    assert "strict-transport-security" not in anybody.get("/sign-in").headers
