"""Write analyses down, withdraw them, and set the limits of the concentrate."""

from collections.abc import Mapping
from typing import Any

from sqlalchemy.orm import Session

from analytics.decisions.scaling_limits import DEFAULT_LIMITS, Limit
from server.audit.actions import changes, record
from server.audit.author import writer
from server.db import now
from server.errors import Conflict
from server.feedwater.models import FeedAnalysis, ScalingLimits
from server.feedwater.queries import analysis_or_404, limits_of


def add_analysis(session: Session, analysis: FeedAnalysis) -> FeedAnalysis:
    """Write an analysis down."""
    analysis.author = writer(session, analysis.author)
    session.add(analysis)
    session.flush()
    record(
        session, "analysis-added", train_id=analysis.train_id, object_id=analysis.id, after=_said(analysis),
        author=analysis.author,
    )  # fmt: skip
    return analysis


def withdraw_analysis(session: Session, analysis_id: int, *, reason: str) -> FeedAnalysis:
    """Take an analysis out of use; it stays readable."""
    found = analysis_or_404(session, analysis_id)
    if found.voided_at is not None:
        raise Conflict("This analysis was taken out already.")
    if not reason.strip():
        raise Conflict("Withdrawing an analysis needs a reason.")
    found.voided_at, found.void_reason, found.voided_by = now(), reason.strip(), writer(session)
    record(
        session, "analysis-withdrawn", train_id=found.train_id, object_id=found.id, before=_said(found), reason=reason
    )
    session.flush()
    return found


def change_limits(session: Session, train_id: int, limits: Mapping[str, Limit], *, reason: str) -> bool:
    """Set the limits of the concentrate of a train; returns whether any changed."""
    before, after = changes(_pairs(limits_of(session, train_id)), _pairs(limits))
    if not after:
        return False
    if not reason.strip():
        raise Conflict("Changing limits needs a reason.")
    own = {name: _pair(limit) for name, limit in limits.items() if limit != DEFAULT_LIMITS[name]}
    session.merge(ScalingLimits(train_id=train_id, limits=own))
    record(session, "scaling-limits-changed", train_id=train_id, before=before, after=after, reason=reason)
    session.flush()
    return True


def _pair(limit: Limit) -> list[float]:
    return [limit.without_antiscalant, limit.with_antiscalant]


def _pairs(limits: Mapping[str, Limit]) -> dict[str, Any]:
    return {name: _pair(limit) for name, limit in limits.items()}


def _said(analysis: FeedAnalysis) -> dict[str, Any]:
    return {
        "sampled_at": analysis.sampled_at.isoformat(),
        "ions": analysis.entered,
        "ph": analysis.ph,
        "temperature_c": analysis.temperature_c,
        "alkalinity_mg_l": analysis.alkalinity_mg_l,
        "conductivity_us_cm": analysis.conductivity_us_cm,
        "remark": analysis.remark,
    }
