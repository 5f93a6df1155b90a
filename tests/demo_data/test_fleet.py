"""The committed fleet: files that load, readings that a log could hold, and a truth that says what its story says."""

import tomllib
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from analytics.events import KINDS
from analytics.plant import Plant
from analytics.plant_file import plant_from_dict
from analytics.quantities import COLUMNS, quantity
from analytics.units import to_canonical
from demo_data.make import FLEET_FOLDER, build
from demo_data.stories import FLEET

SLUGS = tuple(story.slug for story in FLEET)
BREWERY, GLASSHOUSES, ISLAND, HOSPITAL, DAIRY, GLASSWORKS = SLUGS


@dataclass(frozen=True)
class Log:
    """A committed log with its times in UTC and its values in canonical units."""

    plant: Plant
    readings: pd.DataFrame

    def column(self, name: str) -> pd.Series:
        return self.readings[quantity(name).column]


def raw(slug: str, name: str) -> pd.DataFrame:
    return pd.read_csv(FLEET_FOLDER / slug / name)


def utc(times: pd.Series, zone: str) -> pd.DatetimeIndex:
    parsed = pd.DatetimeIndex(
        pd.to_datetime(times, utc=False) if "+" not in times.iloc[0] else pd.to_datetime(times, utc=True)
    )
    return (parsed if parsed.tz else parsed.tz_localize(zone)).tz_convert("UTC")


def log(slug: str) -> Log:
    plant = plant_from_dict(tomllib.loads((FLEET_FOLDER / slug / "plant.toml").read_text(encoding="utf-8")))
    frame = raw(slug, "readings.csv")
    columns = {}
    for header in frame.columns[1:]:
        name, _, unit = header.partition(" [")
        if unit:
            found = quantity(name)
            columns[found.column] = to_canonical(frame[header].to_numpy(), unit.rstrip("]"), found.unit)
        else:
            columns[name] = frame[header].fillna("").to_numpy()
    return Log(plant, pd.DataFrame(columns, index=utc(frame["time"], plant.site.timezone)))


def truth(slug: str) -> pd.DataFrame:
    return raw(slug, "truth.csv").set_index("day")


@pytest.fixture(scope="module")
def rebuilt(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("fleet")
    build(folder)
    return folder


def test_the_committed_folders_are_those_of_the_stories() -> None:
    assert {path.name for path in FLEET_FOLDER.iterdir()} == set(SLUGS)


@pytest.mark.parametrize("slug", SLUGS)
@pytest.mark.parametrize("name", ["plant.toml", "events.csv"])
def test_texts_are_reproduced(rebuilt: Path, slug: str, name: str) -> None:
    assert (rebuilt / slug / name).read_text(encoding="utf-8") == (FLEET_FOLDER / slug / name).read_text(
        encoding="utf-8"
    )


@pytest.mark.parametrize("slug", SLUGS)
@pytest.mark.parametrize("name", ["readings.csv", "truth.csv", "mistakes.csv"])
def test_numbers_are_reproduced(rebuilt: Path, slug: str, name: str) -> None:
    committed, again = raw(slug, name), pd.read_csv(rebuilt / slug / name)
    assert list(again.columns) == list(committed.columns)
    for column in committed.columns:
        if committed[column].dtype == np.float64 or committed[column].dtype == np.int64:
            # Another machine's exp and log may differ in the last bit and tip a rounding: one step, now and then.
            close = np.isclose(again[column], committed[column], rtol=0.01, atol=0.1, equal_nan=True)
            same = np.isclose(again[column], committed[column], rtol=1e-9, atol=0.0, equal_nan=True)
            assert close.mean() > 0.999, column
            assert same.mean() > 0.99, column
        else:
            assert again[column].fillna("").tolist() == committed[column].fillna("").tolist(), column


@pytest.mark.parametrize("slug", SLUGS)
def test_a_log_runs_over_fourteen_months_and_ends_on_the_last_of_october(slug: str) -> None:
    index = log(slug).readings.index
    assert index.is_monotonic_increasing
    assert index.is_unique
    assert index[-1].strftime("%Y-%m-%d") == "2026-10-31"
    assert index[0] < index[-1] - pd.DateOffset(months=14)
    per_day = len(index) / 457
    assert 1.7 < per_day < 3.0
    assert (FLEET_FOLDER / slug / "readings.csv").stat().st_size < 150_000


@pytest.mark.parametrize("slug", SLUGS)
def test_most_values_are_possible_and_mistakes_are_few(slug: str) -> None:
    found = log(slug)
    states = found.readings["state"] if "state" in found.readings else pd.Series("running", index=found.readings.index)
    running = found.readings[states == "running"]
    for column in running.columns.difference(["state", "remark"]):
        assert running[column].dropna().between(*COLUMNS[column].possible).mean() > 0.995, column
    assert 3 <= len(raw(slug, "mistakes.csv")) <= 25


@pytest.mark.parametrize("slug", SLUGS)
def test_events_are_of_known_kinds_and_within_the_log(slug: str) -> None:
    found = log(slug)
    events = raw(slug, "events.csv")
    assert set(events["kind"]) <= set(KINDS)
    times = utc(events["time"], found.plant.site.timezone)
    assert times.is_monotonic_increasing
    assert found.readings.index[0] < times[0]
    assert times[-1] < found.readings.index[-1]
    stages = events["stage"].dropna()
    assert stages.between(1, len(found.plant.train.stages)).all()


def test_the_fleet_is_metered_and_written_in_many_ways() -> None:
    headers = {slug: " ".join(raw(slug, "readings.csv").columns) for slug in SLUGS}
    for unit in ("psi", "gpm", "degF", "kPa", "mS/cm", "L/s", "bar", "m3/h"):
        assert any(f"[{unit}]" in header for header in headers.values()), unit
    assert log(HOSPITAL).plant.site.units == "US"
    assert "stage1_concentrate_pressure" not in headers[HOSPITAL]
    assert " concentrate_conductivity" not in headers[ISLAND]
    assert "stage1_permeate_flow" not in headers[DAIRY] + headers[GLASSWORKS]
    assert "+01:00" in raw(DAIRY, "readings.csv")["time"].iloc[0]
    assert [stage.booster for stage in log(GLASSWORKS).plant.train.stages] == [False, False, True]


def test_brewery_is_steady_through_a_cold_winter() -> None:
    found = truth(BREWERY)
    ratios = found[
        [f"{scope}_{what}" for scope in ("train", "stage1", "stage2") for what in ("permeate_flow", "pressure_drop")]
    ]
    assert ratios.to_numpy() == pytest.approx(1.0, abs=0.03)
    temperature = log(BREWERY).column("feed_temperature")
    assert temperature[temperature < 60].quantile(0.02) < 7
    pressure = log(BREWERY).column("feed_pressure")
    assert pressure["2026-02"].median() > 1.35 * pressure["2025-08"].median()


def test_glasshouses_foul_were_cleaned_twice_and_foul_again() -> None:
    drop = truth(GLASSHOUSES)["stage1_pressure_drop"]
    flow = truth(GLASSHOUSES)["stage1_permeate_flow"]
    gave_back = [
        (drop[before] - drop[after]) / (drop[before] - 1.0)
        for before, after in (("2026-03-24", "2026-03-27"), ("2026-09-08", "2026-09-11"))
    ]
    assert gave_back == pytest.approx([0.88, 0.40], abs=0.05)  # 90 and 45 % of the slime; slow fouling stays
    assert drop["2026-03-24"] > 1.13
    assert 1.10 < drop.iloc[-1] < 1.15  # warned, and not yet at the usual limit
    assert drop.iloc[-1] - drop["2026-10-01"] > 0.02  # which is a month or less away
    assert flow.iloc[-1] > 0.93
    assert truth(GLASSHOUSES)["stage2_pressure_drop"].max() < 1.02
    cleanings = raw(GLASSHOUSES, "events.csv").query("kind == 'cleaning'")
    assert cleanings["time"].str[:10].tolist() == ["2026-03-25", "2026-09-09"]
    assert cleanings["stage"].tolist() == [1, 1]


def test_the_media_filter_of_the_glasshouses_is_backwashed_and_comes_clean_less_and_less() -> None:
    found = log(GLASSHOUSES)
    drop = found.column("media_filter_inlet_pressure") - found.column("media_filter_outlet_pressure")
    after = drop[drop.diff() < -0.3]
    assert 50 < len(after) < 120  # every four to nine days
    assert after[:"2026-08-01"].median() == pytest.approx(0.32, abs=0.05)
    assert after["2026-10-10":].median() == pytest.approx(0.64, abs=0.05)
    assert drop.between(0.2, 1.8).all()


def test_island_scales_in_the_last_stage() -> None:
    last = truth(ISLAND).iloc[-1]
    flow = truth(ISLAND)["stage2_permeate_flow"]
    assert last["stage2_permeate_flow"] == pytest.approx(0.91, abs=0.01)
    assert last["stage2_salt_passage"] == pytest.approx(1.11, abs=0.02)
    assert last["stage2_pressure_drop"] < 1.04
    assert last["stage1_permeate_flow"] > 0.975
    days_left = (last["stage2_permeate_flow"] - 0.90) / ((flow["2026-10-01"] - flow["2026-10-31"]) / 30)
    assert 25 < days_left < 65


def test_hospital_was_oxidised_in_spring_worst_in_stage_1() -> None:
    found = truth(HOSPITAL)
    before, last = found.loc["2026-05-01"], found.iloc[-1]
    assert last["stage1_salt_passage"] > 2
    assert 1.2 < last["stage2_salt_passage"] < 1.5
    assert last["stage1_permeate_flow"] - before["stage1_permeate_flow"] > 0.10
    assert last["train_pressure_drop"] == pytest.approx(1.0, abs=0.02)
    assert last["stage1_salt_passage"] == pytest.approx(found.loc["2026-07-01", "stage1_salt_passage"], abs=0.02)
    chlorine = log(HOSPITAL).column("feed_free_chlorine")
    assert chlorine["2026-06-01":"2026-06-20"].median() > 0.08
    assert chlorine[:"2026-05-01"].median() < 0.02


def test_dairy_has_a_lying_meter_and_healthy_membranes() -> None:
    found = truth(DAIRY)
    assert found["train_permeate_flow"].min() > 0.98
    readings = log(DAIRY)
    permeate = readings.column("feed_flow") - readings.column("concentrate_flow")
    share = readings.column("permeate_flow") / permeate
    assert share["2025-08":"2026-01"].median() == pytest.approx(1.0, abs=0.005)
    assert share["2026-10-22":].median() == pytest.approx(0.92, abs=0.01)
    frozen = readings.column("feed_conductivity")["2025-11-10":"2025-11-21"]
    assert len(set(frozen)) == 1


def test_glassworks_got_new_elements_in_stage_3_and_is_steady_since() -> None:
    flow = truth(GLASSWORKS)["stage3_permeate_flow"]
    assert flow["2026-02-15"] < 0.88
    assert flow["2026-02-18"] > 0.98
    assert flow["2026-03-31":].to_numpy() == pytest.approx(0.99, abs=0.01)
    assert "element-replacement" in raw(GLASSWORKS, "events.csv")["kind"].tolist()
