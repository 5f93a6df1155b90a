"""The files of a train as its people keep them: plant.toml, readings.csv, events.csv; and truth.csv, mistakes.csv."""

import csv
import io
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pandas as pd

from analytics.quantities import COLUMNS
from demo_data.simulator.meters import Meter, decimals
from demo_data.simulator.scenario import Scenario, Simulated, plant_table, simulate


@dataclass(frozen=True)
class Story:
    """A train of the fleet: the name of its folder, its scenario, and how its log writes times."""

    slug: str
    scenario: Scenario
    times_with_offset: bool = False


def write_story(story: Story, folder: Path) -> Simulated:
    """Simulate a story and write its five files into `folder`, which is made."""
    result = simulate(story.scenario)
    folder.mkdir(parents=True, exist_ok=True)
    texts = {
        "plant.toml": plant_text(story.scenario),
        "readings.csv": readings_text(story, result),
        "events.csv": events_text(story, result),
        "truth.csv": truth_text(story, result),
        "mistakes.csv": mistakes_text(story, result),
    }
    for name, text in texts.items():
        (folder / name).write_text(text, encoding="utf-8", newline="\n")
    return result


def readings_text(story: Story, result: Simulated) -> str:
    """The log: headers `quantity [unit]`, values with the digits of their gauge, empty where nothing was read."""
    meters = story.scenario.gauges
    words = [name for name in ("state", "remark") if name in result.typed]
    cells = {column: _cells(result.typed[column], meter) for column, meter in meters.items()}
    for mistake in result.mistakes:
        row = int(result.typed.index.get_indexer(pd.DatetimeIndex([mistake.taken_at]))[0])
        cells[mistake.column][row] = f"{mistake.typed:.10g}"
    header = ["time", *(f"{COLUMNS[column].name} [{meter.unit}]" for column, meter in meters.items()), *words]
    columns = [
        _times(story, pd.DatetimeIndex(result.typed.index)),
        *cells.values(),
        *(result.typed[name].tolist() for name in words),
    ]
    return _csv_text(header, zip(*columns, strict=True))


def events_text(story: Story, result: Simulated) -> str:
    """`time,kind,stage,detail`; the stage is empty where the whole train is meant."""
    times = _times(story, pd.DatetimeIndex([event.time for event in result.events], tz="UTC"))
    rows = (
        (time, event.kind, "" if event.stage is None else event.stage, event.detail)
        for time, event in zip(times, result.events, strict=True)
    )
    return _csv_text(["time", "kind", "stage", "detail"], rows)


def truth_text(story: Story, result: Simulated) -> str:
    """The truth, one row per local day: its mean over the readings of that day."""
    local = pd.DatetimeIndex(result.truth.index).tz_convert(story.scenario.timezone)
    daily = result.truth.groupby(local.strftime("%Y-%m-%d")).mean()
    rows = ((day, *(f"{value:.5f}" for value in row)) for day, row in zip(daily.index, daily.to_numpy(), strict=True))
    return _csv_text(["day", *daily.columns], rows)


def mistakes_text(story: Story, result: Simulated) -> str:
    """Where the typing mistakes are, in the unit of the gauge."""
    times = _times(story, pd.DatetimeIndex([mistake.taken_at for mistake in result.mistakes], tz="UTC"))
    rows = (
        (time, COLUMNS[one.column].name, story.scenario.meters[one.column].unit, one.kind, f"{one.shown:.10g}",
         f"{one.typed:.10g}")
        for time, one in zip(times, result.mistakes, strict=True)
    )  # fmt: skip
    return _csv_text(["time", "quantity", "unit", "kind", "shown", "typed"], rows)


def plant_text(scenario: Scenario) -> str:
    """The plant file of a scenario as TOML."""
    table = plant_table(scenario)
    train = dict(table["train"])
    stages = train.pop("stage")
    nested = {key: train.pop(key) for key in list(train) if isinstance(train[key], Mapping)}
    blocks = [_toml_block("[site]", table["site"]), _toml_block("[train]", train)]
    blocks += [_toml_block(f"[train.{key}]", value) for key, value in nested.items()]
    blocks += [_toml_block("[[train.stage]]", stage) for stage in stages]
    blocks += [_toml_block(f"[membrane.{name}]", value) for name, value in table["membrane"].items()]
    return "\n".join(blocks)


def _toml_block(header: str, values: Mapping[str, Any]) -> str:
    return "\n".join([header, *(f"{key} = {_toml_value(value)}" for key, value in values.items())]) + "\n"


def _toml_value(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        if '"' in value or "\\" in value:
            raise ValueError(f"no quote or backslash is expected in {value}")
        return f'"{value}"'
    return f"{value}"


def _cells(values: pd.Series, meter: Meter) -> list[str]:
    digits = decimals(meter.step)
    return ["" if pd.isna(value) else f"{value:.{digits}f}" for value in values]


def _times(story: Story, index: pd.DatetimeIndex) -> list[str]:
    local = index.tz_convert(story.scenario.timezone)
    if story.times_with_offset:
        return [moment.isoformat(timespec="minutes") for moment in local]
    return local.strftime("%Y-%m-%dT%H:%M").tolist()


def _csv_text(header: list[str], rows: Any) -> str:
    buffer = io.StringIO()
    writer = csv.writer(buffer, lineterminator="\n")
    writer.writerow(header)
    writer.writerows(rows)
    return buffer.getvalue()
