"""The feed water of a train: what can form from it, its analyses, and the limits."""

from typing import Annotated
from zoneinfo import ZoneInfo

from fastapi import APIRouter, Form, Request, Response
from fastapi.responses import RedirectResponse
from sqlalchemy.orm import Session

from server.accounts.needs import RequestSession, needs
from server.accounts.roles import Right
from server.assessments.queries import latest_assessment
from server.db import now
from server.feedwater.actions import add_analysis, change_limits, withdraw_analysis
from server.feedwater.forms import AnalysisForm, LimitsForm
from server.feedwater.page import FeedWaterPage, blank_form, feed_water_page
from server.feedwater.queries import analysis_or_404, limits_of, list_analyses, operation_of
from server.form_fields import FormFields
from server.plants.models import Train
from server.plants.queries import train_or_404
from server.templating import TrainTabs, frame_of, render

router = APIRouter()


def _page(
    request: Request,
    session: Session,
    train: Train,
    *,
    form: AnalysisForm | None = None,
    limits_form: LimitsForm | None = None,
) -> FeedWaterPage:
    tabs = TrainTabs(train.id, train.site.name, train.name, "water")
    frame = frame_of(request, f"Feed water, {train.name}", site_units=train.site.units, tabs=tabs)
    limits, assessment = limits_of(session, train.id), latest_assessment(session, train.id)
    return feed_water_page(
        frame,
        train,
        list_analyses(session, train.id, with_voided=True),
        operation_of(session, train.id),
        limits,
        form or blank_form(ZoneInfo(train.site.timezone), now()),
        limits_form or LimitsForm.of(limits),
        assessment.document["indicators"] if assessment else (),
    )


@router.get("/trains/{train_id}/water", dependencies=[needs(Right.SEE)])
def show_water(train_id: int, request: Request, session: RequestSession) -> Response:
    return render("feedwater/show.html", _page(request, session, train_or_404(session, train_id)))


@router.post("/trains/{train_id}/water", dependencies=[needs(Right.ENTER)])
def create_analysis(train_id: int, request: Request, sent: FormFields, session: RequestSession) -> Response:
    train = train_or_404(session, train_id)
    zone = ZoneInfo(train.site.timezone)
    form = AnalysisForm(sent).checked(zone, now())
    if form.errors:
        return render("feedwater/show.html", _page(request, session, train, form=form), status=422)
    add_analysis(session, form.row(train_id, zone))
    return RedirectResponse(f"/trains/{train_id}/water", status_code=303)


@router.post("/trains/{train_id}/water/limits", dependencies=[needs(Right.MANAGE)])
def set_limits(train_id: int, request: Request, sent: FormFields, session: RequestSession) -> Response:
    train = train_or_404(session, train_id)
    names = tuple(limits_of(session, train_id))
    form = LimitsForm(sent).checked(names)
    if form.errors:
        return render("feedwater/show.html", _page(request, session, train, limits_form=form), status=422)
    change_limits(session, train_id, form.limits(names), reason=form.text("reason"))
    return RedirectResponse(f"/trains/{train_id}/water", status_code=303)


@router.post("/analyses/{analysis_id}/withdraw", dependencies=[needs(Right.ENTER)])
def withdraw(
    analysis_id: int, session: RequestSession, reason: Annotated[str, Form(max_length=1_000)] = ""
) -> Response:
    found = withdraw_analysis(session, analysis_or_404(session, analysis_id).id, reason=reason)
    return RedirectResponse(f"/trains/{found.train_id}/water", status_code=303)
