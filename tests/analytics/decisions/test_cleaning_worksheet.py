"""The worksheet of a 4:2 train against its hand calculation, and what it refuses."""

import pytest

from analytics.decisions.cleaning_solution import PROGRAMMES, programme_for
from analytics.decisions.cleaning_steps import CAUTIONS
from analytics.decisions.cleaning_volume import bare_vessel_m3, cylinder_m3, solution_volumes, vessel_flow_m3h
from analytics.decisions.cleaning_worksheet import Wishes, Worksheet, plan_worksheet
from analytics.errors import InvalidSettings
from analytics.plant import CleaningSystem, Membrane, Stage

STAGE = Stage(4, 6, Membrane(area_m2=37.0))
# 30 m of DN80 pipe (77.9 mm inside) and a filter housing of 250 mm by 1.1 m, as in the worked example.
SYSTEM = CleaningSystem(pipe_length_m=30.0, pipe_diameter_mm=77.9, filter_length_m=1.1, filter_diameter_mm=250.0)


def sheet(foulant: str = "scaling", system: CleaningSystem = SYSTEM, **wishes: object) -> Worksheet:
    return plan_worksheet(STAGE, 1, system, programme_for(foulant), Wishes(**wishes))  # type: ignore[arg-type]


def test_the_first_stage_of_a_4_2_train_by_hand() -> None:
    # By hand: pi / 4 * 0.2032^2 * 6.096 = 0.198 m3 bare, 70 % of it loaded (a published example), times 4 = 0.554;
    # pipes 0.143, housing 0.054; together 0.75; with 30 % for the tank 0.98, made up as 1.0 m3.
    found = sheet(make_up_temperature_c=18.0, temperature_c=30.0)
    volumes = found.volumes
    assert volumes.bare_vessel == pytest.approx(0.198, abs=0.0005)
    assert volumes.vessels == pytest.approx(0.554, abs=0.001)
    assert (volumes.pipes, volumes.filter) == pytest.approx((0.143, 0.054), abs=0.0005)
    assert volumes.net == pytest.approx(0.75, rel=0.03)
    assert volumes.make == pytest.approx(1.0) and volumes.assumed == ()
    # By hand: 2 % of 1000 kg is 20 kg of citric acid, 0.1 % is 1.0 kg of caustic.
    assert [dose.mass_kg for bath in found.baths for dose in bath.doses] == pytest.approx([20.0, 1.0])
    # By hand: 4 vessels of 30 to 40 US gpm; 1 m3 * 4.186 / 3.6 * 12 K = 13.95 kWh.
    assert (found.pump_flow_low, found.pump_flow_high) == pytest.approx((27.3, 36.3), abs=0.1)
    assert found.heating_kwh == pytest.approx(14.0, abs=0.1)
    assert found.rinse_m3 == pytest.approx(4.0)  # two baths, each rinsed with twice its volume
    assert (found.vessels, found.groups, found.refused) == (4, 1, ())


def test_edta_for_sulfate_by_hand() -> None:
    # By hand: 1 % of 1000 kg.
    masses = {dose.name: dose.mass_kg for dose in sheet("sulfate").baths[0].doses}
    assert masses["EDTA, tetrasodium salt"] == pytest.approx(10.0)


def test_a_published_example_of_a_6_3_array() -> None:
    # Published: 9 vessels of 6 8-inch elements of 1.0 m: 1.70 m3 bare (pi = 3.14), 1.19 loaded; 50 m of 82 mm: 0.264.
    assert 9 * bare_vessel_m3(8.0, 1.0, 6) == pytest.approx(1.70, rel=0.035)  # inches there rounded to 20 cm
    assert 9 * 0.7 * bare_vessel_m3(8.0, 1.0, 6) == pytest.approx(1.19, rel=0.035)
    assert cylinder_m3(82.0, 50.0) == pytest.approx(0.264, abs=0.0005)
    assert 0.7 * bare_vessel_m3(4.0, 1.016, 6) == pytest.approx(0.0346, abs=0.0001)  # by hand, 4-inch


def test_what_is_not_known_is_assumed_and_said() -> None:
    volumes = solution_volumes(STAGE, CleaningSystem(), 4)
    assert volumes.net == pytest.approx(1.35 * volumes.vessels) and len(volumes.assumed) == 2
    assert "assumed" in " ".join(sheet(system=CleaningSystem()).remarks)


def test_a_small_pump_cleans_in_groups_and_a_small_tank_is_told() -> None:
    # By hand: 15 m3/h over 6.81 m3/h a vessel feeds 2.
    small = sheet(system=CleaningSystem(pump_flow_m3h=15.0, tank_volume_m3=0.4))
    assert (small.vessels, small.groups) == (2, 2)
    assert any("groups" in text for text in small.remarks) and any("tank holds" in text for text in small.remarks)
    asked = sheet(system=CleaningSystem(pump_flow_m3h=15.0), vessels=4)
    assert asked.vessels == 4 and any("too low" in text for text in asked.remarks)
    with pytest.raises(InvalidSettings, match="the stage has 4"):
        sheet(vessels=5)


def test_flow_goes_with_the_cross_section_between_known_diameters() -> None:
    # By hand: (3.9 / 4)^2 * 8 gpm * 0.2271 m3/h per gpm.
    assert vessel_flow_m3h(3.9)[0] == pytest.approx(0.9506 * 8 * 0.22712, rel=1e-3)


@pytest.mark.parametrize(
    ("wishes", "said"),
    [
        ({"ph": (12.5, None), "temperature_c": 40.0}, "pH 12.5 at 40 degC harms"),
        ({"temperature_c": 48.0}, "too hot"),
        ({"pressure_bar": 6.0}, "too much for a cleaning"),
        ({"ph": (1.2, None)}, "at least pH 2"),
    ],
)
def test_dangerous_wishes_are_refused_with_the_reason(wishes: dict[str, object], said: str) -> None:
    assert any(said in finding.why for finding in sheet(**wishes).refused)


def test_cold_is_only_warned_about() -> None:
    found = sheet(temperature_c=14.0)
    assert found.refused == () and any("next to nothing" in finding.why for finding in found.warned)


@pytest.mark.parametrize("foulant", list(PROGRAMMES))
def test_every_programme_makes_a_sheet_that_is_within_the_limits(foulant: str) -> None:
    found = sheet(foulant)
    assert found.refused == () and found.steps[0].title == "Take readings" and found.steps[-1].title == "Prove it"
    assert [step.bath for step in found.steps if step.title == "Mix"] == [b.solution.name for b in found.baths]
    assert all(bath.ph_low <= bath.ph <= bath.ph_high for bath in found.baths)


def test_what_no_cleaning_mends_makes_no_sheet() -> None:
    with pytest.raises(InvalidSettings, match="dechlorination"):
        sheet("oxidation")


def test_the_cautions_name_what_hurts() -> None:
    words = " ".join(CAUTIONS).lower()
    for needed in (
        "not a work permit",
        "goggles",
        "chlorine gas",
        "lock out",
        "neutralise",
        "local codes",
        "never water",
    ):
        assert needed in words
