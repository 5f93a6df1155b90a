"""Order of the baths, and what must never meet."""

import pytest

from analytics.decisions.cleaning_solution import PROGRAMMES, classes_of, dangers_of, programme_for


@pytest.mark.parametrize("cause", ["biofouling", "organic", "colloidal", "unknown", "no such cause"])
def test_slime_and_organics_are_cleaned_alkaline_first(cause: str) -> None:
    # Membrane maker's bulletin: alkaline, then acid; acid first sets the layer (from memory).
    programme = programme_for(cause)
    assert [solution.family for solution in programme.solutions] == ["alkaline", "acid"]
    assert "Alkaline first" in programme.why


@pytest.mark.parametrize("cause", ["scaling", "metal-oxide"])
def test_carbonate_and_iron_are_cleaned_acid_first(cause: str) -> None:
    assert programme_for(cause).solutions[0].family == "acid"


def test_no_programme_brings_together_what_must_not_meet() -> None:
    for programme in PROGRAMMES.values():
        names = tuple(dose.name for solution in programme.solutions for dose in solution.doses)
        assert dangers_of(names) == (), programme.foulant


@pytest.mark.parametrize(
    ("chemicals", "said"),
    [
        (("Citric acid 2 %", "Sodium hypochlorite"), "chlorine gas"),
        (("Bleach",), "destroys polyamide"),
        (("Chlorinated tap water",), "destroys polyamide"),
        (("Muriatic acid", "Sodium metabisulfite"), "sulfur dioxide"),
        (("Cationic surfactant",), "for good"),
        (("Hydrogen peroxide", "anionic detergent"), "oxidising biocide"),
        (("ammonium bifluoride",), "Fluoride"),
    ],
)
def test_dangerous_chemicals_are_told(chemicals: tuple[str, ...], said: str) -> None:
    # General incompatibilities of safety data sheets; maker's bulletin on cationic surfactants and chlorine.
    assert any(said in why for why in dangers_of(chemicals))


def test_ordinary_names_are_not_taken_for_others() -> None:
    assert classes_of("ethylenediaminetetraacetic acid, sodium salt") == frozenset()
    assert classes_of("Hydrochloric acid") == {"acid"} and dangers_of(()) == ()
    assert dangers_of(("Sodium hydroxide with EDTA", "Citric acid")) == ()
    assert dangers_of(("Citric acid", "dechlorinated water")) == ()
