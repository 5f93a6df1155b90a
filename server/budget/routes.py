"""The budget of the fleet, of a site and of a train."""

from collections.abc import Sequence

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from server.accounts.needs import RequestSession, needs, person_of
from server.accounts.roles import Right
from server.budget.cost_history import cost_history
from server.budget.forms import SpendingForm
from server.budget.page import BudgetPage, TrainBudgetPage, budget_page, train_budget_page
from server.budget.pdf import budget_pdf
from server.budget.plan import make_ledger
from server.budget.queries import SiteFacts, budget_facts, chosen, logbook_day
from server.budget.view import View
from server.budget.workbook import BudgetWorkbook
from server.errors import NotFound
from server.plants.queries import train_or_404
from server.security.headers import NOT_KEPT
from server.templating import frame_of, reader_units, render

router = APIRouter()
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


def fleet_view(request: Request, session: Session) -> View:
    """The budget of every site whose budget the person may see."""
    sites = budget_facts(session, sites=person_of(request).budget_sites)
    return View.of(make_ledger(sites, chosen(session), logbook_day(session)), reader_units(request, units_of(sites)))


def units_of(sites: Sequence[SiteFacts]) -> str:
    """Units in which several sites are shown to a reader who chose none: those that all of them have."""
    shared = {one.site.units for one in sites}
    return shared.pop() if len(shared) == 1 else "SI"


def site_view(request: Request, session: Session, site_id: int) -> View:
    """The budget of one site."""
    sites = budget_facts(session, sites=frozenset({site_id}))
    if not sites:
        raise NotFound("This site has no trains yet, and so no budget.")
    return _one_site(request, session, sites)


def train_view(request: Request, session: Session, train_id: int) -> View:
    """The budget of one train."""
    return _one_site(request, session, budget_facts(session, train_id=train_id))


def _one_site(request: Request, session: Session, sites: Sequence[SiteFacts]) -> View:
    units = reader_units(request, sites[0].site.units)
    return View.of(make_ledger(sites, chosen(session), logbook_day(session)), units)


def _fleet_page(request: Request, view: View) -> BudgetPage:
    sites = tuple((one.facts.site.name, f"/sites/{one.facts.site.id}/budget") for one in view.ledger.sites)
    return budget_page(
        frame_of(request, "Budget", site_units=view.units), view, place="All sites", files="/budget", parts=sites,
        change=("Currency and years ahead", "/budget/choices"),
    )  # fmt: skip


def _site_page(request: Request, view: View, site_id: int) -> BudgetPage:
    site = view.ledger.sites[0].facts.site
    frame = frame_of(request, f"Budget, {site.name}", site_units=site.units)
    trains = tuple((one.train.facts.train.name, f"/trains/{one.train.facts.train.id}/budget") for one in view.trains)
    return budget_page(
        frame, view, place=site.name, files=f"/sites/{site_id}/budget", up=(("All sites", "/budget"),), parts=trains,
        change=("Prices of this site", f"/sites/{site_id}/budget/choices"),
    )  # fmt: skip


@router.get("/budget", dependencies=[needs(Right.FLEET_BUDGET)])
def show_budget(request: Request, session: RequestSession) -> Response:
    return render("budget/show.html", _fleet_page(request, fleet_view(request, session)))


@router.get("/budget.xlsx", dependencies=[needs(Right.FLEET_BUDGET)])
def send_workbook(request: Request, session: RequestSession) -> Response:
    return _workbook(fleet_view(request, session), "budget")


@router.get("/budget.pdf", dependencies=[needs(Right.FLEET_BUDGET)])
def send_report(request: Request, session: RequestSession) -> Response:
    view = fleet_view(request, session)
    return _report(_fleet_page(request, view), view, "budget")


@router.get("/sites/{site_id}/budget", dependencies=[needs(Right.BUDGET)])
def show_site_budget(site_id: int, request: Request, session: RequestSession) -> Response:
    return render("budget/show.html", _site_page(request, site_view(request, session, site_id), site_id))


@router.get("/sites/{site_id}/budget.xlsx", dependencies=[needs(Right.BUDGET)])
def send_site_workbook(site_id: int, request: Request, session: RequestSession) -> Response:
    return _workbook(site_view(request, session, site_id), f"budget-site-{site_id}")


@router.get("/sites/{site_id}/budget.pdf", dependencies=[needs(Right.BUDGET)])
def send_site_report(site_id: int, request: Request, session: RequestSession) -> Response:
    view = site_view(request, session, site_id)
    return _report(_site_page(request, view, site_id), view, f"budget-site-{site_id}")


@router.get("/trains/{train_id}/budget", dependencies=[needs(Right.BUDGET)])
def show_train_budget(train_id: int, request: Request, session: RequestSession) -> Response:
    view = train_view(request, session, train_id)
    return render("budget/train.html", train_page(request, session, train_id, SpendingForm(), view))


@router.get("/trains/{train_id}/budget.xlsx", dependencies=[needs(Right.BUDGET)])
def send_train_workbook(train_id: int, request: Request, session: RequestSession) -> Response:
    return _workbook(train_view(request, session, train_id), f"budget-train-{train_id}")


@router.get("/trains/{train_id}/budget.pdf", dependencies=[needs(Right.BUDGET)])
def send_train_report(train_id: int, request: Request, session: RequestSession) -> Response:
    view = train_view(request, session, train_id)
    page = train_page(request, session, train_id, SpendingForm(), view)
    return _report(page.budget, view, f"budget-train-{train_id}", page)


def train_page(
    request: Request, session: Session, train_id: int, form: SpendingForm, view: View | None = None
) -> TrainBudgetPage:
    """The page of one train, with the form for what was spent."""
    view = view or train_view(request, session, train_id)
    history = cost_history(session, view.trains[0], view.units)
    return train_budget_page(_train_part(request, session, train_id, view), view, form, history)


def _train_part(request: Request, session: Session, train_id: int, view: View) -> BudgetPage:
    train = train_or_404(session, train_id)
    frame = frame_of(request, f"Budget, {train.name}, {train.site.name}", site_units=train.site.units)
    return budget_page(
        frame, view, place=train.name, files=f"/trains/{train_id}/budget",
        up=(("All sites", "/budget"), (train.site.name, f"/sites/{train.site_id}/budget")),
        change=("Contract and elements", f"/trains/{train_id}/budget/choices"),
        parts=(("The train itself", f"/trains/{train_id}/assessment"),),
    )  # fmt: skip


def _workbook(view: View, name: str) -> Response:
    headers = {"Content-Disposition": f'attachment; filename="{name}.xlsx"'} | NOT_KEPT
    return Response(BudgetWorkbook(view).content(), media_type=XLSX, headers=headers)


def _report(page: BudgetPage, view: View, name: str, train: TrainBudgetPage | None = None) -> Response:
    headers = {"Content-Disposition": f'inline; filename="{name}.pdf"'} | NOT_KEPT
    return Response(budget_pdf(page, view, train), media_type="application/pdf", headers=headers)
