"""The start-up guard notices packages of the right name from the wrong place."""

import subprocess
import sys
from pathlib import Path

import pytest

from server.guard import ROOT, WrongPackage, check_packages
from tests.programs import environment


def test_our_own_packages_pass() -> None:
    check_packages()


def test_a_missing_package_is_named() -> None:
    with pytest.raises(WrongPackage, match='"no_such_package_here" is missing'):
        check_packages(("no_such_package_here",))


def test_a_package_from_elsewhere_is_named() -> None:
    with pytest.raises(WrongPackage, match=r"found at .*json.*outside"):
        check_packages(("json",))


def test_a_shadowed_package_stops_the_command_line_with_one_line(tmp_path: Path) -> None:
    (tmp_path / "analytics").mkdir()
    (tmp_path / "analytics" / "__init__.py").touch()
    code = f"import sys; sys.path[:0] = [{str(tmp_path)!r}, {str(ROOT)!r}]; from server.cli import main; main()"
    run = subprocess.run(
        [sys.executable, "-c", code], env=environment(), capture_output=True, text=True, cwd=tmp_path, check=False
    )
    assert run.returncode == 2
    assert run.stderr.count("\n") == 1
    assert 'the package "analytics" was found at' in run.stderr
