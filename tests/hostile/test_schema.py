"""Whatever fits the description of a route, and whatever does not, is answered; never with an error of ours."""

from typing import Any
from urllib.parse import quote, urlencode

import pytest
import schemathesis
from fastapi import FastAPI
from fastapi.testclient import TestClient
from hypothesis import given, settings
from hypothesis import strategies as st
from schemathesis import GenerationMode
from sqlalchemy import func, select

from server.db import transaction
from server.events.models import Event
from server.intake.models import Import
from server.readings.models import Reading
from tests.hostile.conftest import HOSTILE, check_answer, who
from tests.server.security.conftest import Logbook

EXAMPLES = 5
ENDS_THE_SESSION = {"/sign-out", "/account/sign-out-everywhere"}


_KNOWN: list[Any] = []


def operations(app: FastAPI) -> list[Any]:
    """Every operation, as a generator of requests sees it; the same for all applications of a run."""
    if not _KNOWN:
        schema = schemathesis.openapi.from_dict(app.openapi())
        _KNOWN.extend(found.ok() for found in schema.get_all_operations())
    return _KNOWN


def address(operation: Any, case: Any, *, known: bool) -> str:
    """The path of a case, about things that are there or about whatever came to its mind."""
    path = operation.path
    for name, value in case.path_parameters.items():
        path = path.replace(f"{{{name}}}", "1" if known and name.endswith("_id") else quote(str(value), safe=""))
    return path


def body_of(case: Any, given: dict[str, Any]) -> dict[str, Any]:
    """The body of a case as bytes of a form or a document."""
    if given.get("json") is not None:
        return {"json": given["json"]}
    data = given.get("data")
    pairs = list(data.items()) if isinstance(data, dict) else data if isinstance(data, list) else []
    words = [(str(name), str(value)) for name, value in pairs]
    files = [
        (str(name), (part if isinstance(part, tuple) else ("log.csv", part))) for name, part in given.get("files") or []
    ]
    if files:
        plain = [(n, (str(p[0]), p[1] if isinstance(p[1], bytes) else str(p[1]).encode())) for n, p in files]
        return {"data": dict(words), "files": plain}
    content = urlencode(words, errors="replace").encode()
    return {"content": content, "headers": {"content-type": "application/x-www-form-urlencoded"}}


def send(client: TestClient, operation: Any, case: Any, headers: dict[str, str], *, known: bool) -> Any:
    made = case.as_transport_kwargs(base_url="http://localhost")
    body = body_of(case, made) if operation.method == "post" else {}
    headers = headers | body.pop("headers", {})
    query = [(name, str(value)) for name, value in (case.query or {}).items()]
    client.cookies.clear()
    return client.request(
        operation.method, address(operation, case, known=known), params=query, headers=headers, **body
    )


def counts(app: FastAPI) -> list[int]:
    with transaction(app.state.engine, writes=False) as session:
        return [
            session.scalar(select(func.count()).where(model.train_id == 1)) or 0 for model in (Reading, Event, Import)
        ]


@pytest.mark.parametrize("role", ["nobody", "stranger", "engineer", "administrator"])
def test_every_route_answers_whatever_comes(
    stranger_free: FastAPI, attacker: TestClient, logbook: Logbook, role: str
) -> None:
    before, tried, headers = counts(stranger_free), [], who(stranger_free, role)

    def attack(operation: Any) -> None:
        @settings(HOSTILE, max_examples=EXAMPLES)
        @given(case=operation.as_strategy(), known=st.booleans())
        def answers(case: Any, known: bool) -> None:
            mine = who(stranger_free, role) if operation.path in ENDS_THE_SESSION else headers
            answer = send(attacker, operation, case, mine, known=known)
            check_answer(answer, stranger=role in {"nobody", "stranger"}, sent=f"{operation.method} {operation.path}")
            tried.append(answer.status_code)

        answers()

    for operation in operations(stranger_free):
        attack(operation)
    assert len(tried) >= 2 * len(operations(stranger_free))
    if role in {"nobody", "stranger"}:
        assert counts(stranger_free) == before


@pytest.mark.parametrize("mode", [GenerationMode.POSITIVE, GenerationMode.NEGATIVE])
@pytest.mark.parametrize("role", ["writing", "reading", "foreign"])
def test_machines_get_documents_whatever_they_send(
    stranger_free: FastAPI, attacker: TestClient, logbook: Logbook, role: str, mode: GenerationMode
) -> None:
    headers = who(stranger_free, role, logbook)

    def attack(operation: Any) -> None:
        @settings(HOSTILE, max_examples=25)
        @given(case=operation.as_strategy(generation_mode=mode), known=st.booleans())
        def answers(case: Any, known: bool) -> None:
            answer = send(attacker, operation, case, headers, known=known)
            check_answer(answer, stranger=role == "foreign", sent=str(case.body)[:200])
            assert answer.headers["content-type"] == "application/json"

        answers()

    for operation in operations(stranger_free):
        if operation.path.startswith("/api/") and not (mode is GenerationMode.NEGATIVE and operation.method == "get"):
            attack(operation)
