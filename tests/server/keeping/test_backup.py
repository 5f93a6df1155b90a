"""Backups come back as they were, are refused when a bit of them is not, and never harm what is there."""

import json
import sqlite3
import threading
import zipfile
from contextlib import closing
from hashlib import sha256
from pathlib import Path

import pytest
from alembic import command
from sqlalchemy import Engine, inspect, select, text

from server.db import make_engine, transaction
from server.errors import FileProblem
from server.intake.actions import Upload, import_readings
from server.keeping.archive import read_note
from server.keeping.backup import make_backup
from server.keeping.check import check_records
from server.keeping.copying import count_rows
from server.keeping.lock import InUse, held
from server.keeping.restore import NewerBackup, restore_backup
from server.keeping.sqlite_files import sqlite_path
from server.plants.actions import add_plant
from server.plants.models import Site
from server.plants.plant_file import plant_from_text
from server.readings.actions import amend_reading
from server.readings.models import Reading
from server.readings.queries import readings_frame
from server.schema import alembic_config, head, migrate, require_current

LOG = b"time,feed_pressure [bar]\n2026-01-05 06:10,12.0\n2026-01-06 06:10,12.1\n2026-01-07 06:10,\xc2\xb5\n"


@pytest.fixture
def kept(engine: Engine, plant_text: str) -> Engine:
    """A logbook with two readings, one of them corrected."""
    with transaction(engine) as session:
        train = add_plant(session, plant_from_text(plant_text, file="plant.toml"))
        import_readings(session, train.id, Upload("log.csv", LOG.rsplit(b"\n", 2)[0]))
        first = session.scalars(select(Reading.id).order_by(Reading.id)).first()
        assert first is not None
        amend_reading(session, first, {"feed_pressure_bar": 12.345678901234567}, reason="µ")
    return engine


def _tables(engine: Engine) -> dict[str, list[tuple[object, ...]]]:
    with engine.connect() as connection:
        names = [name for name in inspect(connection).get_table_names() if name != "alembic_version"]
        return {
            name: sorted(tuple(map(str, row)) for row in connection.execute(text(f'SELECT * FROM "{name}"')))
            for name in names
        }


def test_what_was_backed_up_comes_back_and_what_came_after_is_kept_beside(kept: Engine, tmp_path: Path) -> None:
    target, before = tmp_path / "monday.backup", _tables(kept)
    note = make_backup(kept, target)
    assert note.rows["readings"] == 2 and note.rows["reading_revisions"] == 1
    with transaction(kept) as session:
        session.add(Site(name="After the backup", timezone="UTC"))
    kept.dispose()
    done = restore_backup(kept, target)
    assert _tables(kept) == before
    assert check_records(kept).problems == ()
    with transaction(kept) as session:
        session.add(Site(name="New numbers go on", timezone="UTC"))
        amend_reading(session, 2, {"feed_pressure_bar": 1.0}, reason="x")
    if kept.dialect.name == "sqlite":
        with closing(sqlite3.connect(done.kept)) as old:
            assert old.execute("SELECT name FROM sites WHERE id = 2").fetchone() == ("After the backup",)
    else:
        with kept.connect() as connection:
            old_name = connection.scalar(text(f"SELECT name FROM {done.kept.split()[1]}.sites WHERE id = 2"))
        assert old_name == "After the backup"


def test_a_backup_of_one_engine_comes_back_on_the_other(
    kept: Engine, tmp_path: Path, sqlite_url: str, request: pytest.FixtureRequest
) -> None:
    other_name = "postgresql_url" if kept.dialect.name == "sqlite" else "sqlite_url"
    other = make_engine(request.getfixturevalue(other_name))
    make_backup(kept, tmp_path / "b")
    restore_backup(other, tmp_path / "b")
    with transaction(kept) as here, transaction(other) as there:
        assert readings_frame(here, 1).equals(readings_frame(there, 1))
        assert count_rows(here.connection()) == count_rows(there.connection())
    assert check_records(other).problems == ()
    other.dispose()


def test_a_backup_made_while_others_write_is_one_instant(sqlite_engine: Engine, tmp_path: Path) -> None:
    """Two rows are always written in one transaction, so a backup with an odd count is torn."""
    stop = threading.Event()

    def write() -> None:
        number = 0
        while not stop.is_set():
            number += 1
            with transaction(sqlite_engine) as session:
                session.add_all(Site(name=f"{number} {half}", timezone="UTC") for half in "ab")

    writer = threading.Thread(target=write)
    writer.start()
    try:
        counts = [make_backup(sqlite_engine, tmp_path / "b").rows["sites"] for _ in range(5)]
    finally:
        stop.set()
        writer.join()
    assert all(count % 2 == 0 for count in counts) and counts[-1] > counts[0]


@pytest.fixture
def backup(kept: Engine, tmp_path: Path) -> Path:
    make_backup(kept, tmp_path / "b")
    kept.dispose()
    return tmp_path / "b"


def _refused(kept: Engine, backup: Path, message: str) -> None:
    before = _tables(kept)
    kept.dispose()
    with pytest.raises((FileProblem, NewerBackup), match=message):
        restore_backup(kept, backup)
    assert _tables(kept) == before


@pytest.mark.parametrize("where", [0.02, 0.3, 0.6, 0.9, 0.999])
def test_a_backup_of_which_one_byte_is_another_is_refused(kept: Engine, backup: Path, where: float) -> None:
    """In its largest part, or at its end: the date that a part's own header repeats may be any."""
    content = bytearray(backup.read_bytes())
    with zipfile.ZipFile(backup) as archive:
        part = max(archive.infolist(), key=lambda one: one.compress_size)
    start, size = part.header_offset + 30 + len(part.filename) + 20, part.compress_size - 20
    content[int(len(content) * where) if where > 0.99 else start + int(size * where)] ^= 0x55
    backup.write_bytes(content)
    _refused(kept, backup, "nothing was changed")


@pytest.mark.parametrize("share", [0.0, 0.5, 0.99])
def test_a_backup_that_was_cut_off_is_refused(kept: Engine, backup: Path, share: float) -> None:
    content = backup.read_bytes()
    backup.write_bytes(content[: int(len(content) * share)])
    _refused(kept, backup, "is no backup, or is damaged")


def _rewritten(backup: Path, **changed: object) -> None:
    with zipfile.ZipFile(backup) as archive:
        note, database = json.loads(archive.read("backup.json")), archive.read("skidbook.db")
    with zipfile.ZipFile(backup, "w") as archive:
        archive.writestr("backup.json", json.dumps(note | changed))
        archive.writestr("skidbook.db", database)


def test_a_backup_of_a_newer_program_is_refused(kept: Engine, backup: Path) -> None:
    _rewritten(backup, schema="fromlater")
    _refused(kept, backup, "newer version of skidbook.*update the program")


def test_a_backup_with_another_count_or_format_is_refused(kept: Engine, backup: Path) -> None:
    rows = read_note(backup).rows
    _rewritten(backup, rows=rows | {"readings": 3})
    _refused(kept, backup, "should hold 3 rows of readings, but holds 2")
    _rewritten(backup, format="skidbook-backup-9")
    _refused(kept, backup, 'has the format "skidbook-backup-9"')
    _rewritten(backup, format="skidbook-backup-1", unknown="x")
    _refused(kept, backup, "is no backup")


def test_a_file_that_is_no_backup_is_not_written_over(kept: Engine, tmp_path: Path) -> None:
    for name, content in (("notes.txt", b"mine"), ("own.db", b"SQLite format 3\0")):
        (tmp_path / name).write_bytes(content)
        with pytest.raises(FileProblem, match="is there and is no backup; it was left alone"):
            make_backup(kept, tmp_path / name)
        assert (tmp_path / name).read_bytes() == content
    make_backup(kept, tmp_path / "b")
    make_backup(kept, tmp_path / "b")
    assert sorted(path.name for path in tmp_path.iterdir() if path.name[0] == ".") == []


def test_nothing_is_left_where_a_backup_cannot_be_written(kept: Engine, tmp_path: Path) -> None:
    with pytest.raises(FileProblem, match="cannot be written"):
        make_backup(kept, tmp_path / "none" / "b")


def test_nothing_comes_back_while_a_server_has_the_database(kept: Engine, backup: Path) -> None:
    if kept.dialect.name == "sqlite":
        with held(sqlite_path(kept), "skidbook serve"), pytest.raises(InUse, match=r"process \d+ \(skidbook serve\)"):
            restore_backup(kept, backup)
    other = make_engine(kept.url.render_as_string(hide_password=False))
    with other.connect() as connection:
        connection.execute(text("SELECT 1 FROM sites"))
        with pytest.raises(InUse, match="Nothing was changed"):
            restore_backup(kept, backup)
    other.dispose()
    assert restore_backup(kept, backup).kept


def test_a_backup_comes_back_where_there_is_nothing_yet(kept: Engine, backup: Path, tmp_path: Path) -> None:
    fresh = make_engine(f"sqlite:///{tmp_path / 'fresh.db'}")
    assert restore_backup(fresh, backup).kept == ""
    assert check_records(fresh).problems == ()
    fresh.dispose()


def test_a_backup_comes_back_where_the_database_is_damaged(
    sqlite_engine: Engine, tmp_path: Path, plant_text: str
) -> None:
    with transaction(sqlite_engine) as session:
        add_plant(session, plant_from_text(plant_text, file="plant.toml"))
    make_backup(sqlite_engine, tmp_path / "b")
    sqlite_engine.dispose()
    path = sqlite_path(sqlite_engine)
    assert path is not None
    content = bytearray(path.read_bytes())
    content[0:16] = b"not a database!!"
    path.write_bytes(content)
    path.with_name(f"{path.name}-wal").write_bytes(b"rubbish")
    done = restore_backup(sqlite_engine, tmp_path / "b")
    assert Path(done.kept).read_bytes()[:16] == b"not a database!!"
    assert Path(f"{done.kept}-wal").read_bytes() == b"rubbish"
    assert check_records(sqlite_engine).problems == ()


def test_an_older_backup_is_brought_up_to_date(tmp_path: Path) -> None:
    old, backup = make_engine(f"sqlite:///{tmp_path / 'old.db'}"), tmp_path / "b"
    with old.begin() as connection:
        command.upgrade(alembic_config(connection), "39b23879049c")
        connection.execute(text("INSERT INTO sites (name, timezone, currency, location, units, created_at) "
                                "VALUES ('Quay', 'UTC', '', '', 'SI', '2026-01-01T00:00:00.000000')"))  # fmt: skip
    old.dispose()
    current = make_engine(f"sqlite:///{tmp_path / 'new.db'}")
    migrate(current)
    make_backup(current, backup)
    current.dispose()
    with zipfile.ZipFile(backup) as archive:
        note = json.loads(archive.read("backup.json"))
    database = (tmp_path / "old.db").read_bytes()
    note |= {"schema": "39b23879049c", "rows": {"sites": 1}, "sha256": sha256(database).hexdigest()}
    with zipfile.ZipFile(backup, "w") as archive:
        archive.writestr("backup.json", json.dumps(note | {"size": len(database)}))
        archive.writestr("skidbook.db", database)
    restore_backup(current, backup)
    require_current(current)
    with transaction(current) as session:
        assert session.scalar(select(Site.name)) == "Quay"
    assert head() != "39b23879049c"
    current.dispose()
