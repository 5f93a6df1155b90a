"""docs/security.md names tests that show what it says; each of them is there."""

import ast
import re
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
PAGE = ROOT / "docs" / "security.md"
NAMED = re.compile(r"`(tests/[\w/]+\.py)::(\w+)`")


def functions(path: Path) -> set[str]:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    return {node.name for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)}


def test_every_test_that_the_page_names_is_there() -> None:
    named = NAMED.findall(PAGE.read_text(encoding="utf-8"))
    assert len(named) >= 60
    missing = [
        f"{file}::{name}" for file, name in named if not (ROOT / file).is_file() or name not in functions(ROOT / file)
    ]
    assert missing == []


def test_no_row_names_a_test_in_another_way() -> None:
    text = PAGE.read_text(encoding="utf-8")
    assert text.count("::") == len(NAMED.findall(text))


def test_every_chapter_is_spoken_of() -> None:
    text = PAGE.read_text(encoding="utf-8")
    assert [number for number in range(1, 18) if f"V{number} " not in text] == []
