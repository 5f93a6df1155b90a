"""Find what the budget rests on: choices, lives, spendings and kept plans."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime

from sqlalchemy import Select, func, select
from sqlalchemy.orm import Session, joinedload, selectinload

from analytics.decisions.cleaning_experience import Spent
from analytics.plant import Membrane
from server.budget.choices import EXAMPLE_CURRENCY, Chosen
from server.budget.life_document import BuiltStage, KeptLife, kept_life
from server.budget.models import BudgetChoice, KeptPlan, Life, Spending
from server.cleanings.spent import spent_on_cleanings
from server.db import now
from server.elements.models import ElementStay
from server.plants.models import Site, Stage, Train
from server.plants.queries import MEMBRANE_FIELDS


@dataclass(frozen=True)
class TrainFacts:
    """One train with all that its budget needs; `life` is None while there is none that fits.

    `spent` is what its recorded cleanings took.
    """

    train: Train
    choices: Chosen
    life: KeptLife | None
    as_of: datetime | None
    spendings: Sequence[Spending] = field(default=())
    kept: KeptPlan | None = None
    spent: Sequence[Spent] = field(default=())


@dataclass(frozen=True)
class SiteFacts:
    """One site with its trains."""

    site: Site
    choices: Chosen
    trains: tuple[TrainFacts, ...]

    @property
    def currency(self) -> str:
        """Currency of its amounts: that of the examples while nobody has given prices or a currency."""
        return self.site.currency if self.site.currency and self.choices.priced else EXAMPLE_CURRENCY


def chosen(session: Session, *, site_id: int | None = None, train_id: int | None = None) -> Chosen:
    """The newest choices of a train, of a site, or of the logbook where neither is given."""
    query = select(BudgetChoice.name, BudgetChoice.value).order_by(BudgetChoice.id)
    if train_id is not None:
        return Chosen("train", dict(_pairs(session, query.where(BudgetChoice.train_id == train_id))))
    if site_id is not None:
        only_site = query.where(BudgetChoice.site_id == site_id, BudgetChoice.train_id.is_(None))
        return Chosen("site", dict(_pairs(session, only_site)))
    logbook = query.where(BudgetChoice.site_id.is_(None), BudgetChoice.train_id.is_(None))
    return Chosen("logbook", dict(_pairs(session, logbook)))


def _pairs(session: Session, query: Select[str, str]) -> list[tuple[str, str]]:
    return [(name, value) for name, value in session.execute(query)]


def budget_facts(
    session: Session, *, sites: frozenset[int] | None = None, train_id: int | None = None
) -> tuple[SiteFacts, ...]:
    """Sites with their trains, choices and lives, by name: of some sites or all, or of one train alone.

    As many queries for a thousand trains as for one.
    """
    query = (
        select(Train)
        .join(Train.site)
        .options(joinedload(Train.site), selectinload(Train.stages).joinedload(Stage.element_model))
        .order_by(Site.name, Site.id, Train.name)
    )
    if sites is not None:
        query = query.where(Train.site_id.in_(sites))
    if train_id is not None:
        query = query.where(Train.id == train_id)
    gathered = _Gathered.of(session)
    by_site: dict[int, list[Train]] = {}
    for train in session.scalars(query):
        by_site.setdefault(train.site_id, []).append(train)
    return tuple(
        SiteFacts(
            of_site[0].site,
            Chosen("site", gathered.of_sites.get(site_id, {})),
            tuple(gathered.facts(train) for train in of_site),
        )
        for site_id, of_site in by_site.items()
    )


@dataclass(frozen=True)
class _Gathered:
    """Everything of all trains that stands in tables of the budget, by train or site."""

    of_sites: Mapping[int, dict[str, str]]
    of_trains: Mapping[int, dict[str, str]]
    lives: Mapping[int, Life]
    spendings: Mapping[int, list[Spending]]
    plans: Mapping[int, KeptPlan]
    cleanings: Mapping[int, tuple[Spent, ...]]

    @classmethod
    def of(cls, session: Session) -> "_Gathered":
        of_sites: dict[int, dict[str, str]] = {}
        of_trains: dict[int, dict[str, str]] = {}
        for row in session.scalars(select(BudgetChoice).order_by(BudgetChoice.id)):
            if row.train_id is not None:
                of_trains.setdefault(row.train_id, {})[row.name] = row.value
            elif row.site_id is not None:
                of_sites.setdefault(row.site_id, {})[row.name] = row.value
        spent: dict[int, list[Spending]] = {}
        for spending in session.scalars(
            select(Spending).where(Spending.withdrawn_at.is_(None)).order_by(Spending.day, Spending.id)
        ):
            spent.setdefault(spending.train_id, []).append(spending)
        lives = {life.train_id: life for life in session.scalars(select(Life))}
        plans = {plan.train_id: plan for plan in session.scalars(select(KeptPlan).order_by(KeptPlan.id))}
        return cls(of_sites, of_trains, lives, spent, plans, spent_on_cleanings(session))

    def facts(self, train: Train) -> TrainFacts:
        life = self.lives.get(train.id)
        kept = None if life is None else kept_life(life.document, [_built(stage) for stage in train.stages])
        return TrainFacts(
            train, Chosen("train", self.of_trains.get(train.id, {})), kept, life.as_of if life else None,
            self.spendings.get(train.id, ()), self.plans.get(train.id), self.cleanings.get(train.id, ()),
        )  # fmt: skip


def _built(stage: Stage) -> BuiltStage:
    fields = {name: getattr(stage.element_model, name) for name in MEMBRANE_FIELDS}
    return BuiltStage(stage.vessels * stage.elements_per_vessel, Membrane(**fields))


def installed_days(session: Session, train_id: int) -> dict[int, date]:
    """By stage, the day on which its elements came: the middle one, as the map has it. A move makes none younger."""
    present = select(ElementStay.element_id, ElementStay.stage).where(
        ElementStay.train_id == train_id, ElementStay.until.is_(None)
    )
    lying = present.subquery()
    came = (
        select(lying.c.stage, func.min(ElementStay.since).label("day"))
        .join(lying, lying.c.element_id == ElementStay.element_id)
        .group_by(lying.c.element_id, lying.c.stage)
    )
    days: dict[int, list[date]] = {}
    for stage, day in session.execute(came.order_by("day")):
        days.setdefault(stage, []).append(day)
    return {stage: found[len(found) // 2] for stage, found in days.items()}


def logbook_day(session: Session) -> date:
    """Today as the logbook knows it: the day of the newest reading that a life rests on; without any, by the clock."""
    newest = session.scalar(select(Life.as_of).order_by(Life.as_of.desc()).limit(1))
    return (newest or now()).date()
