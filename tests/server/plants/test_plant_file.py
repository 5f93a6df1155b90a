"""Plant files: every fault is one line that names the file."""

from pathlib import Path

import pytest

from server.errors import FileProblem
from server.plants.plant_file import plant_from_text, read_plant


def test_a_plant_file_is_read(tmp_path: Path, plant_text: str) -> None:
    path = tmp_path / "plant.toml"
    path.write_bytes(b"\xef\xbb\xbf" + plant_text.encode())
    assert read_plant(path) == plant_from_text(plant_text, file="plant.toml")
    assert read_plant(path).train.stages[1].booster


@pytest.mark.parametrize(
    ("slip", "message"),
    [
        (("vessels = 2", "vessels = two"), r"plant.toml: is not valid TOML: .*line 11"),
        (("vessels = 2", "vessels = 0"), r"plant.toml: train.stage\[1\].vessels: at least 1"),
        (("Europe/Lisbon", "Mars"), r'plant.toml: site.timezone: "Mars" is not a time zone'),
        (("currency", "curency"), r'plant.toml: site.curency: not a key known here; did you mean "currency"'),
    ],
)
def test_a_slip_is_named(plant_text: str, slip: tuple[str, str], message: str) -> None:
    with pytest.raises(FileProblem, match=message):
        plant_from_text(plant_text.replace(*slip), file="plant.toml")


def test_a_plant_file_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(FileProblem, match="cannot be read"):
        read_plant(tmp_path / "none.toml")
