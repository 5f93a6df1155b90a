"""Is the record whole? Each check is one sentence for what is wrong, or nothing."""

import hashlib
from dataclasses import dataclass
from itertools import groupby

from sqlalchemy import Connection, Engine, select, text
from sqlalchemy.exc import DBAPIError

from server.errors import AppError
from server.intake.models import Import, ImportPart
from server.keeping.copying import count_rows
from server.keeping.sqlite_files import problems_of, sqlite_path
from server.schema import require_current

APPEND_ONLY = ("audit", "reading_revisions", "past_assessments", "train_settings")
MOST_NAMED = 5


@dataclass(frozen=True)
class CheckResult:
    """What is wrong, in plain words; what is worth knowing; and the rows of every table."""

    problems: tuple[str, ...]
    notes: tuple[str, ...]
    rows: dict[str, int]


@dataclass(frozen=True)
class _Rule:
    """A query for the numbers of what is wrong, and the sentence about them."""

    sentence: str
    query: str


RULES = (
    _Rule(
        "readings have versions that are missing or too many",
        """SELECT r.id FROM readings r LEFT JOIN reading_revisions v ON v.reading_id = r.id
           WHERE r.revision > 1 GROUP BY r.id, r.revision
           HAVING count(v.id) <> r.revision - 1 OR min(v.revision) <> 1 OR max(v.revision) <> r.revision - 1""",
    ),
    _Rule(
        "readings have older versions that claim to be newer",
        """SELECT DISTINCT r.id FROM readings r JOIN reading_revisions v ON v.reading_id = r.id
           WHERE v.revision >= r.revision""",
    ),
    _Rule(
        "readings claim to be newer than what their train rests on",
        """SELECT r.id FROM readings r JOIN trains t ON t.id = r.train_id
           WHERE r.since_version > t.inputs_version OR r.voided_version > t.inputs_version""",
    ),
    _Rule(
        "readings were taken out of use without a reason",
        "SELECT id FROM readings WHERE voided_at IS NOT NULL AND void_reason = ''",
    ),
    _Rule(
        "readings of imports that were not brought in, or were undone, are in use",
        """SELECT r.id FROM readings r JOIN imports i ON i.id = r.import_id
           WHERE i.status <> 'done' AND r.voided_at IS NULL""",
    ),
    _Rule(
        "readings belong to an import of another train",
        "SELECT r.id FROM readings r JOIN imports i ON i.id = r.import_id WHERE i.train_id <> r.train_id",
    ),
    _Rule(
        "events were withdrawn without a reason",
        "SELECT id FROM events WHERE voided_at IS NOT NULL AND void_reason = ''",
    ),
    _Rule(
        "events took the place of one that was not withdrawn",
        "SELECT e.id FROM events e JOIN events o ON o.id = e.replaces_id WHERE o.voided_at IS NULL",
    ),
    _Rule(
        "trains have readings set aside that are not there",
        """SELECT DISTINCT s.train_id FROM set_aside s LEFT JOIN readings r
           ON r.train_id = s.train_id AND r.taken_at = s.taken_at WHERE r.id IS NULL""",
    ),
    _Rule(
        "trains have no stage",
        "SELECT t.id FROM trains t LEFT JOIN stages s ON s.train_id = t.id WHERE s.id IS NULL",
    ),
)
OUTDATED = """SELECT t.id FROM trains t JOIN assessments a ON a.train_id = t.id
              WHERE a.inputs_version <> t.inputs_version"""


def check_records(engine: Engine) -> CheckResult:
    """Look at everything; nothing is changed."""
    path = sqlite_path(engine)
    problems = [f"damaged: {problem}" for problem in problems_of(path)] if path and path.exists() else []
    try:
        require_current(engine)
    except AppError as error:
        return CheckResult((*problems, error.message), (), {})
    try:
        with engine.connect().execution_options(writes=False) as connection:
            for look in (_missing_triggers, _broken_rules, _changed_files):
                problems += look(connection)
            outdated = _named(connection, OUTDATED)
            notes = (f"trains whose verdict is out of date: {outdated}",) if outdated else ()
            return CheckResult(tuple(problems), notes, count_rows(connection))
    except DBAPIError as error:
        return CheckResult((*problems, f"cannot be read any further ({error.orig})"), (), {})


def _broken_rules(connection: Connection) -> list[str]:
    found = [(rule, _named(connection, rule.query)) for rule in RULES]
    return [f"{rule.sentence}: {named}" for rule, named in found if named]


def _named(connection: Connection, query: str) -> str:
    """Numbers of the first that a query finds; empty when there is none."""
    total = connection.scalar(text(f"SELECT count(*) FROM ({query}) AS found")) or 0
    if not total:
        return ""
    numbers = connection.scalars(text(f"SELECT * FROM ({query}) AS found ORDER BY 1 LIMIT {MOST_NAMED}")).all()
    more = f", and {total - len(numbers)} more" if total > len(numbers) else ""
    return ", ".join(f"number {number}" for number in numbers) + more


def _missing_triggers(connection: Connection) -> list[str]:
    if connection.dialect.name == "sqlite":
        query, expected = "SELECT name FROM sqlite_master WHERE type = 'trigger'", ("no_update", "no_delete")
    else:
        query = "SELECT tgname FROM pg_trigger WHERE NOT tgisinternal AND tgenabled IN ('O', 'A')"
        expected = ("no_change", "no_truncate")
    there = set(connection.scalars(text(query)))
    return [
        f"table {table} is not protected any more: the trigger {table}_{name} is missing"
        for table in APPEND_ONLY
        for name in expected
        if f"{table}_{name}" not in there
    ]


def _changed_files(connection: Connection) -> list[str]:
    """Imported files that are not what they were, by their checksum; read part by part."""
    of_import = ImportPart.import_id == Import.id
    query = select(Import.id, Import.sha256, ImportPart.content).outerjoin(ImportPart, of_import)
    rows = connection.execution_options(yield_per=1).execute(query.order_by(Import.id, ImportPart.number))
    changed = []
    for (number, expected), parts in groupby(rows, key=lambda row: (row[0], row[1])):
        digest = hashlib.sha256()
        for _, _, content in parts:
            digest.update(content or b"")
        if digest.hexdigest() != expected:
            changed.append(f"the file of import {number} is not what came in: its checksum is another")
    return changed
