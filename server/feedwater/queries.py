"""Find analyses, and put them as the science takes them."""

from collections.abc import Mapping
from dataclasses import dataclass
from statistics import median

from sqlalchemy import select
from sqlalchemy.orm import Session

from analytics.decisions.feed_analysis import Analysis, as_ion_mg_l
from analytics.decisions.scaling_limits import DEFAULT_LIMITS, Limit
from server.assessments.models import Daily
from server.errors import NotFound
from server.feedwater.models import FeedAnalysis, ScalingLimits

RECENT_DAYS = 30


def list_analyses(session: Session, train_id: int, *, with_voided: bool = False) -> list[FeedAnalysis]:
    """Analyses of a train, newest first."""
    query = select(FeedAnalysis).where(FeedAnalysis.train_id == train_id)
    query = query.order_by(FeedAnalysis.sampled_at.desc(), FeedAnalysis.id.desc())
    return list(session.scalars(query if with_voided else query.where(FeedAnalysis.voided_at.is_(None))))


def analysis_or_404(session: Session, analysis_id: int) -> FeedAnalysis:
    found = session.get(FeedAnalysis, analysis_id)
    if found is None:
        raise NotFound(f"There is no analysis with the number {analysis_id}.")
    return found


def analysis_of(row: FeedAnalysis) -> Analysis:
    """An analysis as the science takes it."""
    ions = {name: as_ion_mg_l(name, one["value"], one["given_as"]) for name, one in row.entered.items()}
    return Analysis(ions, row.ph, row.temperature_c, row.alkalinity_mg_l, row.conductivity_us_cm)


def limits_of(session: Session, train_id: int) -> Mapping[str, Limit]:
    """Limits of the concentrate: the train's own, and the defaults for the rest."""
    own = session.get(ScalingLimits, train_id)
    changed = {} if own is None else {name: Limit(*pair) for name, pair in own.limits.items()}
    return {name: changed.get(name, limit) for name, limit in DEFAULT_LIMITS.items()}


@dataclass(frozen=True)
class Operation:
    """How a train runs of late: medians of its last days. [-], NaN where it is not metered."""

    recovery: float | None
    salt_passage: float | None


def operation_of(session: Session, train_id: int) -> Operation:
    """Recovery and salt passage of the last days with readings in use."""
    query = select(Daily.content).where(Daily.train_id == train_id).order_by(Daily.day.desc()).limit(RECENT_DAYS)
    days = list(session.scalars(query))

    def middle(name: str) -> float | None:
        values = [value for day in days if (value := day.get(name)) is not None]
        return median(values) if values else None

    permeate, feed = middle("raw_permeate_flow_m3h"), middle("raw_feed_flow_m3h")
    concentrate = middle("raw_concentrate_flow_m3h")
    if permeate and not feed and concentrate:
        feed = permeate + concentrate
    inlet, outlet = middle("raw_feed_conductivity_us_cm"), middle("raw_permeate_conductivity_us_cm")
    return Operation(
        permeate / feed if permeate and feed and permeate < feed else None,
        outlet / inlet if outlet and inlet and outlet < inlet else None,
    )
