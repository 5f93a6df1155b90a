"""Write the files of the demo fleet: `uv run python demo_data/make.py`. The same seeds give the same files."""

from pathlib import Path

from demo_data.files import write_story
from demo_data.stories import FLEET
from demo_data.stories.glasshouses import GLASSHOUSES
from demo_data.stories.walks import walks_text

WALKS = "pretreatment.csv"
FLEET_FOLDER = Path(__file__).parent / "fleet"


def build(folder: Path = FLEET_FOLDER) -> list[Path]:
    """Write every train of the fleet into its own folder under `folder`, and return these folders."""
    folders = []
    for story in FLEET:
        write_story(story, folder / story.slug)
        folders.append(folder / story.slug)
    (folder / GLASSHOUSES.slug / WALKS).write_text(walks_text(), encoding="utf-8", newline="\n")
    return folders


if __name__ == "__main__":
    for written in build():
        print(written.relative_to(FLEET_FOLDER.parent))
