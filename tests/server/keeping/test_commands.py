"""Backup, restore, check and serve as somebody tired would use them: one line each, and the right exit status."""

import re
import subprocess
import threading
from collections.abc import Callable
from pathlib import Path

import pytest
from alembic import command
from sqlalchemy import Engine, inspect, select, text

from server.db import make_engine, transaction
from server.plants.models import Site
from server.schema import alembic_config, head, migrate
from tests.programs import PROGRAM, Ran, Runner, environment, largest_file, run_program

Run = Callable[..., Ran]


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """Run a command for the database at an address, in a folder of the test's own."""
    monkeypatch.chdir(tmp_path)
    runner = Runner(monkeypatch, capsys)

    def ran(*arguments: str, url: str) -> Ran:
        monkeypatch.setenv("SKIDBOOK_DATABASE_URL", url)
        return runner(*arguments)

    return ran


def test_the_way_of_a_backup(run: Run, sqlite_url: str) -> None:
    made = run("backup", "b", url=sqlite_url)
    assert (made.status, made.err) == (0, "") and "0 trains, 0 readings" in made.out
    verified = run("restore", "b", "--verify", url=sqlite_url)
    assert verified.status == 0 and "Nothing was changed" in verified.out
    restored = run("restore", "b", url=sqlite_url)
    assert restored.status == 0 and "is kept as" in restored.out
    checked = run("check", url=sqlite_url)
    assert checked.status == 0 and "nothing wrong was found" in checked.out


def test_check_ends_with_status_1_when_something_is_wrong(run: Run, sqlite_engine: Engine) -> None:
    with sqlite_engine.begin() as connection:
        connection.execute(text("DROP TRIGGER audit_no_delete"))
    url = sqlite_engine.url.render_as_string()
    checked = run("check", url=url)
    assert checked.status == 1 and "wrong: table audit is not protected" in checked.out


def test_a_full_disk_leaves_no_half_backup_and_the_old_one_as_it_was(
    run: Run, sqlite_engine: Engine, tmp_path: Path
) -> None:
    url = sqlite_engine.url.render_as_string()
    run("backup", "b", url=url)
    before = (tmp_path / "b").read_bytes()
    with transaction(sqlite_engine) as session:
        session.add(Site(name="large", timezone="UTC", location="".join(map(str, range(300_000)))))
    sqlite_engine.dispose()
    with largest_file(600_000):
        made = run("backup", "b", url=url)
    assert made.status == 2 and "cannot be written" in made.err and len(made.err.splitlines()) == 1
    assert (tmp_path / "b").read_bytes() == before
    assert [path.name for path in tmp_path.iterdir() if path.name.startswith(".")] == []
    with largest_file(100_000):
        restored = run("restore", "b", url=url)
    assert restored.status == 2 and "nothing was changed" in restored.err
    with transaction(sqlite_engine) as session:
        assert session.scalar(select(Site.name)) == "large"


def test_a_second_server_on_the_same_file_is_refused(run: Run, sqlite_url: str, tmp_path: Path) -> None:
    first = subprocess.Popen(
        [*PROGRAM, "serve", "--port", "0"], env=environment(SKIDBOOK_DATABASE_URL=sqlite_url), stdout=subprocess.PIPE,
        text=True,
    )  # fmt: skip
    try:
        assert first.stdout is not None and "Skidbook is at" in first.stdout.readline()
        for command in (("serve", "--port", "0"), ("restore", "b")):
            second = run(*command, url=sqlite_url)
            assert second.status == 2
            assert f"is in use by process {first.pid} (skidbook serve)" in second.err
        made = run_program("backup", "b", cwd=tmp_path, SKIDBOOK_DATABASE_URL=sqlite_url)
        assert (made.returncode, made.stderr) == (0, "")
    finally:
        first.kill()
        first.wait()
        first.stdout.close()  # type: ignore[union-attr]
    assert run("restore", "b", url=sqlite_url).status == 0


def test_an_upgrade_keeps_a_copy_of_before(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "old.db"
    engine = make_engine(f"sqlite:///{path}")
    with engine.begin() as connection:
        command.upgrade(alembic_config(connection), "39b23879049c")
    done = run("migrate", url=f"sqlite:///{path}")
    assert done.status == 0 and "it was copied first, to" in done.err
    (kept,) = tmp_path.glob("old.db.before-upgrade-39b23879049c-*")
    assert re.fullmatch(r"old\.db\.before-upgrade-39b23879049c-\d{8}T\d{6}Z", kept.name)
    old = make_engine(f"sqlite:///{kept}")
    assert "audit" in inspect(engine).get_table_names() and "audit" not in inspect(old).get_table_names()
    old.dispose()
    again = run("migrate", url=f"sqlite:///{path}")
    assert "is up to date" in again.out and len(list(tmp_path.glob("old.db.before*"))) == 1
    engine.dispose()


def test_processes_that_start_together_migrate_once(tmp_path: Path, request: pytest.FixtureRequest) -> None:
    """On SQLite, and on an empty PostgreSQL: all find the schema current in the end, and none fails."""
    postgresql = make_engine(request.getfixturevalue("postgresql_url"))
    with postgresql.begin() as connection:
        connection.execute(text("DROP SCHEMA public CASCADE"))
        connection.execute(text("CREATE SCHEMA public"))
    for url in (f"sqlite:///{tmp_path / 'new.db'}", postgresql.url.render_as_string(hide_password=False)):
        engines, changed, failed = [make_engine(url) for _ in range(4)], [], []

        def bring(engine: Engine, changed: list[bool] = changed, failed: list[BaseException] = failed) -> None:
            try:
                changed.append(migrate(engine))
            except BaseException as error:
                failed.append(error)

        threads = [threading.Thread(target=bring, args=(engine,)) for engine in engines]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert (failed, sorted(changed)) == ([], [False, False, False, True])
        with engines[0].connect() as connection:
            assert connection.scalar(text("SELECT version_num FROM alembic_version")) == head()
        for engine in engines:
            engine.dispose()
    postgresql.dispose()
