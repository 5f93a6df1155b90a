"""What the recorded cleanings of trains took: one query for a thousand trains as for one."""

from collections.abc import Collection, Mapping
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from analytics.decisions.cleaning_experience import Spent
from server.cleanings.models import Cleaning
from server.plants.models import Stage


def spent_on_cleanings(session: Session, train_ids: Collection[int] | None = None) -> Mapping[int, tuple[Spent, ...]]:
    """By train, oldest first: what each record in use says; of all trains where none are named.

    `analytics.decisions.cleaning_experience.cost_per_element` makes of it what a cleaning of this train costs.
    """
    records = select(Cleaning.train_id, Cleaning.stage, Cleaning.content).where(Cleaning.voided_at.is_(None))
    stages = select(Stage.train_id, Stage.number, Stage.vessels * Stage.elements_per_vessel)
    if train_ids is not None:
        records = records.where(Cleaning.train_id.in_(train_ids))
        stages = stages.where(Stage.train_id.in_(train_ids))
    elements: dict[int, dict[int, int]] = {}
    for train_id, number, count in session.execute(stages):
        elements.setdefault(train_id, {})[number] = count
    found: dict[int, list[Spent]] = {}
    for train_id, stage, content in session.execute(records.order_by(Cleaning.started_at, Cleaning.id)):
        cleaned = sum(count for number, count in elements[train_id].items() if stage in (None, number))
        found.setdefault(train_id, []).append(spent(content, cleaned))
    return {train_id: tuple(each) for train_id, each in found.items()}


def spent(content: Mapping[str, Any], elements: int) -> Spent:
    """What one record says, in the terms of the science."""
    return Spent(
        elements=elements,
        chemicals=content.get("chemicals_cost"),
        labour_hours=content.get("labour_hours"),
        waste=content.get("waste_cost"),
        energy_kwh=content.get("energy_kwh"),
    )
