"""Examples in documents that are what the program prints today.

A document marks the place; everything up to `<!-- end -->` is written anew:

    <!-- output of: skidbook assess PLANT READINGS -->
    <!-- first 20 lines of: skidbook assess PLANT READINGS -->
    <!-- verdicts of the demo fleet -->
"""

import contextlib
import io
import re
import shlex
from pathlib import Path

from analytics.assess import assess
from server.cli import app
from server.events.events_file import read_events
from server.guard import ROOT
from server.intake.canonical import read_readings
from server.plants.plant_file import read_plant

FLEET = ROOT / "demo_data" / "fleet"
PAGES = (ROOT / "README.md", ROOT / "docs" / "guide.md")
_PLACE = re.compile(r"(?P<mark><!-- (?P<what>[^>]*?) -->)\n.*?(?P<end><!-- end -->)", re.DOTALL)
_COMMAND = re.compile(r"(?:first (?P<lines>\d+) lines|output) of: skidbook (?P<arguments>.+)")


def with_current_examples(text: str) -> str:
    """A document with every marked place written anew."""
    return _PLACE.sub(lambda place: f"{place['mark']}\n{_written(place['what'])}\n{place['end']}", text)


def _written(what: str) -> str:
    if what == "verdicts of the demo fleet":
        return _fleet_table()
    command = _COMMAND.fullmatch(what)
    if command is None:
        raise ValueError(f'"{what}" is no mark known here')
    lines = _output(command["arguments"]).rstrip("\n").splitlines()
    shown = lines[: int(command["lines"] or len(lines))]
    return "\n".join(["```", *shown, *(["..."] if len(shown) < len(lines) else []), "```"])


def _output(arguments: str) -> str:
    """What a command prints, run in the root of the project."""
    printed = io.StringIO()
    with contextlib.redirect_stdout(printed), contextlib.chdir(ROOT):
        app(shlex.split(arguments), standalone_mode=False)
    return printed.getvalue()


def _fleet_table() -> str:
    rows = [_fleet_row(folder) for folder in sorted(FLEET.iterdir()) if folder.is_dir()]
    return "\n".join(["| train | verdict | in one sentence |", "|---|---|---|", *rows])


def _fleet_row(folder: Path) -> str:
    plant = read_plant(folder / "plant.toml")
    table = read_readings(folder / "readings.csv", timezone=plant.site.timezone)
    events = read_events(folder / "events.csv", timezone=plant.site.timezone)
    verdict = assess(plant, table.frame, events).verdict
    return f"| {plant.site.name}, {plant.train.name} | **{verdict.level}** | {verdict.headline} |"
