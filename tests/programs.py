"""Run the program as people do: in a process of its own, or with the same words in this one, which is far quicker.

A process of its own shows what only the system can show: signals, a lock that somebody else holds, a port. What a
command answers, and with which status, is the same in this process.
"""

import os
import resource
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest

from server.cli import main

PROGRAM = [sys.executable, "-c", "from server.cli import main; main()"]


def environment(**more: str) -> dict[str, str]:
    """The environment for a process: this one, but Python may keep what it compiled, as it does for people.

    Without that, each start compiles pandas and scipy anew, which takes longer than everything else.
    """
    return {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"} | more


def run_program(*arguments: str, cwd: Path, **more: str) -> "subprocess.CompletedProcess[str]":
    """Run a command in a process of its own."""
    return subprocess.run(
        [*PROGRAM, *arguments], cwd=cwd, env=environment(**more), capture_output=True, text=True, check=False,
        timeout=120,
    )  # fmt: skip


@dataclass(frozen=True)
class Ran:
    """How a command ended: its status, and what it said."""

    status: int
    out: str
    err: str


class Runner:
    """Runs commands in this process; settings and folder are those that the test has set."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
        self._monkeypatch, self._capsys = monkeypatch, capsys

    def __call__(self, *arguments: str) -> Ran:
        self._monkeypatch.setattr(sys, "argv", ["skidbook", *arguments])
        with pytest.raises(SystemExit) as ended:
            main()
        said = self._capsys.readouterr()
        return Ran(int(ended.value.code or 0), said.out, said.err)


@contextmanager
def largest_file(size: int) -> Iterator[None]:
    """A full disk: the system lets no file of this process grow beyond some bytes."""
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
