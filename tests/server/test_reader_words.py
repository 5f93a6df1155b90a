"""Sentences of the science in the reader's units. Expected values by hand: 1 bar is 14.504 psi, 1 m3/h is 4.403 gpm."""

import pytest

from server.reader_words import in_reader_words, retold


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ("water 6 degC colder than in the reference", "water 11\u202f°F colder than in the reference"),
        ("it seems to read 2.4 °C low", "it seems to read 4.3\u202f°F low"),
        ("stands 2.4 °C (1.0 to 3.8 °C) above the course", "stands 4.3\u202f°F (1.8 to 6.8\u202f°F) above the course"),
        ("the course (−1.3 to +1.2 °C)", "the course (−2.3 to +2.2\u202f°F)"),
        (
            "at 36.0 °C, above the 35 °C that elements stand",
            "at 96.8\u202f°F, above the 95\u202f°F that elements stand",
        ),
        ("(48.0 against 44.9 m3/h)", "(211 against 198\u202fgpm)"),
        ("is 1.2 bar, below 1.4 bar", "is 17\u202fpsi, below 20\u202fpsi"),
        ("reads 61.8 µS/cm, 39 % above", "reads 61.8 µS/cm, 39 % above"),
    ],
)
def test_measures_are_told_in_us_units(said: str, told: str) -> None:
    assert in_reader_words(said, "US") == told


def test_numbers_stay_as_they_are_written_for_a_reader_of_si() -> None:
    assert in_reader_words("140650 m3 at 40 degC, 48.0 against 44.9 m3/h", "SI") == (
        "140650\u202fm³ at 40\u202f°C, 48.0 against 44.9\u202fm³/h"
    )


def test_a_document_is_retold_without_its_numbers() -> None:
    document = {"verdict": {"reasons": ["limit 1.4 bar"]}, "values": [1.4, None], "level": "act now"}
    told = {"verdict": {"reasons": ["limit 20\u202fpsi"]}, "values": [1.4, None], "level": "act now"}
    assert retold(document, "US") == told
    assert document["verdict"] == {"reasons": ["limit 1.4 bar"]}
