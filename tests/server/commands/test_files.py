"""Files appear whole, or not at all."""

import stat
from pathlib import Path

import pytest

from server.commands.files import read_file, whole_file
from server.errors import FileProblem


def test_a_file_is_there_when_all_of_it_is(tmp_path: Path) -> None:
    path = tmp_path / "answer.json"
    with whole_file(path) as stream:
        stream.write("half")
        stream.flush()
        assert not path.exists()
        stream.write(" and half\n")
    assert path.read_text() == "half and half\n"
    assert stat.S_IMODE(path.stat().st_mode) & 0o600 == 0o600
    assert [found.name for found in tmp_path.iterdir()] == ["answer.json"]


def test_what_was_there_stays_when_anything_goes_wrong(tmp_path: Path) -> None:
    path = tmp_path / "answer.json"
    path.write_text("of yesterday")
    with pytest.raises(RuntimeError), whole_file(path) as stream:
        stream.write("of today, but")
        raise RuntimeError
    assert path.read_text() == "of yesterday"
    assert [found.name for found in tmp_path.iterdir()] == ["answer.json"]


def test_standard_output(capsys: pytest.CaptureFixture[str]) -> None:
    with whole_file("-") as stream:
        stream.write("x\n")
    assert capsys.readouterr().out == "x\n"


def test_a_device_is_written_to_and_not_replaced() -> None:
    with whole_file("/dev/null") as stream:
        stream.write("x")
    assert not Path("/dev/null").is_file()


def test_a_folder_that_is_not_there_is_named(tmp_path: Path) -> None:
    with (
        pytest.raises(FileProblem, match=r"none/x\.json: cannot be written \(No such"),
        whole_file(tmp_path / "none" / "x.json"),
    ):
        pass


def test_a_file_that_cannot_be_read_is_named(tmp_path: Path) -> None:
    with pytest.raises(FileProblem, match=r"none\.toml: cannot be read .*expected a mapping"):
        read_file(tmp_path / "none.toml", "a mapping")
