"""A logbook of one train with twenty days of readings of fifteen gauges, and an honest shift to go on with."""

import io

from analytics.quantities import COLUMNS
from server.db import make_engine, transaction
from server.intake.actions import Upload, import_readings
from server.plants.actions import add_plant
from server.plants.plant_file import plant_from_text
from tests.analytics.condition.steady_train import living
from tests.server.demo_trains import ANY_TIME

PLANT = """
[site]
name = "Quay Laundry"
timezone = "Europe/Madrid"
[train]
name = "RO 1"
[[train.stage]]
vessels = 4
elements_per_vessel = 6
membrane = "bw8"
[[train.stage]]
vessels = 2
elements_per_vessel = 6
membrane = "bw8"
[membrane.bw8]
area_m2 = 37.0
"""
SHIFT = {
    "feed_temperature_c": "25.1", "feed_conductivity_us_cm": "2004", "feed_flow_m3h": "40.2",
    "feed_pressure_bar": "12.1", "stage1_concentrate_pressure_bar": "10.6", "stage1_permeate_flow_m3h": "22.1",
    "stage1_permeate_conductivity_us_cm": "20.1", "stage2_permeate_conductivity_us_cm": "79.8",
    "concentrate_pressure_bar": "9.4", "concentrate_flow_m3h": "10.1", "concentrate_conductivity_us_cm": "7910",
    "permeate_flow_m3h": "30.1", "permeate_conductivity_us_cm": "36.2", "permeate_pressure_bar": "0.6",
    "hours_counter_h": "12486",
}  # fmt: skip
"""An honest shift of fifteen gauges in the order of the walk; see the steady train."""


def fill_logbook(url: str) -> None:
    """One train with twenty days of readings of fifteen gauges."""
    log = living(days=20)
    log["hours_counter_h"] = [12_000.0 + 8 * n for n in range(len(log))]
    names = {name: f"{COLUMNS[name].name} [{COLUMNS[name].unit}]" for name in SHIFT}
    text = io.StringIO()
    log[list(names)].rename(columns=names).to_csv(text, index_label="time")
    engine = make_engine(url)
    with transaction(engine) as session:
        train = add_plant(session, plant_from_text(PLANT, file="plant.toml"), PLANT)
        import_readings(session, train.id, Upload("log.csv", text.getvalue().encode(), latest=ANY_TIME))
    engine.dispose()
