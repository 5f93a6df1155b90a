"""Read plant files; every fault is one plain line that names the file and the key."""

from pathlib import Path

from analytics.errors import InvalidSettings
from analytics.plant import Plant
from analytics.plant_file import plant_from_dict
from server.errors import FileProblem
from server.toml_text import NotToml, decode_toml, read_toml


def read_plant(path: Path) -> Plant:
    """Read the plant file at `path`."""
    return plant_from_text(read_plant_text(path), file=path.name)


def read_plant_text(path: Path) -> str:
    """Read the text of the plant file at `path`."""
    try:
        content = path.read_bytes()
    except OSError as error:
        raise FileProblem(str(path), f"cannot be read ({error.strerror})", expected="a plant file") from error
    return decode_toml(content, file=path.name, what="a plant file")


def plant_from_text(text: str, *, file: str) -> Plant:
    """Build a plant from the text of its file.

    Raises
    ------
    FileProblem
        With the line of a slip in the TOML, or the path of the key at fault.
    """
    try:
        return plant_from_dict(read_toml(text))
    except NotToml as error:
        raise FileProblem(file, f"is not valid TOML: {error}") from error
    except InvalidSettings as error:
        raise FileProblem(file, str(error)) from error
