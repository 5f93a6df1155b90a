"""Headline numbers of the demo fleet, recorded so that no change of an answer goes unnoticed.

`uv run python -m tests.regression.record "sentence of the changelog"` writes `demo_plant.json` anew. The sentence has
to stand under "Results change" in docs/changelog.md and say what moved, in which direction and by how much.
"""

import json
import sys
from pathlib import Path
from typing import Any

from analytics.assess import assess
from analytics.assessment import Assessment
from demo_data.make import FLEET_FOLDER
from demo_data.stories import FLEET
from server.events.events_file import read_events
from server.intake.canonical import read_readings
from server.plants.plant_file import read_plant

RECORDED = Path(__file__).parent / "demo_plant.json"
CHANGELOG = Path(__file__).parents[2] / "docs" / "changelog.md"
SLUGS = tuple(story.slug for story in FLEET)


def assessed(slug: str) -> Assessment:
    """A train of the fleet from its files, as `skidbook assess` reads them."""
    folder = FLEET_FOLDER / slug
    plant = read_plant(folder / "plant.toml")
    table = read_readings(folder / "readings.csv", timezone=plant.site.timezone)
    table.require_clean()
    events = read_events(folder / "events.csv", timezone=plant.site.timezone, stages=len(plant.train.stages))
    return assess(plant, table.frame, events)


def headline_numbers(assessment: Assessment) -> dict[str, Any]:
    """What a person would notice if it moved. Ratios to three digits, as pages show one more than they print."""
    return {
        "method": assessment.method,
        "verdict": assessment.verdict.level,
        "used": assessment.counts.used,
        "set_aside": dict(assessment.counts.set_aside),
        "runs": [f"{run.start.date()} {run.opened_by}" for run in assessment.runs],
        "indicators": {
            f"{one.scope} {one.name}": [round(number, 3) for number in (one.low, one.value, one.high)]
            for one in assessment.indicators
        },
        "reaches_limit": {
            f"{one.scope} {one.name}": str(one.reaches_limit.likely)
            for one in assessment.indicators
            if one.reaches_limit
        },
        "meters": {one.quantity: round(one.bias, 3) for one in assessment.meters},
        "first_cause": _first_cause(assessment),
    }


def _first_cause(assessment: Assessment) -> str:
    """The likeliest cause and its place."""
    return next((f"{one.cause}, stage {one.stage or '-'}" for one in assessment.causes), "")


def results_change(changelog: str) -> str:
    """The paragraphs under all headings "Results change", spaces and line breaks made alike."""
    parts = changelog.split("### Results change")[1:]
    return " ".join(" ".join(part.split("\n#")[0].split()) for part in parts)


def main(because: str) -> None:
    if because not in results_change(CHANGELOG.read_text(encoding="utf-8")):
        sys.exit(f'docs/changelog.md: "{because}" does not stand under "Results change"; write it there first')
    trains = {slug: headline_numbers(assessed(slug)) for slug in SLUGS}
    text = json.dumps({"because": because, "trains": trains}, indent=1, ensure_ascii=False)
    RECORDED.write_text(text + "\n", encoding="utf-8")


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    main(sys.argv[1])
