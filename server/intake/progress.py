"""How far the work on a long file is: which step of how many, and how many readings it is done to."""

from server.display import counted, number
from server.intake.jobs import STORE
from server.intake.models import DONE, WORKING, Import

STEPS = {
    "waiting": "This long file waits for its turn.",
    "understanding": "Step 1 of 2: finding out what the file says.",
    "reading": "Step 1 of {steps}: reading the file{so_far}.",
    "comparing": "Step 2 of 2: comparing {rows} with the logbook.",
    "storing": "Step 2 of 3: storing {rows}.",
    "assessing": "Step 3 of 3: {rows} stored; the verdict is being worked out.",
}
DONE_STEPS = {"reading": 1, "understanding": 1, "comparing": 3, "storing": 3, "assessing": 5}
"""Of twice as many half steps: a step under way counts half."""


def step_of(found: Import, *, due: bool) -> str:
    """What is being done with an import, "" when nothing is."""
    if found.status == WORKING:
        return str((found.job or {}).get("step", "waiting"))
    return "assessing" if found.status == DONE and due else ""


def steps_of(found: Import) -> int:
    """Steps of the work on an import, from its beginning to its end."""
    return 3 if found.status == DONE or (found.job or {}).get("kind") == STORE else 2


def working_headline(found: Import, step: str) -> str:
    """The step that is being done, with what it is done to."""
    rows = found.counts["stored"] if step == "assessing" else (found.job or {}).get("rows", 0)
    words = STEPS.get(step, STEPS["waiting"])
    return words.format(rows=counted(rows, "reading"), steps=steps_of(found), so_far=_so_far(found))


def _so_far(found: Import) -> str:
    """How many rows have been read, and of how many."""
    job = found.job or {}
    rows, lines = job.get("rows", 0), job.get("lines", 0)
    if not rows:
        return f", about {counted(lines, 'row')}" if lines else ""
    return f", {number(rows)} of about {counted(lines, 'row')}" if lines > rows else f", {counted(rows, 'row')} so far"
