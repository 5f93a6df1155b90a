"""The report as a PDF: it is set without a word of complaint, and says what the page says."""

import re
import zlib

import pytest
from fastapi.testclient import TestClient

from server.budget.money_tables import by_component, by_train
from server.budget.page import BudgetPage, TrainBudgetPage, budget_page
from server.budget.pdf import _refuse, report_text
from server.budget.view import View
from server.budget.words import money
from server.templating import Frame


def unpacked(content: bytes) -> bytes:
    """All streams of a PDF, unpacked; the last byte of one may be taken for a part of its end."""
    found = re.findall(rb"stream\r?\n(.*?)\r?\nendstream", content, re.S)
    return b"\n".join(zlib.decompressobj().decompress(part) for part in found if part[:1] == b"\x78")


def test_the_report_is_a_tagged_pdf_with_vectors(budget_client: TestClient) -> None:
    given = budget_client.get("/trains/2/budget.pdf")
    assert given.status_code == 200
    assert given.headers["content-type"] == "application/pdf"
    assert given.content.startswith(b"%PDF-1.7")
    inside = unpacked(given.content)
    assert b"/StructTreeRoot" in inside and b"/MarkInfo" in inside
    assert b"/Subtype /Image" not in inside and b"/Subtype/Image" not in inside
    assert len(re.findall(rb"\bre\b", inside)) > 4  # rectangles: the bars


def test_the_report_has_the_sums_of_the_page_and_every_assumption(view: View) -> None:
    text = report_text(budget_page(Frame("", "SI", "/"), view, place="All sites", files="", change=("", "")), view)
    for table in (by_component(view), by_train(view)):
        assert f"{money(table.foot.total)}</td>" in text
        for row in table.rows:
            assert f"{money(row.total)}</td>" in text
    for words in ("Price of one element", "641.37", "Pell Harrow Hospital, USD", "Trade&#39;s experience", "futures"):
        assert words in text


def test_the_report_of_a_train_has_its_ways_its_rates_and_what_its_water_costs(
    budget_client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What is set is what the page shows, word for word."""
    texts: list[str] = []

    def kept(page: BudgetPage, view: View, train: TrainBudgetPage) -> bytes:
        texts.append(report_text(page, view, train))
        return b""

    monkeypatch.setattr("server.budget.routes.budget_pdf", kept)
    page = budget_client.get("/trains/2/budget").text
    budget_client.get("/trains/2/budget.pdf")
    for table in ("ways-table stack", "cost"):
        found = [re.findall(rf'<table class="{table}">.*?</table>', text, re.S) for text in (page, texts[0])]
        assert found[0] and [re.sub(r"\s+", " ", one) for one in found[0]] == [
            re.sub(r"\s+", " ", one) for one in found[1]
        ]
    assert "after a cleaning, against the reference" in texts[0]


def test_the_report_fetches_nothing() -> None:
    with pytest.raises(ValueError, match="fetches nothing"):
        _refuse("file:///etc/passwd")


def test_without_pango_the_rest_still_works(budget_client: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    def missing(name: str) -> None:
        raise OSError(f"cannot load library of {name}")

    monkeypatch.setattr("server.budget.pdf.importlib.import_module", missing)
    given = budget_client.get("/trains/2/budget.pdf")
    assert given.status_code == 503
    assert "libpango-1.0-0" in given.text
