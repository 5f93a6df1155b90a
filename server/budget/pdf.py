"""The budget as a PDF: the answers, the charts as vectors, the tables, the method and its assumptions."""

import importlib
from dataclasses import dataclass
from typing import Any, NoReturn

import analytics
from server.budget.assumptions import METHOD, AssumptionRow, assumption_rows
from server.budget.page import BudgetPage, TrainBudgetPage
from server.budget.view import View
from server.errors import AppError
from server.templating import ENVIRONMENT, STATIC


class NoPango(AppError):
    """The library that sets text is not installed."""

    status_code = 503


@dataclass(frozen=True)
class Report:
    """What the report shows beside the page; `train` what only one train has."""

    budget: BudgetPage
    train: TrainBudgetPage | None
    method: tuple[tuple[str, str], ...]
    assumptions: tuple[AssumptionRow, ...]
    version: str


def report_text(page: BudgetPage, view: View, train: TrainBudgetPage | None = None) -> str:
    """The report before it is set."""
    rows = tuple(row for row in assumption_rows(view) if row.where != "Method")
    report = Report(page, train, METHOD, rows, analytics.__version__)
    return ENVIRONMENT.get_template("budget/report.html").render(report=report, budget=page)


def budget_pdf(page: BudgetPage, view: View, train: TrainBudgetPage | None = None) -> bytes:
    """Set the report; nothing is fetched from anywhere."""
    text, weasyprint = report_text(page, view, train), _setter()
    sheet = weasyprint.CSS(string=(STATIC / "budget-report.css").read_text(encoding="utf-8"), url_fetcher=_refuse)
    document = weasyprint.HTML(string=text, url_fetcher=_refuse)
    content: Any = document.write_pdf(stylesheets=[sheet], pdf_variant="pdf/ua-1")
    return bytes(content)


def _setter() -> Any:
    """WeasyPrint, which finds Pango only when it is loaded; a server without it does everything else."""
    try:
        return importlib.import_module("weasyprint")
    except OSError as error:
        raise NoPango(
            "This server cannot set PDF: it lacks the library Pango (in Debian libpango-1.0-0 and libpangoft2-1.0-0). "
            "Print the page instead."
        ) from error


def _refuse(url: str, *_: Any, **__: Any) -> NoReturn:
    raise ValueError(f"{url}: a report fetches nothing")
