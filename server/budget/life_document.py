"""The life of a train's elements as a document to be kept, and back."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import date
from typing import Any

from analytics.decisions.forecast import LifeForecast
from analytics.decisions.life import GroupLife
from analytics.decisions.life_table import LifeTable
from analytics.decisions.train_model import StageAsFitted, TrainModel
from analytics.decisions.wear import Wear
from analytics.plant import Membrane

FORMAT = "skidbook-life-1"
DELIVERED = ("permeate_flow_m3h", "recovery", "feed_pressure_bar", "cleanings_per_year")


@dataclass(frozen=True)
class KeptLimit:
    """Time to one limit: the tenth, fifth and ninth of ten equally likely ones, and how often it comes first. [a, -]"""

    name: str
    p10: float
    p50: float
    p90: float
    first: float


@dataclass(frozen=True)
class KeptGroup:
    """The elements of one stage."""

    stage: int
    elements: int
    vessels: int
    model: str
    installed: date | None
    due: LifeTable
    next_life: LifeTable
    limits: tuple[KeptLimit, ...]
    warranty: float | None
    flow: Wear
    salt: Wear


@dataclass(frozen=True)
class KeptLife:
    """A `LifeForecast` as it was kept."""

    groups: tuple[KeptGroup, ...]
    model: TrainModel | None
    damaged: bool
    history_years: float
    coldest_c: float | None
    warmest_c: float | None
    product_salt: float | None
    pump_flow: float | None
    chlorine_spent: float | None
    permeate_flow_m3h: float | None
    recovery: float | None
    feed_pressure_bar: float | None
    cleanings_per_year: float | None
    profiles: tuple[str, ...]
    notes: tuple[str, ...]


def life_document(forecast: LifeForecast) -> dict[str, Any]:
    """Write a forecast as plain dictionaries, lists, numbers and text."""
    exposure = forecast.limits.exposure
    return {
        "format": FORMAT,
        "groups": [
            {
                **asdict(group),
                "installed": group.installed.isoformat() if group.installed else None,
                **_life(life),
                "flow": asdict(wear.flow),
                "salt": asdict(wear.salt),
            }
            for group, life, wear in zip(forecast.groups, forecast.lives, forecast.wears, strict=True)
        ],
        "train": None if forecast.model is None else _train(forecast.model),
        "damaged": forecast.damaged,
        "history_years": round(forecast.history_years, 3),
        "coldest_c": forecast.coldest_c,
        "warmest_c": forecast.warmest_c,
        "product_salt": forecast.limits.product_salt,
        "pump_flow": forecast.limits.pump_flow,
        "chlorine_spent": None if exposure is None else round(exposure.spent, 1),
        **{name: getattr(forecast, name) for name in DELIVERED},
        "profiles": list(forecast.profiles),
        "notes": list(forecast.notes),
    }


def _life(life: GroupLife) -> dict[str, Any]:
    return {
        "due": list(life.due.years),
        "next_life": list(life.next_life.years),
        "limits": [
            {
                "name": one.name,
                "p10": one.table.quantile(0.1),
                "p50": one.table.quantile(0.5),
                "p90": one.table.quantile(0.9),
                "first": one.first,
            }
            for one in life.limits
        ],
        "warranty": life.warranty,
    }


def _train(model: TrainModel) -> dict[str, Any]:
    """The train without its membranes, which stand in the plant."""
    document = asdict(model)
    document["stages"] = [{k: v for k, v in stage.items() if k != "membrane"} for stage in document["stages"]]
    return document


@dataclass(frozen=True)
class BuiltStage:
    """A stage as it is built today."""

    elements: int
    membrane: Membrane


def kept_life(document: Mapping[str, Any], stages: Sequence[BuiltStage]) -> KeptLife | None:
    """Read a document; None where it no longer fits the train as it is built."""
    groups = document["groups"]
    if document["format"] != FORMAT or [group["elements"] for group in groups] != [one.elements for one in stages]:
        return None
    return KeptLife(
        groups=tuple(_group(entry) for entry in groups),
        model=_kept_train(document["train"], stages),
        profiles=tuple(document["profiles"]),
        notes=tuple(document["notes"]),
        **{
            name: document[name]
            for name in (
                "damaged", "history_years", "coldest_c", "warmest_c", "product_salt", "pump_flow", "chlorine_spent",
                "permeate_flow_m3h", "recovery", "feed_pressure_bar", "cleanings_per_year",
            )
        },
    )  # fmt: skip


def _group(entry: Mapping[str, Any]) -> KeptGroup:
    return KeptGroup(
        stage=entry["stage"],
        elements=entry["elements"],
        vessels=entry["vessels"],
        model=entry["model"],
        installed=date.fromisoformat(entry["installed"]) if entry["installed"] else None,
        due=LifeTable(tuple(entry["due"])),
        next_life=LifeTable(tuple(entry["next_life"])),
        limits=tuple(KeptLimit(**limit) for limit in entry["limits"]),
        warranty=entry["warranty"],
        flow=Wear(**entry["flow"]),
        salt=Wear(**entry["salt"]),
    )


def _kept_train(entry: Mapping[str, Any] | None, built: Sequence[BuiltStage]) -> TrainModel | None:
    if entry is None:
        return None
    stages = tuple(
        StageAsFitted(membrane=stage.membrane, **fitted) for fitted, stage in zip(entry["stages"], built, strict=True)
    )
    return TrainModel(**{**entry, "stages": stages})
