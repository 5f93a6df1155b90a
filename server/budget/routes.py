"""The budget of the fleet, of a site and of a train."""

from fastapi import APIRouter, Request, Response
from sqlalchemy.orm import Session

from server.accounts.needs import RequestSession, needs, person_of
from server.accounts.roles import Right
from server.budget.page import budget_page
from server.budget.plan import make_ledger
from server.budget.queries import budget_facts, chosen, logbook_day
from server.budget.view import View
from server.errors import NotFound
from server.plants.queries import train_or_404
from server.templating import frame_of, render

router = APIRouter()


def fleet_view(request: Request, session: Session) -> View:
    """The budget of every site whose budget the person may see."""
    sites = budget_facts(session, sites=person_of(request).budget_sites)
    return View.of(make_ledger(sites, chosen(session), logbook_day(session)))


def site_view(session: Session, site_id: int) -> View:
    """The budget of one site."""
    sites = budget_facts(session, sites=frozenset({site_id}))
    if not sites:
        raise NotFound("This site has no trains yet, and so no budget.")
    return View.of(make_ledger(sites, chosen(session), logbook_day(session)))


def train_view(session: Session, train_id: int) -> View:
    """The budget of one train."""
    return View.of(make_ledger(budget_facts(session, train_id=train_id), chosen(session), logbook_day(session)))


@router.get("/budget", dependencies=[needs(Right.FLEET_BUDGET)])
def show_budget(request: Request, session: RequestSession) -> Response:
    view = fleet_view(request, session)
    sites = tuple((one.facts.site.name, f"/sites/{one.facts.site.id}/budget") for one in view.ledger.sites)
    return render(
        "budget/show.html",
        budget_page(frame_of(request, "Budget"), view, place="All sites", files="/budget", parts=sites),
    )


@router.get("/sites/{site_id}/budget", dependencies=[needs(Right.BUDGET)])
def show_site_budget(site_id: int, request: Request, session: RequestSession) -> Response:
    view = site_view(session, site_id)
    site = view.ledger.sites[0].facts.site
    frame = frame_of(request, f"Budget, {site.name}", site_units=site.units)
    trains = tuple((one.train.facts.train.name, f"/trains/{one.train.facts.train.id}/budget") for one in view.trains)
    page = budget_page(
        frame, view, place=site.name, files=f"/sites/{site_id}/budget", up=(("All sites", "/budget"),), parts=trains
    )
    return render("budget/show.html", page)


@router.get("/trains/{train_id}/budget", dependencies=[needs(Right.BUDGET)])
def show_train_budget(train_id: int, request: Request, session: RequestSession) -> Response:
    train = train_or_404(session, train_id)
    view = train_view(session, train_id)
    frame = frame_of(request, f"Budget, {train.name}, {train.site.name}", site_units=train.site.units)
    up = (("All sites", "/budget"), (train.site.name, f"/sites/{train.site_id}/budget"))
    page = budget_page(
        frame, view, place=f"{train.site.name} · {train.name}", files=f"/trains/{train_id}/budget", up=up
    )
    return render("budget/show.html", page)
