"""What people hand in as TOML: text of some size, and nothing that breaks the reader."""

import pytest

from server.errors import FileProblem
from server.toml_text import DEEPEST, NotToml, decode_toml, read_toml


def test_bytes_become_text_with_or_without_a_mark() -> None:
    assert decode_toml("µ = 1".encode(), file="m.toml", what="a mapping") == "µ = 1"
    assert decode_toml("µ = 1".encode("utf-8-sig"), file="m.toml", what="a mapping") == "µ = 1"


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"\xff\xd8\xff", "photo.jpg: is not text"),
        (b"\xff\xfe\x00", "is not text"),
        (b"#" * 1_000_001, "is too large for a plant file"),
    ],
)
def test_what_is_no_text(content: bytes, message: str) -> None:
    with pytest.raises(FileProblem, match=message):
        decode_toml(content, file="photo.jpg", what="a plant file")


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("a =", "Invalid value"),
        ('a = "\\u0000"', "U\\+0000"),
        ("a = " + "[" * (DEEPEST + 2) + "]" * (DEEPEST + 2), "nested deeper"),
        ("a = " + "[" * 5000, "nested deeper"),
        ("a = " + "9" * 5000, "too long"),
    ],
)
def test_what_no_toml_should_hold(text: str, message: str) -> None:
    with pytest.raises(NotToml, match=message):
        read_toml(text)
