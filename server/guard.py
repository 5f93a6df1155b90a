"""Start-up guard: the three packages must be the ones of this project.

`server`, `analytics` and `migrations` are plain top-level names; another package of such a name, found first, would
otherwise run in place of ours without a word.
"""

import importlib.util
from pathlib import Path

PACKAGES = ("server", "analytics", "migrations")
ROOT = Path(__file__).resolve().parent.parent


class WrongPackage(RuntimeError):
    """A package of the right name was found in the wrong place."""


def check_packages(names: tuple[str, ...] = PACKAGES, root: Path = ROOT) -> None:
    """Raise `WrongPackage` when one of the packages is missing, or would be imported from outside the project."""
    for name in names:
        spec = importlib.util.find_spec(name)
        origin = spec.origin if spec else None
        if origin is None:
            raise WrongPackage(f'the package "{name}" is missing; install the project again in its own environment')
        if not Path(origin).resolve().is_relative_to(root):
            raise WrongPackage(
                f'the package "{name}" was found at {origin}, outside {root}; '
                "use the project's own environment, where nothing else has that name"
            )
