"""Change what the budget rests on; write down what was spent; keep a plan."""

from collections.abc import Mapping
from dataclasses import replace

from fastapi import APIRouter, Request, Response
from fastapi.responses import RedirectResponse
from sqlalchemy.orm import Session

from server.accounts.needs import RequestSession, needs, person_of
from server.accounts.roles import Right
from server.assessments.actions import refresh_assessment
from server.budget.actions import choose, keep_plan, note_spending, withdraw_spending
from server.budget.choice_page import choice_page, horizon_hint, plan_years
from server.budget.forms import ChoiceForm, SpendingForm
from server.budget.queries import budget_facts, chosen
from server.budget.routes import train_page, train_view
from server.db import now
from server.errors import NotFound
from server.form_fields import FormFields
from server.plants.models import Site
from server.plants.queries import train_or_404
from server.templating import frame_of, reader_units, render

router = APIRouter()


def _logbook_page(request: Request, session: Session, form: ChoiceForm, status: int = 200) -> Response:
    sites = budget_facts(session, sites=person_of(request).budget_sites)
    form = replace(form, hints=horizon_hint(sites))
    page = choice_page(
        frame_of(request, "How the budget is added up"),
        form,
        place="All sites",
        back="/budget",
        action="/budget/choices",
    )
    return render("budget/choices.html", page, status=status)


@router.get("/budget/choices", dependencies=[needs(Right.FLEET_BUDGET)])
def show_logbook_choices(request: Request, session: RequestSession) -> Response:
    return _logbook_page(request, session, ChoiceForm.of(chosen(session), "SI"))


@router.post("/budget/choices", dependencies=[needs(Right.FLEET_BUDGET)])
def change_logbook_choices(request: Request, sent: FormFields, session: RequestSession) -> Response:
    form = ChoiceForm.sent("logbook", sent, "SI").checked(now().date())
    if form.errors:
        return _logbook_page(request, session, form, status=422)
    choose(session, form.values(chosen(session)))
    return RedirectResponse("/budget", status_code=303)


def _site_page(request: Request, session: Session, site_id: int, form: ChoiceForm, status: int = 200) -> Response:
    site = session.get_one(Site, site_id)
    page = choice_page(
        frame_of(request, f"Prices, {site.name}", site_units=site.units), form, place=site.name,
        back=f"/sites/{site_id}/budget", action=f"/sites/{site_id}/budget/choices", currency=site.currency,
    )  # fmt: skip
    return render("budget/choices.html", page, status=status)


@router.get("/sites/{site_id}/budget/choices", dependencies=[needs(Right.BUDGET)])
def show_site_choices(site_id: int, request: Request, session: RequestSession) -> Response:
    units = reader_units(request, session.get_one(Site, site_id).units)
    return _site_page(request, session, site_id, ChoiceForm.of(chosen(session, site_id=site_id), units))


@router.post("/sites/{site_id}/budget/choices", dependencies=[needs(Right.BUDGET)])
def change_site_choices(site_id: int, request: Request, sent: FormFields, session: RequestSession) -> Response:
    units = reader_units(request, session.get_one(Site, site_id).units)
    form = ChoiceForm.sent("site", sent, units).checked(now().date())
    if form.errors:
        return _site_page(request, session, site_id, form, status=422)
    choose(session, form.values(chosen(session, site_id=site_id)), site_id=site_id)
    return RedirectResponse(f"/sites/{site_id}/budget", status_code=303)


def _train_form_page(
    request: Request, session: Session, train_id: int, form: ChoiceForm, status: int = 200
) -> Response:
    train = train_or_404(session, train_id)
    page = choice_page(
        frame_of(request, f"Contract, {train.name}", site_units=train.site.units), form,
        place=f"{train.site.name} · {train.name}", back=f"/trains/{train_id}/budget",
        action=f"/trains/{train_id}/budget/choices",
    )  # fmt: skip
    return render("budget/choices.html", page, status=status)


@router.get("/trains/{train_id}/budget/choices", dependencies=[needs(Right.BUDGET)])
def show_train_choices(train_id: int, request: Request, session: RequestSession) -> Response:
    train = train_or_404(session, train_id)
    units = reader_units(request, train.site.units)
    form = ChoiceForm.of(chosen(session, train_id=train_id), units, len(train.stages))
    return _train_form_page(request, session, train_id, form)


@router.post("/trains/{train_id}/budget/choices", dependencies=[needs(Right.BUDGET)])
def change_train_choices(train_id: int, request: Request, sent: FormFields, session: RequestSession) -> Response:
    train = train_or_404(session, train_id)
    units = reader_units(request, train.site.units)
    form = ChoiceForm.sent("train", sent, units, len(train.stages)).checked(now().date())
    if form.errors:
        return _train_form_page(request, session, train_id, form, status=422)
    choose(session, form.values(chosen(session, train_id=train_id)), train_id=train_id)
    refresh_assessment(session, train_id)
    return RedirectResponse(f"/trains/{train_id}/budget", status_code=303)


@router.post("/trains/{train_id}/budget/spendings", dependencies=[needs(Right.BUDGET)])
def create_spending(train_id: int, request: Request, sent: FormFields, session: RequestSession) -> Response:
    form = _spending_form(sent).checked(now().date())
    if form.errors:
        return render("budget/train.html", train_page(request, session, train_id, form), status=422)
    note_spending(
        session, train_id, kind=form.kind, day=form.date, elements=form.count, amount_cents=form.cents, note=form.note
    )
    return RedirectResponse(f"/trains/{train_id}/budget#h-against", status_code=303)


def _spending_form(sent: Mapping[str, str]) -> SpendingForm:
    kind, day, elements, amount, note = (sent.get(n, "") for n in ("kind", "day", "elements", "amount", "note"))
    return SpendingForm(kind, day, elements, amount, note)


@router.post("/trains/{train_id}/budget/spendings/{spending_id}/withdraw", dependencies=[needs(Right.BUDGET)])
def withdraw(train_id: int, spending_id: int, session: RequestSession) -> Response:
    withdraw_spending(session, train_id, spending_id)
    return RedirectResponse(f"/trains/{train_id}/budget#h-against", status_code=303)


@router.post("/trains/{train_id}/budget/plan", dependencies=[needs(Right.BUDGET)])
def keep(train_id: int, request: Request, session: RequestSession) -> Response:
    view = train_view(request, session, train_id)
    if view.trains[0].train.facts.life is None:
        raise NotFound("There is no budget of this train to be kept yet.")
    keep_plan(session, train_id, plan_years(view.trains[0], view))
    return RedirectResponse(f"/trains/{train_id}/budget#h-against", status_code=303)
