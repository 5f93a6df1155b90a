"""Ion association against PHREEQC (through phreeqpython, database phreeqc.dat) and its published seawater example."""

import numpy as np
import pytest
from phreeqpython import PhreeqPython

from analytics.physics.dissolved import IONS, MINERALS
from analytics.physics.speciation import Speciation, Waters, debye_hueckel, molality, speciate

PHREEQC_NAMES = {
    "calcium": "Ca", "magnesium": "Mg", "sodium": "Na", "potassium": "K", "barium": "Ba", "strontium": "Sr",
    "chloride": "Cl", "sulfate": "S(6)", "fluoride": "F", "silica": "Si",
}  # fmt: skip
PHASES = {
    "calcite": "Calcite", "gypsum": "Gypsum", "barite": "Barite", "celestite": "Celestite", "fluorite": "Fluorite",
    "amorphous silica": "SiO2(a)",
}  # fmt: skip
HARD = {
    "calcium": 100.0, "magnesium": 30.0, "sodium": 246.0, "potassium": 10.0, "chloride": 360.0, "sulfate": 200.0,
    "barium": 0.05, "strontium": 1.5, "silica": 20.0, "fluoride": 0.8,
}  # fmt: skip
GYPSEOUS = HARD | {"calcium": 450.0, "sulfate": 1300.0, "sodium": 350.0, "strontium": 9.0, "magnesium": 80.0}
SOFT = {"calcium": 8.0, "magnesium": 2.0, "sodium": 40.0, "chloride": 30.0, "sulfate": 10.0, "silica": 45.0}
BRACKISH = HARD | {"sodium": 2300.0, "chloride": 3600.0, "sulfate": 700.0, "fluoride": 2.5}


@pytest.fixture(scope="module")
def phreeqc() -> PhreeqPython:
    return PhreeqPython(database="phreeqc.dat")


def ours(ions: dict[str, float], bicarbonate: float, ph: float, temperature: float) -> Speciation:
    tds = np.array([sum(ions.values()) + bicarbonate])
    totals = {name: molality(np.array([value]), IONS[name].molar_mass, tds) for name, value in ions.items()}
    alkalinity = molality(np.array([bicarbonate]), 61.017, tds)
    return speciate(Waters(totals, alkalinity, np.array([temperature])), ph=np.array([ph]))


@pytest.mark.parametrize(
    ("ions", "bicarbonate", "ph", "temperature"),
    [
        (HARD, 250.0, 7.6, 25.0), (HARD, 250.0, 8.4, 10.0), (HARD, 250.0, 6.5, 35.0), (GYPSEOUS, 180.0, 7.4, 20.0),
        (SOFT, 90.0, 8.0, 15.0), (BRACKISH, 300.0, 7.3, 28.0),
    ],
)  # fmt: skip
def test_saturation_is_that_of_phreeqc(
    phreeqc: PhreeqPython, ions: dict[str, float], bicarbonate: float, ph: float, temperature: float
) -> None:
    given = {PHREEQC_NAMES[name]: value for name, value in ions.items()}
    given |= {"S(6)": f"{ions['sulfate']} as SO4", "Si": f"{ions['silica']} as SiO2"}
    solution = phreeqc.add_solution(
        {"units": "mg/l", "temp": temperature, "pH": ph, "Alkalinity": f"{bicarbonate} as HCO3", **given}
    )
    found = ours(ions, bicarbonate, ph, temperature)
    assert found.ionic_strength[0] == pytest.approx(solution.I, rel=0.005)
    for mineral, index in found.saturation_index.items():
        theirs = solution.si(PHASES[mineral])
        if np.isfinite(index[0]):
            assert index[0] == pytest.approx(theirs, abs=0.1 if mineral == "calcite" else np.log10(1.05)), mineral
        else:
            assert theirs < -900  # an ion is not there
    solution.forget()


def test_seawater_of_the_published_example() -> None:
    """PHREEQC, example 1 (USGS): ions in ppm; calcite 0.75, gypsum -0.64 at pH 8.22, 25 degC."""
    ions = {
        "calcium": 412.3, "magnesium": 1291.8, "sodium": 10768.0, "potassium": 399.1, "silica": 4.28,
        "chloride": 19353.0, "sulfate": 2712.0,
    }  # fmt: skip
    litre = 1.023
    found = ours({name: value * litre for name, value in ions.items()}, 141.682 * litre, 8.22, 25.0)
    assert found.saturation_index["calcite"][0] == pytest.approx(0.75, abs=0.05)
    assert found.saturation_index["gypsum"][0] == pytest.approx(-0.64, abs=0.05)


def test_the_concentrate_that_keeps_its_carbon_dioxide() -> None:
    """Four times the hard water: pH 8.110, calcite 1.815, gypsum 27.7 %, silica 68.6 % (PHREEQC, phreeqc.dat)."""
    feed = ours({k: v for k, v in HARD.items() if k != "fluoride"}, 250.0, 7.6, 25.0)
    tds = np.array([4 * (sum(HARD.values()) - 0.8 + 250.0)])
    totals = {
        name: molality(np.array([4 * value]), IONS[name].molar_mass, tds)
        for name, value in HARD.items()
        if name != "fluoride"
    }
    waters = Waters(totals, molality(np.array([1000.0]), 61.017, tds), np.array([25.0]))
    found = speciate(waters, carbon_dioxide=feed.carbon_dioxide)
    assert found.ph[0] == pytest.approx(8.110, abs=0.01)
    assert found.saturation_index["calcite"][0] == pytest.approx(1.815, abs=0.02)
    assert 100 * 10 ** found.saturation_index["gypsum"][0] == pytest.approx(27.7, rel=0.05)
    assert 100 * 10 ** found.saturation_index["amorphous silica"][0] == pytest.approx(68.6, rel=0.05)


def test_gypsum_saturates_in_pure_water_at_the_published_solubility() -> None:
    """PHREEQC, example 2: 1.508e-2 mol/kg at 25 degC."""
    total = np.array([1.508e-2])
    found = speciate(
        Waters({"calcium": total, "sulfate": total}, np.array([0.0]), np.array([25.0])), ph=np.array([7.0])
    )
    assert found.saturation_index["gypsum"][0] == pytest.approx(0.0, abs=0.02)


def test_silica_dissolves_as_published() -> None:
    """Amorphous silica at 25 degC: 116.7 mg/L as SiO2 (PHREEQC), about 120 in practice."""
    water = Waters({"silica": np.array([116.7 / 60084])}, np.array([0.0]), np.array([25.0]))
    found = speciate(water, ph=np.array([7.0]))
    assert found.saturation_index["amorphous silica"][0] == pytest.approx(0.0, abs=0.01)


def test_mass_is_kept_and_shapes_do_not_matter() -> None:
    found = ours(GYPSEOUS, 180.0, 7.4, 20.0)
    tds = np.array([sum(GYPSEOUS.values()) + 180.0])
    calcium = found.free["calcium"] + found.formed["CaCO3"] + found.formed["CaHCO3+"] + found.formed["CaSO4"]
    assert calcium[0] == pytest.approx(molality(np.array([450.0]), 40.08, tds)[0], rel=1e-6)


def test_beyond_its_range_it_says_nothing() -> None:
    found = ours({"sodium": 60_000.0, "chloride": 92_000.0, "calcium": 400.0}, 100.0, 7.5, 25.0)
    assert np.isnan(found.ph[0]) and np.isnan(found.saturation_index["calcite"][0])


def test_one_of_the_two_must_be_known() -> None:
    with pytest.raises(ValueError, match="either"):
        speciate(Waters({}, np.array([0.001]), np.array([25.0])))


def test_debye_hueckel_at_25_degrees() -> None:
    """A 0.509, B 0.328 per 1e-10 m: any textbook of water chemistry, from memory."""
    a, b = debye_hueckel(np.array([25.0]))
    assert a[0] == pytest.approx(0.509, abs=0.004) and b[0] == pytest.approx(0.328, abs=0.002)


@pytest.mark.parametrize(("mineral", "waters"), [("gypsum", 2), ("amorphous silica", -2), ("barite", 0)])
def test_water_of_crystals_counts_by_its_activity(mineral: str, waters: int) -> None:
    """Gypsum takes two waters up, silica has two in solution, barite none.

    Beside 0.4 mol/kg of sodium chloride, whose osmotic coefficient is 0.920 (Robinson and Stokes, from memory), the
    activity of water is exp(-0.018015 x 2 x 0.4 x 0.920) = 0.9868.
    """
    salty = {"calcium": 1.0, "sodium": 9000.0, "chloride": 13_880.0, "sulfate": 2.0, "silica": 1.0, "barium": 0.05}
    found, one = ours(salty, 0.0, 7.0, 25.0), MINERALS[mineral]
    assert found.ionic_strength[0] == pytest.approx(0.4, abs=0.005)
    ions = sum(count * np.log10(found.activity[ion][0]) for ion, count in one.made_of.items())
    left = found.saturation_index[mineral][0] - ions + one.constant.log10(np.array([25.0]))[0]
    assert left == pytest.approx(waters * np.log10(0.9868), abs=0.0006)
