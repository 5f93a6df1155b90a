"""Elements of a train: the map, one place, lists in and out, and rounds of single vessels."""

from datetime import date
from typing import Annotated, Any
from zoneinfo import ZoneInfo

from fastapi import APIRouter, File, Form, Query, Request, Response, UploadFile
from fastapi.responses import RedirectResponse
from sqlalchemy.orm import Session

from analytics.decisions.element_map import Change, Place, Problem, turned_around
from server.accounts.needs import RequestSession, needs
from server.accounts.roles import Right
from server.assessments.actions import refresh_assessment
from server.assessments.queries import daily_frame
from server.db import now
from server.elements.actions import Outcome, add_round, change_map, lying_in, withdraw_round
from server.elements.condition import conditions_of
from server.elements.export import as_csv, as_xlsx
from server.elements.listing import LARGEST_FILE, Listed, one_row, read_file, read_list
from server.elements.page import ElementsPage, done_words, elements_page
from server.elements.place_page import PlacePage, form_of, place_page
from server.elements.queries import as_stay, layout_of, list_rounds, placed_elements, stays_of, ways_of
from server.elements.vessel_page import RoundForm, VesselsPage, blank_round, vessels_page
from server.errors import FileProblem, NotFound
from server.form_fields import FormFields
from server.plants.models import Train
from server.plants.queries import train_or_404
from server.security.file_names import attachment, safe_file_name
from server.templating import Frame, TrainTabs, frame_of, render

router = APIRouter()
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
LONGEST_LIST = 500_000
Count = Annotated[int, Query(ge=0, le=1_000_000)]


def _frame(request: Request, train: Train, title: str) -> Frame:
    tabs = TrainTabs(train.id, train.site.name, train.name, "elements")
    return frame_of(request, f"{title}, {train.name}", site_units=train.site.units, tabs=tabs)


def _today(train: Train) -> date:
    return now().astimezone(ZoneInfo(train.site.timezone)).date()


def _map(request: Request, session: Session, train: Train, **more: Any) -> ElementsPage:
    today = _today(train)
    placed = placed_elements(session, train, today)
    colour = request.query_params.get("by", "age")
    conditions = conditions_of(session, train, placed, today) if colour == "condition" else {}
    frame = _frame(request, train, "Elements")
    return elements_page(frame, train, layout_of(train), placed, conditions, colour=colour, today=today, **more)


@router.get("/trains/{train_id}/elements", dependencies=[needs(Right.SEE)])
def show_elements(
    train_id: int, request: Request, session: RequestSession, changed: Count = 0, same: Count = 0, noted: Count = 0
) -> Response:
    train = train_or_404(session, train_id)
    return render("elements/show.html", _map(request, session, train, done=done_words(changed, same, noted)))


@router.post("/trains/{train_id}/elements", dependencies=[needs(Right.MANAGE)])
def change_by_list(
    train_id: int, request: Request, session: RequestSession, file: Annotated[UploadFile | None, File()] = None,
    pasted: Annotated[str, Form(max_length=LONGEST_LIST)] = "",
) -> Response:  # fmt: skip
    """Change the map by a file, or by a list that was pasted."""
    train, has_file = train_or_404(session, train_id), file is not None and bool(file.filename)
    listed = _handed_in(file) if file is not None and has_file else read_list(pasted)
    outcome = change_map(session, train, listed)
    if outcome.problems:
        more = {"pasted": pasted, "refused": listed, "problems": outcome.problems}
        page = _map(request, session, train, opened="file" if has_file else "paste", **more)
        return render("elements/show.html", page, status=422)
    return _changed(session, train_id, outcome)


def _handed_in(file: UploadFile) -> Listed:
    name, content = safe_file_name(file.filename or ""), file.file.read(LARGEST_FILE + 1)
    if len(content) > LARGEST_FILE:
        return Listed(
            (), problems=(Problem(0, f"{name} is too large; at most {LARGEST_FILE // 1_000_000} MB, please."),)
        )
    try:
        return read_file(content, name)
    except FileProblem as problem:
        return Listed((), problems=(Problem(0, f"{problem.message}."),))


def _changed(session: Session, train_id: int, outcome: Outcome) -> Response:
    if outcome.changed:
        refresh_assessment(session, train_id)
    said = f"changed={outcome.changed}&same={outcome.same}&noted={outcome.noted}"
    return RedirectResponse(f"/trains/{train_id}/elements?{said}", status_code=303)


@router.post("/trains/{train_id}/elements/turn", dependencies=[needs(Right.MANAGE)])
def turn_vessel(
    train_id: int, request: Request, session: RequestSession, vessel: Annotated[str, Form()] = "",
    on: Annotated[str, Form()] = "",
) -> Response:  # fmt: skip
    """Turn a vessel end for end."""
    train = train_or_404(session, train_id)
    layout = layout_of(train)
    place, at = _place_of(f"{vessel}.1"), _day_of(on)
    changes: tuple[Change, ...] = ()
    if place is not None and at is not None and layout.holds(place):
        stays = [as_stay(stay, element) for stay, element in stays_of(session, train_id)]
        changes = turned_around(stays, (place.stage, place.vessel), at, layout)
    problem = Problem(0, "Choose a vessel whose elements are known, and the day on which it was turned.")
    outcome = change_map(session, train, Listed(changes, problems=() if changes else (problem,)))
    if outcome.problems:
        page = _map(request, session, train, problems=outcome.problems, opened="turn")
        return render("elements/show.html", page, status=422)
    return _changed(session, train_id, outcome)


def _place_of(text: str) -> Place | None:
    parts = text.split(".")
    if len(parts) != 3 or not all(part.isascii() and part.isdigit() and len(part) < 5 for part in parts):
        return None
    return Place(*map(int, parts))


def _day_of(text: str) -> date | None:
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        return None


def _place(request: Request, session: Session, train: Train, at: str, **more: Any) -> PlacePage:
    place = _place_or_404(train, at)
    today = _today(train)
    placed = placed_elements(session, train, today)
    here = next((one.stay.serial for one in placed if one.stay.until is None and one.stay.place == place), None)
    return place_page(
        _frame(request, train, "Element"), train, place, placed,
        [] if here is None else ways_of(session, train, here), conditions_of(session, train, placed, today).get(place),
        today=today, **more,
    )  # fmt: skip


def _place_or_404(train: Train, at: str) -> Place:
    place = _place_of(at)
    if place is None or not layout_of(train).holds(place):
        raise NotFound("This train has no such place.")
    return place


@router.get("/trains/{train_id}/elements/place", dependencies=[needs(Right.SEE)])
def show_place(train_id: int, request: Request, session: RequestSession, at: str = "") -> Response:
    return render("elements/place.html", _place(request, session, train_or_404(session, train_id), at))


@router.post("/trains/{train_id}/elements/place", dependencies=[needs(Right.MANAGE)])
def change_place(train_id: int, request: Request, sent: FormFields, session: RequestSession) -> Response:
    """Put another element here, let the one here change places with another, or note its weight."""
    train, at = train_or_404(session, train_id), sent.get("at", "")
    place = _place_or_404(train, at)
    outcome = change_map(session, train, BY_FORM[form_of(sent)](session, train, place, sent))
    if outcome.problems:
        page = _place(request, session, train, at, problems=outcome.problems, entered=sent)
        return render("elements/place.html", page, status=422)
    if outcome.changed:
        refresh_assessment(session, train_id)
    return RedirectResponse(f"/trains/{train_id}/elements/place?at={at}", status_code=303)


def _replacement(session: Session, train: Train, place: Place, sent: dict[str, str]) -> Listed:
    lying = {stay.serial: str(at) for at, stay in lying_in(session, train).items() if at != place}
    if (serial := sent.get("serial", "").strip()) in lying:
        text = f"{serial} lies at {lying[serial]}; let the two change places instead."
        return Listed((), problems=(Problem(0, text, "serial"),))
    typed = {name: sent.get(name, "") for name in ("serial", "model", "made")}
    where = {"stage": str(place.stage), "vessel": str(place.vessel), "position": str(place.position)}
    return one_row({"day": sent.get("on", ""), **typed, **where})


def _swap(session: Session, train: Train, place: Place, sent: dict[str, str]) -> Listed:
    target, at = _place_of(sent.get("to", "")), _day_of(sent.get("on", ""))
    stays = [as_stay(stay, element) for stay, element in stays_of(session, train.id)]
    here, there = (
        next((stay for stay in stays if stay.until is None and stay.place == wanted), None)
        for wanted in (place, target)
    )
    if here is None or there is None or at is None or here is there:
        text = "Name a day, and another place whose element is known, such as 1.2.3 for stage 1, vessel 2, position 3."
        return Listed((), problems=(Problem(0, text, "to"),))
    changes = (Change(1, at, here.serial, there.place), Change(2, at, there.serial, here.place))
    return Listed(changes)


def _weighing(session: Session, train: Train, place: Place, sent: dict[str, str]) -> Listed:
    stay = lying_in(session, train).get(place)
    if stay is None:
        return Listed((), problems=(Problem(0, "No element is known here.", "weight_kg"),))
    lies = {"day": stay.since.isoformat(), "serial": stay.serial, "stage": str(place.stage)}
    where = {"vessel": str(place.vessel), "position": str(place.position)}
    weight = {"weight_kg": sent.get("weight_kg", "") or "0", "weighed": sent.get("on", "") or "no day"}
    return one_row(lies | where | weight)


BY_FORM = {"replace": _replacement, "swap": _swap, "weigh": _weighing}


@router.get("/trains/{train_id}/elements.csv", dependencies=[needs(Right.SEE)])
def elements_csv(train_id: int, session: RequestSession) -> Response:
    train = train_or_404(session, train_id)
    headers = {"Content-Disposition": attachment(f"{train.name} elements.csv")}
    return Response(
        as_csv(placed_elements(session, train, _today(train))), media_type="text/csv; charset=utf-8", headers=headers
    )


@router.get("/trains/{train_id}/elements.xlsx", dependencies=[needs(Right.SEE)])
def elements_xlsx(train_id: int, session: RequestSession) -> Response:
    train = train_or_404(session, train_id)
    headers = {"Content-Disposition": attachment(f"{train.name} elements.xlsx")}
    return Response(as_xlsx(placed_elements(session, train, _today(train))), media_type=XLSX, headers=headers)


def _vessels(request: Request, session: Session, train: Train, form: RoundForm | None = None) -> VesselsPage:
    form = form or blank_round(ZoneInfo(train.site.timezone), now())
    days = daily_frame(session, train.id).get("raw_feed_conductivity_us_cm")
    feed = float(days.dropna().tail(14).median()) if days is not None and days.notna().any() else None
    rounds = list_rounds(session, train.id, with_voided=True)
    frame = _frame(request, train, "Vessels")
    return vessels_page(frame, train, layout_of(train), rounds, form, dict(request.query_params), feed_us_cm=feed)


@router.get("/trains/{train_id}/vessels", dependencies=[needs(Right.SEE)])
def show_vessels(train_id: int, request: Request, session: RequestSession) -> Response:
    return render("elements/vessels.html", _vessels(request, session, train_or_404(session, train_id)))


@router.post("/trains/{train_id}/vessels", dependencies=[needs(Right.ENTER)])
def create_round(train_id: int, request: Request, sent: FormFields, session: RequestSession) -> Response:
    train = train_or_404(session, train_id)
    zone, layout = ZoneInfo(train.site.timezone), layout_of(train)
    form = RoundForm(sent).checked(layout, zone, now())
    if form.errors:
        return render("elements/vessels.html", _vessels(request, session, train, form), status=422)
    add_round(session, form.round(train_id, layout, zone))
    refresh_assessment(session, train_id)
    return RedirectResponse(f"/trains/{train_id}/vessels", status_code=303)


@router.post("/rounds/{round_id}/withdraw", dependencies=[needs(Right.ENTER)])
def withdraw(round_id: int, session: RequestSession, reason: Annotated[str, Form(max_length=1_000)] = "") -> Response:
    found = withdraw_round(session, round_id, reason=reason)
    refresh_assessment(session, found.train_id)
    return RedirectResponse(f"/trains/{found.train_id}/vessels", status_code=303)
