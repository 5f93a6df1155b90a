"""Where lines of a page may break."""

import pytest

from server.typesetting import held_together


@pytest.mark.parametrize(
    ("text", "held"),
    [
        ("up 14.6 % in 30 days", "up 14.6\u00a0% in 30\u00a0days"),
        ("of stage 1, vessel 4", "of stage\u00a01, vessel\u00a04"),
        ("around 3 November 2026", "around 3\u00a0November 2026"),
        ("limit 1.4 bar; 140 m³ of feed", "limit 1.4\u00a0bar; 140\u00a0m³ of feed"),
        ("3 barrels, 2 Hours, 5 May", "3 barrels, 2 Hours, 5\u00a0May"),
    ],
)
def test_a_number_stays_with_its_unit(text: str, held: str) -> None:
    assert held_together(f"<p>{text}</p>") == f"<p>{held}</p>"


@pytest.mark.parametrize(
    "kept",
    [
        '<input value="5 % in stage 1">',
        "<textarea>5 % in stage 1\nand 3 May</textarea>",
        '<script type="application/json">{"text": "5 % in stage 1"}</script>',
        "<style>p { margin: 5 % }</style>",
    ],
)
def test_what_was_typed_and_what_a_machine_reads_is_kept(kept: str) -> None:
    assert held_together(kept) == kept
