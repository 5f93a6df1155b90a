"""Read a foreign table on the command line, where nobody can be asked: only when nothing is left to ask."""

from analytics.quantities import QUANTITIES
from server.errors import FileProblem
from server.intake.canonical_header import is_canonical
from server.intake.understand.compile import mapping_text
from server.intake.understand.find import understand
from server.intake.understand.understanding import FoundColumn, Known, Understanding

ANSWERED = "a mapping (--mapping) that says it, such as the page Import writes from your answers"


def mapping_unasked(content: bytes, file: str, known: Known) -> tuple[str, tuple[str, ...]]:
    """The mapping by which a file can be read, and what a person should know of it; "" where it needs none.

    Raises
    ------
    FileProblem
        When it is no table, or holds anything that only a person can say.
    """
    if is_canonical(content, file, with_unit=False):
        return "", ()
    found = understand(content, file=file, known=known)
    questions = found.questions
    if questions:
        more = f" (and {len(questions) - 1} more)" if len(questions) > 1 else ""
        raise FileProblem(file, f"leaves open: {questions[0].rstrip('.')}{more}", expected=ANSWERED)
    guessed = next((column for column in found.columns if column.confidence == "guess" and column.meaning), None)
    if guessed is not None:
        why = "; ".join(reason for reason in (guessed.reason, guessed.unit_reason) if reason)
        what = f"may be {guessed.typed} ({why}), which is a guess"
        row = None if found.layout.sideways else found.layout.skip_rows + 1
        raise FileProblem(file, what, row=row, column=guessed.name, expected=ANSWERED)
    return mapping_text(found, site_zone=known.timezone), (*found.notes, *_told(found))


def _told(found: Understanding) -> tuple[str, ...]:
    """How a file was understood: its times, and each column that is used."""
    used = [column for column in found.columns if column.meaning]
    order = f", {found.time.order}" if found.time.order != "year first" else ""
    signs = f"; read as {found.layout.encoding}" if found.layout.encoding not in ("", "utf-8", "utf-8-sig") else ""
    clock = f' and "{found.time.clock}"' if found.time.clock else ""
    return (
        f'Understood without a mapping: times from "{found.time.column}"{clock}{order}; '
        f"{'; '.join(_told_column(column) for column in used)}{signs}.",
    )


def _told_column(column: FoundColumn) -> str:
    unit = f" [{column.unit}]" if column.meaning in QUANTITIES and column.unit not in ("", "-") else ""
    return f'"{column.name}" as {column.meaning}{unit}'
