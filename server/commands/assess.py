"""`skidbook assess`: from a plant file and a log to a verdict."""

import textwrap
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import orjson

from analytics.assess import assess
from server.assessments.document import assessment_document
from server.assessments.report import WIDTH, terminal_report
from server.commands.files import STANDARD_OUTPUT, file_notes, read_table, whole_file
from server.errors import AppError
from server.events.events_file import read_events
from server.plants.plant_file import read_plant


class BadArgument(AppError):
    """An argument that cannot be meant."""


def run_assess(
    plant_path: Path,
    readings_path: Path,
    *,
    events: Path | None,
    mapping: Path | None,
    as_of: str,
    json: str,
    series: bool,
) -> None:
    """Read, assess, and print; see `skidbook assess --help`."""
    plant = read_plant(plant_path)
    moment = moment_of(as_of, ZoneInfo(plant.site.timezone)) if as_of else None
    table = read_table(plant, readings_path, mapping)
    stages = len(plant.train.stages)
    happened = read_events(events, timezone=plant.site.timezone, stages=stages) if events else ()
    assessment = assess(plant, table.frame, happened, moment)
    notes = file_notes(table)
    if json:
        document = assessment_document(assessment, series=series)
        document["file"] = {"name": table.file, "rows": table.rows, "notes": notes}
        with whole_file(json) as stream:
            stream.write(orjson.dumps(document, option=orjson.OPT_INDENT_2).decode() + "\n")
    if json != STANDARD_OUTPUT:
        print(terminal_report(assessment), end="")
        _print_notes(table.file, notes)


def _print_notes(file: str, notes: list[str]) -> None:
    if not notes:
        return
    print(f"\nAbout {file}:")
    for note in notes:
        print(textwrap.fill(note, WIDTH, initial_indent="  - ", subsequent_indent="    "))


def moment_of(text: str, zone: ZoneInfo) -> datetime:
    """An instant given on the command line; local without an offset, a date alone means the end of that day.

    Examples
    --------
    >>> moment_of("2026-03-01T06:00", ZoneInfo("Europe/Athens")).isoformat()
    '2026-03-01T04:00:00+00:00'
    >>> moment_of("2026-03-01", ZoneInfo("Europe/Athens")).isoformat()
    '2026-03-01T21:59:59+00:00'
    """
    try:
        found = datetime.fromisoformat(text.strip())
    except ValueError:
        raise BadArgument(f'--as-of: "{text}" is not a time; expected ISO 8601 such as 2026-03-01T06:00Z') from None
    if len(text.strip()) <= len("2026-03-01"):
        found += timedelta(days=1) - timedelta(seconds=1)
    return (found if found.tzinfo else found.replace(tzinfo=zone)).astimezone(UTC)
