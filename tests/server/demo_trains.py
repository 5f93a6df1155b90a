"""Trains of the demo fleet, for logbooks of tests."""

from datetime import UTC, datetime
from pathlib import Path

from sqlalchemy.orm import Session

from server.events.actions import add_events
from server.events.events_file import read_events
from server.intake.actions import Upload, import_readings
from server.plants.actions import add_plant
from server.plants.plant_file import plant_from_text

FLEET = Path(__file__).parents[2] / "demo_data" / "fleet"
GLASSHOUSES, HOSPITAL = "tolmera-glasshouses-ro-2", "pell-harrow-hospital-ro-east"
ANY_TIME = datetime(9999, 1, 1, tzinfo=UTC)
"""Latest time of a reading, where a log may lie in the future of the clock."""


def add_demo_train(session: Session, name: str) -> int:
    """Store plant, events and log of a train as a user's files; its number."""
    folder = FLEET / name
    text = (folder / "plant.toml").read_text(encoding="utf-8")
    plant = plant_from_text(text, file=name)
    train = add_plant(session, plant, text)
    events = read_events(folder / "events.csv", timezone=plant.site.timezone, stages=len(plant.train.stages))
    add_events(session, train.id, events)
    content = (folder / "readings.csv").read_bytes()
    import_readings(session, train.id, Upload("readings.csv", content, latest=ANY_TIME))
    return train.id
