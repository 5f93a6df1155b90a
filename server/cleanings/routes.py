"""Cleanings of a train: when, how, the record, and whether it worked."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Annotated, Any
from zoneinfo import ZoneInfo

from fastapi import APIRouter, Form, Request, Response
from fastapi.responses import RedirectResponse
from sqlalchemy.orm import Session

from analytics.plant import Plant
from server.accounts.needs import RequestSession, needs
from server.accounts.roles import Right
from server.assessments.actions import refresh_assessment
from server.assessments.queries import latest_assessment
from server.cleanings.actions import amend_cleaning, record_cleaning, recorded, set_prices, void_cleaning
from server.cleanings.economics import economics_of, recorded_cost, recorded_means
from server.cleanings.fields import PRICES
from server.cleanings.forms import CleaningForm, read_number
from server.cleanings.money import PriceForm, money_part
from server.cleanings.page import cleanings_page
from server.cleanings.photos import photos_of_cleaning
from server.cleanings.prefill import first_form
from server.cleanings.queries import cleaning_or_404, list_cleanings, readings_around, revisions, site_prices
from server.cleanings.record_form import new_cleaning_page
from server.cleanings.record_page import Kept, cleaning_page
from server.cleanings.results import Row, cleanings_in_a_row
from server.cleanings.worksheet import worksheet_page
from server.db import now
from server.events.queries import list_events
from server.form_fields import FormFields
from server.plants.models import Train
from server.plants.queries import plant_of, train_or_404
from server.templating import UNIT_SYSTEMS, Frame, TrainTabs, frame_of, reader_units, render

router = APIRouter()


def _frame(request: Request, train: Train, title: str) -> Frame:
    tabs = TrainTabs(train.id, train.site.name, train.name, "cleanings")
    return frame_of(request, f"{title}, {train.name}", site_units=train.site.units, tabs=tabs)


def _known(session: Session, train_id: int) -> tuple[Mapping[str, Any] | None, Mapping[str, Any] | None]:
    """Document and series of the latest assessment."""
    found = latest_assessment(session, train_id, series=True)
    return (found.document, found.series) if found else (None, None)


def _row(session: Session, train_id: int, plant: Plant) -> Row:
    events = [event for event in list_events(session, train_id) if event.kind == "cleaning"]
    return cleanings_in_a_row(plant, list_cleanings(session, train_id), events, *_known(session, train_id))


def _list(request: Request, session: Session, train: Train, form: PriceForm | None = None) -> Response:
    plant, (document, _) = plant_of(session, train.id), _known(session, train.id)
    prices = site_prices(session, train.site_id)
    stage = ((document or {}).get("cleaning") or {}).get("stage")
    records = list_cleanings(session, train.id, with_voided=True)
    means = recorded_means([one.content for one in records if one.voided_at is None])
    found = economics_of(plant, document, {**means, **prices}, stage)
    money = money_part(found, prices, plant.site.currency, form, means)
    row = _row(session, train.id, plant)
    frame = _frame(request, train, "Cleanings")
    page = cleanings_page(frame, plant, (train.id, train.site_id), document, row, records, money)
    return render("cleanings/list.html", page, status=422 if form else 200, charts=True)


@router.get("/trains/{train_id}/cleanings", dependencies=[needs(Right.SEE)])
def show_cleanings(train_id: int, request: Request, session: RequestSession) -> Response:
    return _list(request, session, train_or_404(session, train_id))


@router.get("/trains/{train_id}/cleanings/worksheet", dependencies=[needs(Right.SEE)])
def show_worksheet(train_id: int, request: Request, session: RequestSession) -> Response:
    train = train_or_404(session, train_id)
    document, _ = _known(session, train_id)
    window = (document or {}).get("cleaning") or {}
    suggested = (window.get("stage"), window.get("cause") or "unknown")
    asked, frame = dict(request.query_params), _frame(request, train, "Cleaning worksheet")
    if asked.get("units") in UNIT_SYSTEMS:
        frame = replace(frame, units=asked["units"])
    page = worksheet_page(frame, plant_of(session, train_id), train_id, asked, suggested)
    return render("cleanings/worksheet.html", page)


@router.get("/trains/{train_id}/cleanings/new", dependencies=[needs(Right.ENTER)])
def new_cleaning(train_id: int, request: Request, session: RequestSession) -> Response:
    train, plant = train_or_404(session, train_id), plant_of(session, train_id)
    units = reader_units(request, train.site.units)
    form = first_form(plant, train_id, dict(request.query_params), units, now())
    page = new_cleaning_page(_frame(request, train, "Record a cleaning"), plant, train_id, form)
    return render("cleanings/new.html", page)


@router.post("/trains/{train_id}/cleanings", dependencies=[needs(Right.ENTER)])
def create_cleaning(train_id: int, request: Request, sent: FormFields, session: RequestSession) -> Response:
    train, plant = train_or_404(session, train_id), plant_of(session, train_id)
    form = CleaningForm.sent(sent).checked(plant, now())
    if form.errors or (form.dangers and not form.confirmed):
        page = new_cleaning_page(_frame(request, train, "Record a cleaning"), plant, train_id, form)
        return render("cleanings/new.html", page, status=422)
    cleaning = record_cleaning(session, train_id, form.recorded(ZoneInfo(plant.site.timezone)))
    refresh_assessment(session, train_id)
    return RedirectResponse(f"/cleanings/{cleaning.id}", status_code=303)


def _show(
    request: Request, session: Session, cleaning_id: int, form: CleaningForm | None = None, *, status: int = 200
) -> Response:
    cleaning = cleaning_or_404(session, cleaning_id)
    train, plant = train_or_404(session, cleaning.train_id), plant_of(session, cleaning.train_id)
    row = _row(session, cleaning.train_id, plant)
    done = next((one for one in row.done if one.record is not None and one.record.id == cleaning_id), None)
    frame = _frame(request, train, "Cleaning")
    stands = CleaningForm.of(recorded(cleaning), ZoneInfo(plant.site.timezone), frame.units, cleaning.revision)
    cost = recorded_cost(cleaning.content, _known(session, train.id)[0], site_prices(session, train.site_id))
    kept = Kept(
        cleaning, done, cost, readings_around(session, cleaning), photos_of_cleaning(session, cleaning_id),
        revisions(session, cleaning_id),
    )  # fmt: skip
    page = cleaning_page(frame, plant, kept, form or stands)
    return render("cleanings/show.html", page, status=status)


@router.get("/cleanings/{cleaning_id}", dependencies=[needs(Right.SEE)])
def show_cleaning(cleaning_id: int, request: Request, session: RequestSession) -> Response:
    return _show(request, session, cleaning_id)


@router.post("/cleanings/{cleaning_id}/amend", dependencies=[needs(Right.ENTER)])
def amend(cleaning_id: int, request: Request, sent: FormFields, session: RequestSession) -> Response:
    cleaning = cleaning_or_404(session, cleaning_id)
    plant = plant_of(session, cleaning.train_id)
    form = CleaningForm.sent(sent).checked(plant, now()).with_reason()
    if form.errors or (form.dangers and not form.confirmed):
        return _show(request, session, cleaning_id, form, status=422)
    revision = form.text("revision")
    amend_cleaning(
        session, cleaning_id, form.recorded(ZoneInfo(plant.site.timezone)), reason=form.text("why"),
        revision=int(revision) if revision.isdecimal() else 0,
    )  # fmt: skip
    refresh_assessment(session, cleaning.train_id)
    return RedirectResponse(f"/cleanings/{cleaning_id}", status_code=303)


@router.post("/cleanings/{cleaning_id}/void", dependencies=[needs(Right.ENTER)])
def void(cleaning_id: int, session: RequestSession, reason: Annotated[str, Form(max_length=1_000)] = "") -> Response:
    cleaning = void_cleaning(session, cleaning_id, reason=reason)
    refresh_assessment(session, cleaning.train_id)
    return RedirectResponse(f"/cleanings/{cleaning_id}", status_code=303)


@router.post("/trains/{train_id}/cleanings/prices", dependencies=[needs(Right.MANAGE)])
def change_prices(train_id: int, request: Request, sent: FormFields, session: RequestSession) -> Response:
    train = train_or_404(session, train_id)
    prices, errors = _prices(sent)
    if errors:
        return _list(request, session, train, PriceForm(sent, errors))
    set_prices(session, train.site_id, prices)
    return RedirectResponse(f"/trains/{train_id}/cleanings#money", status_code=303)


def _prices(sent: Mapping[str, str]) -> tuple[dict[str, float], dict[str, str]]:
    prices: dict[str, float] = {}
    errors: dict[str, str] = {}
    for one in PRICES:
        text = sent.get(one.name, "").strip()
        if not text:
            continue
        try:
            prices[one.name] = read_number(text, one, "SI")
        except ValueError as problem:
            errors[one.name] = str(problem)
    return prices, errors
