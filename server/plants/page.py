"""The page on which a plant file is handed in."""

from dataclasses import dataclass

from server.templating import STATIC, Frame

EXAMPLE = "plant-example.toml"


@dataclass(frozen=True)
class NewPlantPage:
    """The form, what was handed in last, and what is wrong with it."""

    frame: Frame
    text: str
    error: str
    example: str
    example_name: str


def new_plant_page(frame: Frame, *, text: str = "", error: str = "") -> NewPlantPage:
    """The form as it is first seen, or again with what is wrong."""
    return NewPlantPage(frame, text, error, (STATIC / EXAMPLE).read_text(encoding="utf-8"), EXAMPLE)
