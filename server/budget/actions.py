"""Keep what the budget rests on: lives after each assessment, choices, spendings and plans."""

from collections.abc import Mapping
from datetime import date

import numpy as np
import pandas as pd
from sqlalchemy import delete, select
from sqlalchemy.orm import Session

import analytics
from analytics.assessment import Assessment
from analytics.decisions.forecast import Contract, forecast_life
from analytics.decisions.stage_wear import LogForLife
from analytics.judgement.both_methods import STANDARD_PREFIX
from analytics.quantities import MAX_STAGES
from server.audit.actions import changes, record
from server.audit.author import writer
from server.budget.choices import SEED, Chosen
from server.budget.life_document import life_document
from server.budget.models import BudgetChoice, KeptPlan, Life, Spending
from server.budget.queries import chosen, installed_days
from server.db import now
from server.errors import Conflict, NotFound


def refresh_life(session: Session, train_id: int, assessment: Assessment | None) -> None:
    """Work out the life of a train's elements after its assessment, in place of the old one."""
    session.execute(delete(Life).where(Life.train_id == train_id))
    if assessment is None:
        return
    choices = chosen(session, train_id=train_id)
    said = {n: day for n in range(1, MAX_STAGES + 1) if (day := choices.day(f"installed_stage{n}"))}
    forecast = forecast_life(
        assessment.plant,
        log_for_life(assessment),
        contract_of(choices),
        rng=np.random.default_rng([SEED, train_id]),
        installed=said | installed_days(session, train_id),
    )
    session.add(
        Life(
            train_id=train_id,
            as_of=assessment.as_of,
            document=life_document(forecast),
            version=analytics.__version__,
        )
    )


def contract_of(choices: Chosen) -> Contract:
    """What the choices of a train say about its contract."""
    return Contract(
        permeate_flow_m3h=choices.number("permeate_flow"),
        recovery=choices.number("recovery"),
        product_conductivity_us_cm=choices.number("product_conductivity"),
        most_feed_pressure_bar=choices.number("most_feed_pressure"),
        permeability_left=choices.sure("permeability_left"),
        chlorine_tolerance=choices.sure("chlorine_tolerance"),
        warranty_years=choices.sure("warranty_years"),
        water_source=choices.text("water_source"),
    )


def log_for_life(assessment: Assessment) -> LogForLife:
    """What of an assessment the life rests on."""
    daily, aside = assessment.daily, assessment.daily_set_aside
    names = [name for name in aside.columns if not name.startswith(STANDARD_PREFIX)]
    period = assessment.reference
    return LogForLife(
        daily=pd.DataFrame({name: daily[name].mask(aside[name]) for name in names}, index=daily.index),
        measured=assessment.measured,
        events=assessment.events,
        causes=assessment.causes,
        reference_days=(pd.Timestamp(period.start), pd.Timestamp(period.end)) if period else None,
        train=assessment.model.train if assessment.model else None,
        cleanings=assessment.cleanings.cleanings,
        references=assessment.references,
    )


def choose(
    session: Session,
    wanted: Mapping[str, str],
    *,
    site_id: int | None = None,
    train_id: int | None = None,
    author: str = "",
) -> bool:
    """Keep choices that differ from those that stand; an empty value goes back to the default. True when any does."""
    present = chosen(session, site_id=site_id, train_id=train_id).given
    before, after = changes({name: present.get(name, "") for name in wanted}, dict(wanted))
    if not after:
        return False
    author = writer(session, author)
    session.add_all(
        BudgetChoice(
            site_id=None if train_id is not None else site_id, train_id=train_id, name=name, value=value, author=author
        )
        for name, value in after.items()
    )
    record(session, "budget-changed", train_id=train_id, site_id=site_id, before=before, after=after, author=author)
    session.flush()
    if "reporting_currency" in after:
        _forget_rates(session, author)
    return True


def _forget_rates(session: Session, author: str) -> None:
    """Rates into the former reporting currency say nothing of the new one: the pages ask for them again."""
    for site_id in session.scalars(select(BudgetChoice.site_id).where(BudgetChoice.name == "rate").distinct()).all():
        choose(session, {"rate": ""}, site_id=site_id, author=author)


def note_spending(
    session: Session,
    train_id: int,
    *,
    kind: str,
    day: date,
    elements: int,
    amount_cents: int,
    note: str = "",
    author: str = "",
) -> Spending:
    """Write down an order or a replacement."""
    author = writer(session, author)
    row = Spending(
        train_id=train_id, kind=kind, day=day, elements=elements, amount_cents=amount_cents, note=note.strip(),
        author=author,
    )  # fmt: skip
    session.add(row)
    session.flush()
    record(session, "spending-noted", train_id=train_id, object_id=row.id, after=_said(row), author=author)
    return row


def withdraw_spending(session: Session, train_id: int, spending_id: int, *, author: str = "") -> None:
    """Take a spending out; it stays in the table."""
    row = session.get(Spending, spending_id, with_for_update=True)
    if row is None or row.train_id != train_id:
        raise NotFound(f"There is no spending with the number {spending_id}.")
    if row.withdrawn_at is not None:
        raise Conflict("This was taken out already.")
    row.withdrawn_at, row.withdrawn_by = now(), writer(session, author)
    record(session, "spending-withdrawn", train_id=train_id, object_id=row.id, before=_said(row), author=author)
    session.flush()


def _said(row: Spending) -> dict[str, str | int]:
    return {
        "kind": row.kind, "day": row.day.isoformat(), "elements": row.elements, "amount_cents": row.amount_cents,
        "note": row.note,
    }  # fmt: skip


def keep_plan(session: Session, train_id: int, years: Mapping[str, str], *, author: str = "") -> KeptPlan:
    """Keep the expected cost by year, to hold what is spent against it."""
    author = writer(session, author)
    row = KeptPlan(train_id=train_id, years=dict(years), author=author)
    session.add(row)
    session.flush()
    record(session, "plan-kept", train_id=train_id, object_id=row.id, after=dict(years), author=author)
    return row
