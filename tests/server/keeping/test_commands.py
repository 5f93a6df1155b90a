"""Backup, restore, check and serve as somebody tired would use them: one line each, and the right exit status."""

import os
import re
import resource
import subprocess
import sys
import threading
from pathlib import Path

import pytest
from alembic import command
from sqlalchemy import Engine, inspect, select, text

from server.db import make_engine, transaction
from server.plants.models import Site
from server.schema import alembic_config, head, migrate

MAIN = "from server.cli import main; main()"


def _run(*arguments: str, url: str, cwd: Path, largest_file: int | None = None) -> "subprocess.CompletedProcess[str]":
    def limit() -> None:
        if largest_file is not None:
            resource.setrlimit(resource.RLIMIT_FSIZE, (largest_file, largest_file))

    return subprocess.run(
        [sys.executable, "-c", MAIN, *arguments],
        cwd=cwd, env=os.environ | {"SKIDBOOK_DATABASE_URL": url}, capture_output=True, text=True, check=False,
        timeout=120, preexec_fn=limit,
    )  # fmt: skip


def test_the_way_of_a_backup(sqlite_url: str, tmp_path: Path) -> None:
    made = _run("backup", "b", url=sqlite_url, cwd=tmp_path)
    assert (made.returncode, made.stderr) == (0, "") and "0 trains, 0 readings" in made.stdout
    verified = _run("restore", "b", "--verify", url=sqlite_url, cwd=tmp_path)
    assert verified.returncode == 0 and "Nothing was changed" in verified.stdout
    restored = _run("restore", "b", url=sqlite_url, cwd=tmp_path)
    assert restored.returncode == 0 and "is kept as" in restored.stdout
    checked = _run("check", url=sqlite_url, cwd=tmp_path)
    assert checked.returncode == 0 and "nothing wrong was found" in checked.stdout


def test_check_ends_with_status_1_when_something_is_wrong(sqlite_engine: Engine, tmp_path: Path) -> None:
    with sqlite_engine.begin() as connection:
        connection.execute(text("DROP TRIGGER audit_no_delete"))
    url = sqlite_engine.url.render_as_string()
    checked = _run("check", url=url, cwd=tmp_path)
    assert checked.returncode == 1 and "wrong: table audit is not protected" in checked.stdout


def test_a_full_disk_leaves_no_half_backup_and_the_old_one_as_it_was(sqlite_engine: Engine, tmp_path: Path) -> None:
    url = sqlite_engine.url.render_as_string()
    _run("backup", "b", url=url, cwd=tmp_path)
    before = (tmp_path / "b").read_bytes()
    with transaction(sqlite_engine) as session:
        session.add(Site(name="large", timezone="UTC", location="".join(map(str, range(300_000)))))
    sqlite_engine.dispose()
    made = _run("backup", "b", url=url, cwd=tmp_path, largest_file=600_000)
    assert made.returncode == 2 and "cannot be written" in made.stderr and len(made.stderr.splitlines()) == 1
    assert (tmp_path / "b").read_bytes() == before
    assert [path.name for path in tmp_path.iterdir() if path.name.startswith(".")] == []
    restored = _run("restore", "b", url=url, cwd=tmp_path, largest_file=100_000)
    assert restored.returncode == 2 and "nothing was changed" in restored.stderr
    with transaction(sqlite_engine) as session:
        assert session.scalar(select(Site.name)) == "large"


def test_a_second_server_on_the_same_file_is_refused(sqlite_url: str, tmp_path: Path) -> None:
    environment = os.environ | {"SKIDBOOK_DATABASE_URL": sqlite_url}
    first = subprocess.Popen(
        [sys.executable, "-c", MAIN, "serve", "--port", "0"], env=environment, stdout=subprocess.PIPE, text=True
    )
    try:
        assert first.stdout is not None and "Skidbook is at" in first.stdout.readline()
        for command in (("serve", "--port", "0"), ("restore", "b")):
            second = _run(*command, url=sqlite_url, cwd=tmp_path)
            assert second.returncode == 2
            assert f"is in use by process {first.pid} (skidbook serve)" in second.stderr
        assert _run("backup", "b", url=sqlite_url, cwd=tmp_path).returncode == 0
    finally:
        first.kill()
        first.wait()
        first.stdout.close()  # type: ignore[union-attr]
    assert _run("restore", "b", url=sqlite_url, cwd=tmp_path).returncode == 0


def test_an_upgrade_keeps_a_copy_of_before(tmp_path: Path) -> None:
    path = tmp_path / "old.db"
    engine = make_engine(f"sqlite:///{path}")
    with engine.begin() as connection:
        command.upgrade(alembic_config(connection), "39b23879049c")
    done = _run("migrate", url=f"sqlite:///{path}", cwd=tmp_path)
    assert done.returncode == 0 and "it was copied first, to" in done.stderr
    (kept,) = tmp_path.glob("old.db.before-upgrade-39b23879049c-*")
    assert re.fullmatch(r"old\.db\.before-upgrade-39b23879049c-\d{8}T\d{6}Z", kept.name)
    old = make_engine(f"sqlite:///{kept}")
    assert "audit" in inspect(engine).get_table_names() and "audit" not in inspect(old).get_table_names()
    old.dispose()
    again = _run("migrate", url=f"sqlite:///{path}", cwd=tmp_path)
    assert "is up to date" in again.stdout and len(list(tmp_path.glob("old.db.before*"))) == 1
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
