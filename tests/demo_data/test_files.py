"""The files of a train: headers, times, digits, and a plant file that loads."""

import csv
import io
import tomllib
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from analytics.plant_file import plant_from_dict
from demo_data.files import Story, events_text, mistakes_text, plant_text, readings_text, truth_text, write_story
from demo_data.simulator.design import Design, Stage
from demo_data.simulator.meters import Meter
from demo_data.simulator.scenario import Happening, Scenario, simulate
from demo_data.simulator.shifts import Diary, Span

STORY = Story(
    "somewhere-ro-1",
    Scenario(
        days=20,
        meters={
            "feed_pressure_bar": Meter("psi", 1.0, noise=0.5),
            "permeate_flow_m3h": Meter("gpm", 0.5),
            "permeate_conductivity_us_cm": Meter("uS/cm", 0.1),
        },
        diary=Diary(hours=(6.0, 18.0), standstills=(Span(5.0, 6.0),)),
        happenings=(Happening(4.5, "cleaning", "acid, then caustic", 2),),
        typing_mistakes=0.05,
    ),
)


def rows(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text)))


def test_readings_have_quantities_with_units_and_local_times() -> None:
    found = rows(readings_text(STORY, simulate(STORY.scenario)))
    assert list(found[0]) == [
        "time",
        "feed_pressure [psi]",
        "permeate_flow [gpm]",
        "permeate_conductivity [uS/cm]",
        "state",
    ]
    assert found[0]["time"] == "2025-08-01T06:00"
    assert "." not in found[0]["feed_pressure [psi]"]
    assert found[0]["permeate_flow [gpm]"][-2:] in {".0", ".5"}


def test_a_standing_plant_leaves_conductivity_empty() -> None:
    stopped = [row for row in rows(readings_text(STORY, simulate(STORY.scenario))) if row["state"] == "stopped"]
    assert [(row["permeate_flow [gpm]"], row["permeate_conductivity [uS/cm]"]) for row in stopped] == [("0.0", "")]


def test_times_with_offset() -> None:
    with_offset = replace(STORY, times_with_offset=True)
    result = simulate(with_offset.scenario)
    assert rows(readings_text(with_offset, result))[0]["time"] == "2025-08-01T06:00+02:00"
    assert rows(events_text(with_offset, result))[0]["time"] == "2025-08-05T12:00+02:00"


def test_events_have_their_columns() -> None:
    assert events_text(STORY, simulate(STORY.scenario)) == (
        'time,kind,stage,detail\n2025-08-05T12:00,cleaning,2,"acid, then caustic"\n'
    )


def test_every_mistake_stands_in_the_readings_as_it_was_typed() -> None:
    result = simulate(STORY.scenario)
    by_time = {row["time"]: row for row in rows(readings_text(STORY, result))}
    mistakes = rows(mistakes_text(STORY, result))
    assert mistakes
    for mistake in mistakes:
        assert by_time[mistake["time"]][f"{mistake['quantity']} [{mistake['unit']}]"] == mistake["typed"]
        assert mistake["typed"] != mistake["shown"]


def test_truth_has_one_row_a_local_day() -> None:
    found = rows(truth_text(STORY, simulate(STORY.scenario)))
    assert [row["day"] for row in found][:2] == ["2025-08-01", "2025-08-02"]
    assert len(found) == 20


def test_the_plant_file_gives_the_plant_back() -> None:
    scenario = replace(
        STORY.scenario,
        site={"name": "Somewhere", "timezone": "Europe/Vienna", "units": "US"},
        train={"name": "RO 1", "assumed": {"permeate_pressure": 0.4}, "limits": {"pressure_drop_warn": 1.12}},
        design=Design((Stage(4, 6), Stage(2, 6, booster_bar=2.0))),
        reference=(date(2025, 8, 3), date(2025, 8, 9)),
    )
    assert plant_from_dict(tomllib.loads(plant_text(scenario))) == simulate(scenario).plant


def test_write_story_writes_all_files(tmp_path: Path) -> None:
    write_story(STORY, tmp_path / "a" / "b")
    names = {path.name for path in (tmp_path / "a" / "b").iterdir()}
    assert names == {"plant.toml", "readings.csv", "events.csv", "truth.csv", "mistakes.csv"}
    assert b"\r" not in (tmp_path / "a" / "b" / "readings.csv").read_bytes()


def test_a_text_that_toml_would_misread_is_refused() -> None:
    with pytest.raises(ValueError, match="quote"):
        plant_text(replace(STORY.scenario, site={"name": 'The "Old" Mill', "timezone": "UTC"}))
