"""The import pages as typed values: hand in a file, look at what it would bring, what it brought, take it back."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from server.assessments.levels import Level, level_of
from server.db import now
from server.display import ago, counted, file_size, moment, number
from server.intake.import_lines import (
    ColumnLine,
    DifferenceLine,
    PreviewTable,
    ProblemLine,
    column_line,
    difference_line,
    preview_table,
    problem_line,
)
from server.intake.models import ASKED, DISCARDED, DONE, PENDING, UNDONE, WORKING, Import
from server.intake.progress import DONE_STEPS, step_of, steps_of, working_headline
from server.plants.models import Train
from server.templating import Frame

STATES = {
    WORKING: "being worked on",
    ASKED: "understood, to be checked",
    PENDING: "looked at, not brought in",
    DONE: "brought in",
    DISCARDED: "discarded",
    UNDONE: "undone",
}


@dataclass(frozen=True)
class ImportLine:
    """One earlier import in the list."""

    import_id: int
    file_name: str
    when: str
    state: str
    readings: str


@dataclass(frozen=True)
class NewImportPage:
    """The form to hand a file in, what is wrong with the last one, and the earlier imports."""

    frame: Frame
    site: str
    train: str
    train_id: int
    timezone: str
    most: str
    error: str
    mapping: str
    lines: tuple[ImportLine, ...]


@dataclass(frozen=True)
class ImportPage:
    """One import: before it is confirmed what it would bring, after that what it brought."""

    frame: Frame
    site: str
    train: str
    train_id: int
    import_id: int
    file_name: str
    status: str
    headline: str
    summary: str
    can_confirm: bool
    confirm_label: str
    level: Level
    verdict: str
    facts: tuple[tuple[str, str], ...]
    notes: tuple[str, ...]
    unknown_columns: tuple[str, ...]
    problems: tuple[ProblemLine, ...]
    more_problems: str
    differences: tuple[DifferenceLine, ...]
    more_differences: str
    columns: tuple[ColumnLine, ...]
    preview: PreviewTable | None
    can_correct: bool
    columns_open: bool
    has_mapping: bool
    can_leave_out: bool
    leave_out_label: str
    can_take: bool
    reason_error: str
    working: bool
    progress: int
    steps: int


@dataclass(frozen=True)
class UndoPage:
    """The question before an import is taken back."""

    frame: Frame
    import_id: int
    headline: str
    words: str


def new_import_page(
    frame: Frame, train: Train, earlier: Sequence[Import], *, most: int, error: str = "", mapping: str = ""
) -> NewImportPage:
    """The form as it is first seen, or again with what is wrong; `most` is the largest file that is taken. [bytes]"""
    zone = ZoneInfo(train.site.timezone)
    return NewImportPage(
        frame=frame,
        site=train.site.name,
        train=train.name,
        train_id=train.id,
        timezone=train.site.timezone,
        most=file_size(most),
        error=error,
        mapping=mapping,
        lines=tuple(_line(found, zone) for found in earlier),
    )


def _line(found: Import, zone: ZoneInfo) -> ImportLine:
    stored = counted(found.counts.get("stored", 0), "reading") if found.status == DONE else ""
    return ImportLine(found.id, found.file_name, moment(found.created_at, zone), STATES[found.status], stored)


def import_page(
    frame: Frame, train: Train, found: Import, *, level: str, verdict: str, due: bool = False, reason_error: str = ""
) -> ImportPage:
    """Put the page of one import together; unless `due`, `level` and `verdict` are what the readings say now."""
    step = step_of(found, due=due)
    counts, zone, problems = found.counts, ZoneInfo(train.site.timezone), found.counts["problems"]
    bad_rows = counts.get("bad_rows", 0)
    can_leave_out = found.status == PENDING and 0 < bad_rows < counts["rows"]
    can_take = found.status == PENDING and counts["different"] > 0
    return ImportPage(
        frame=frame,
        site=train.site.name,
        train=train.name,
        train_id=train.id,
        import_id=found.id,
        file_name=found.file_name,
        status=found.status,
        headline=working_headline(found, step) if step else _headline(found),
        summary=_summary(found, step),
        can_confirm=found.status == PENDING and not problems and (counts["stored"] > 0 or can_take),
        confirm_label=f"Bring in {counted(counts['stored'], 'reading')}" if counts["stored"] else "Go on",
        level=level_of(level),
        verdict=verdict if found.status == DONE and not due else "",
        facts=_facts(found, zone),
        notes=tuple(found.notes),
        unknown_columns=tuple(found.unknown_columns),
        problems=tuple(problem_line(problem) for problem in found.problems),
        more_problems=_more(problems, len(found.problems), "problem"),
        differences=tuple(difference_line(entry, zone, frame.units) for entry in found.differences),
        more_differences=_more(counts["different"], len({d["row"] for d in found.differences}), "reading"),
        columns=tuple(column_line(name, unit) for name, unit in found.column_units.items()),
        preview=preview_table(found.preview, zone, frame.units) if found.status == PENDING else None,
        can_correct=found.status in (ASKED, PENDING) and found.understanding is not None,
        can_leave_out=can_leave_out,
        leave_out_label=_leave_out_label(counts),
        can_take=can_take,
        reason_error=reason_error,
        working=step != "",
        progress=DONE_STEPS.get(step, 0),
        steps=2 * steps_of(found),
        columns_open=found.status == ASKED,
        has_mapping=bool(found.mapping.strip()),
    )


def _leave_out_label(counts: dict[str, int]) -> str:
    rows = counted(counts.get("bad_rows", 0), "row")
    return f"Leave out {rows} and bring in the rest"


def _headline(found: Import) -> str:
    counts = found.counts
    if found.status == DISCARDED and (found.job or {}).get("error"):
        return "This file could not be used."
    if found.status == PENDING and counts["problems"]:
        return f"{counted(counts['problems'], 'problem')} to mend before this file can be brought in."
    if found.status == PENDING and not counts["stored"]:
        return "There is nothing new in this file."
    if found.status == PENDING:
        return f"{counted(counts['stored'], 'new reading')} to bring in."
    if found.status == ASKED:
        return "The columns of this file are to be checked first."
    if found.status == DONE:
        return f"{counted(counts['stored'], 'reading')} brought in."
    if found.status == UNDONE:
        return f"Undone: {counted(counts.get('undone', 0), 'reading')} taken out of use."
    return "Discarded; nothing was stored."


def _summary(found: Import, step: str) -> str:
    job = found.job or {}
    if step == "assessing":
        return "The page looks again by itself; you can leave it and come back."
    if found.status == WORKING:
        since = ago(datetime.fromisoformat(job["since"]), now())
        return f"Begun {since}. The page looks again by itself; you can leave it and come back."
    if job.get("error"):
        return str(job["error"])
    if found.status == PENDING and found.counts["problems"]:
        if found.counts.get("bad_rows"):
            return "Nothing has been stored. Mend the cells below in the file and hand it in again, or leave them out."
        return "Nothing has been stored. Mend the cells below in the file and hand it in again."
    if found.status == PENDING:
        return "Nothing has been stored yet. Look whether columns and units are what they should be."
    return ""


def _facts(found: Import, zone: ZoneInfo) -> tuple[tuple[str, str], ...]:
    counts = found.counts
    facts = [("File", found.file_name), ("Rows with anything in them", number(counts["rows"]))]
    if found.first_taken_at and found.last_taken_at:
        facts += [
            ("First reading", moment(found.first_taken_at, zone)),
            ("Last reading", moment(found.last_taken_at, zone)),
        ]
    facts += [
        ("New", number(counts["stored"])),
        ("There already, the same", number(counts["same"])),
        ("There already or twice, with other values", number(counts["different"])),
    ]
    if "revised" in counts:
        facts.append(("Given the values of the file", number(counts["revised"])))
    if "given_back" in counts:
        facts.append(("Given back what they said before", number(counts["given_back"])))
    return tuple(facts)


def _more(total: int, shown: int, noun: str) -> str:
    return f"And {counted(total - shown, 'more ' + noun)}." if total > shown else ""


def undo_page(frame: Frame, found: Import) -> UndoPage:
    """The question before an import is taken back."""
    count = counted(found.counts["stored"], "reading")
    return UndoPage(
        frame,
        found.id,
        f"Undo the import of {found.file_name}?",
        f"Its {count} will be taken out of use: kept in the list and marked so, but no longer counted.",
    )
