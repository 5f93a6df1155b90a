"""`skidbook backup`, `restore` and `check`."""

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy import Engine

import server.tables  # noqa: F401  # all tables must be known
from server.db import make_engine
from server.keeping.archive import Note
from server.keeping.backup import make_backup
from server.keeping.check import check_records
from server.keeping.restore import prove, restore_backup
from server.settings import load_settings

WRONG = 1


@contextmanager
def _configured() -> Iterator[Engine]:
    """The configured database; nothing of it stays open afterwards."""
    engine = make_engine(load_settings().database_url)
    try:
        yield engine
    finally:
        engine.dispose()


def run_backup(target: Path) -> None:
    """Write a backup of the configured database, also while it is served."""
    with _configured() as engine:
        note = make_backup(engine, target)
    print(f"{target}: {_words(note)}, {target.stat().st_size / 1e6:.1f} MB, checked")


def run_restore(source: Path, *, verify: bool) -> None:
    """Put a backup in the place of the configured database, or only say whether it could be."""
    if verify:
        with tempfile.TemporaryDirectory(prefix="skidbook-verify-") as folder:
            note, _ = prove(source, Path(folder))
        print(f"{source}: whole, made {note.made_at}: {_words(note)}. Nothing was changed")
        return
    with _configured() as engine:
        done = restore_backup(engine, source)
    where = engine.url.render_as_string(hide_password=True)
    print(f"{where}: brought back from {source}, made {done.note.made_at}: {_words(done.note)}")
    if done.kept:
        print(f"What was there before is kept as {done.kept}; remove it when you are sure.")


def run_check() -> int:
    """Look whether the configured records are whole; returns the exit status."""
    with _configured() as engine:
        found = check_records(engine)
    for table, count in found.rows.items():
        print(f"  {table:<20}{count:>10} rows")
    for note in found.notes:
        print(f"note: {note}")
    for problem in found.problems:
        print(f"wrong: {problem}")
    where = engine.url.render_as_string(hide_password=True)
    print(f"{where}: {'something is wrong' if found.problems else 'nothing wrong was found'}")
    return WRONG if found.problems else 0


def _words(note: Note) -> str:
    trains, readings = note.rows.get("trains", 0), note.rows.get("readings", 0)
    return f"{trains} train{'' if trains == 1 else 's'}, {readings} reading{'' if readings == 1 else 's'}"
