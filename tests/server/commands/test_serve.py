"""`skidbook serve` and `skidbook demo`, as a person starts and stops them."""

import re
import shutil
import signal
import socket
import subprocess
import tempfile
import urllib.parse
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from server.commands import serve
from tests.programs import PROGRAM, Runner, environment

TRAINS = ("tolmera-glasshouses-ro-2", "pell-harrow-hospital-ro-east")
ROWS = 300


@contextmanager
def started(*arguments: str, folder: Path, before: str = "") -> Iterator[tuple[subprocess.Popen[str], str, str]]:
    """A server of one's own: its process, its address, and what it said until it gave the address.

    `before` is done in its process first.
    """
    around = environment(
        SKIDBOOK_DATABASE_URL=f"sqlite:///{folder}/logbook.db", TMPDIR=str(folder), PYTHONWARNINGS="error"
    )
    process = subprocess.Popen(
        [*PROGRAM[:-1], f"{before}\n{PROGRAM[-1]}", *arguments, "--port", "0"],
        stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, env=around, cwd=folder,
    )  # fmt: skip
    said = ""
    try:
        assert process.stdout is not None
        for line in process.stdout:
            said += line
            if found := re.search(r"http://127\.0\.0\.1:\d+", line):
                yield process, found[0], said
                return
        pytest.fail(f"no address: {said}")
    finally:
        process.kill()
        process.communicate()


def _get(url: str) -> str:
    with urllib.request.urlopen(url, timeout=30) as answer:
        assert answer.status == 200
        return str(answer.read().decode())


def _as_demo(address: str, role: str) -> str:
    """The front page after the one click that the demo offers."""
    jar = urllib.request.HTTPCookieProcessor()
    opener = urllib.request.build_opener(jar)
    way_in = opener.open(f"{address}/", timeout=30).read().decode()
    token = re.search(r'name="form_token" value="(\w+)"', way_in)
    assert token is not None
    form = urllib.parse.urlencode({"form_token": token[1]}).encode()
    return str(opener.open(f"{address}/demo/{role}", data=form, timeout=30).read().decode())


def test_serve_makes_the_logbook_and_serves_it_until_it_is_stopped(tmp_path: Path) -> None:
    with started("serve", folder=tmp_path) as (process, address, said):
        assert "Skidbook is at" in said
        assert "Sign in" in _get(f"{address}/"), "whoever is not signed in is led to the way in"
        process.send_signal(signal.SIGINT)
        assert process.wait(30) in (0, 130)
    assert (tmp_path / "logbook.db").is_file()


@pytest.fixture
def small_fleet(tmp_path: Path) -> str:
    """What makes the demo take two trains, and of each the beginning of its log; other tests read the whole fleet."""
    for name in TRAINS:
        folder = tmp_path / "fleet" / name
        shutil.copytree(serve.FLEET / name, folder)
        lines = (folder / "readings.csv").read_text(encoding="utf-8").splitlines(keepends=True)
        (folder / "readings.csv").write_text("".join(lines[: ROWS + 1]), encoding="utf-8")
    return f"import pathlib, server.commands.serve as s; s.FLEET = pathlib.Path({str(tmp_path / 'fleet')!r})"


def test_the_demo_fleet_is_served_and_nothing_is_left_behind(tmp_path: Path, small_fleet: str) -> None:
    before = set(Path(tempfile.gettempdir()).glob("skidbook-demo-*"))
    with started("demo", folder=tmp_path, before=small_fleet) as (process, address, said):
        assert said.count(f"{ROWS} readings ") == len(TRAINS)
        page = _as_demo(address, "engineer")
        for name in ("Tolmera Glasshouses", "Pell Harrow Hospital"):
            assert name in said
            assert name in page
        assert list(tmp_path.glob("skidbook-demo-*"))
        process.send_signal(signal.SIGTERM)
        process.wait(30)
    assert list(tmp_path.glob("skidbook-demo-*")) == []
    assert not (tmp_path / "logbook.db").exists()
    assert set(Path(tempfile.gettempdir()).glob("skidbook-demo-*")) <= before


def test_a_port_that_is_taken_is_told_in_one_line(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    run = Runner(monkeypatch, capsys)
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = str(taken.getsockname()[1])
        ran = run("demo", "--port", port)
    assert (ran.status, ran.out) == (2, "")
    assert re.fullmatch(rf"cannot listen on 127\.0\.0\.1:{port} \(.*\); choose another with --port\n", ran.err)
