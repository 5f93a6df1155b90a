"""The one call: readings, truth, events and plant from a scenario."""

import doctest
import time
from dataclasses import replace
from datetime import UTC, date

import numpy as np
import pandas as pd
import pytest

from analytics.quantities import COLUMNS
from demo_data.simulator import scenario as module
from demo_data.simulator.ageing import scaling
from demo_data.simulator.design import Design, Element, Stage
from demo_data.simulator.meters import Drift, Meter
from demo_data.simulator.scenario import WELL_METERED, Happening, Scenario, simulate, span_of
from demo_data.simulator.shifts import Diary

SHORT = Scenario(days=40)


def test_the_example_in_the_docstring_runs() -> None:
    result = doctest.testmod(module)
    assert result.attempted > 0
    assert result.failed == 0


@pytest.mark.alone
def test_a_year_of_three_readings_a_day_takes_less_than_a_second() -> None:
    begin = time.process_time()
    result = simulate(Scenario(days=365, typing_mistakes=0.001))
    assert len(result.readings) == 1095
    assert time.process_time() - begin < 1.0


def test_readings_are_what_the_analytics_take() -> None:
    readings = simulate(replace(SHORT, remarks=True)).readings
    assert readings.index.name == "taken_at"
    assert str(readings.index.dtype) == "datetime64[us, UTC]"
    assert set(readings.columns) - {"state", "remark"} == set(WELL_METERED) <= set(COLUMNS)
    assert all(readings[column].dtype == np.float64 for column in WELL_METERED)
    assert set(readings["state"]) == {"running"}


def test_the_same_seed_gives_the_same_and_another_does_not() -> None:
    first, again, other = (simulate(replace(SHORT, seed=seed)).readings for seed in (1, 1, 2))
    pd.testing.assert_frame_equal(first, again)
    assert (first["feed_pressure_bar"] != other["feed_pressure_bar"]).any()


def test_without_noise_readings_are_exact() -> None:
    result = simulate(replace(SHORT, noise=False, typing_mistakes=0.5))
    assert result.mistakes == ()
    for column in WELL_METERED:
        np.testing.assert_allclose(result.readings[column], result.exact[column], rtol=1e-12)


def test_noise_changes_what_is_shown_and_nothing_else() -> None:
    quiet, loud = simulate(replace(SHORT, noise=False)), simulate(SHORT)
    pd.testing.assert_frame_equal(quiet.exact, loud.exact)
    pd.testing.assert_frame_equal(quiet.truth, loud.truth)
    assert (quiet.readings["permeate_flow_m3h"] != loud.readings["permeate_flow_m3h"]).any()


def test_drift_stays_without_noise_and_the_true_flow_rises() -> None:
    drifting = dict(WELL_METERED) | {"permeate_flow_m3h": Meter("m3/h", 0.1, drift=Drift(0.0, 39.0, -0.08))}
    result = simulate(replace(SHORT, noise=False, meters=drifting))
    shown, true = result.readings["permeate_flow_m3h"], result.exact["permeate_flow_m3h"]
    assert shown.iloc[-1] / true.iloc[-1] == pytest.approx(0.92)
    assert true.iloc[-9:].mean() > 1.05 * true.iloc[:9].mean()


def test_mistakes_are_in_the_readings_in_canonical_units() -> None:
    in_psi = dict(WELL_METERED) | {"feed_pressure_bar": Meter("psi", 1.0, noise=0.5)}
    result = simulate(replace(SHORT, days=100, meters=in_psi, typing_mistakes=0.01))
    assert len(result.mistakes) > 20
    for mistake in result.mistakes:
        assert result.typed.loc[mistake.taken_at, mistake.column] == mistake.typed
    pressure = result.typed["feed_pressure_bar"] * 0.0689475729
    np.testing.assert_allclose(result.readings["feed_pressure_bar"], pressure, rtol=1e-8)


def test_truth_takes_its_reference_from_the_given_days() -> None:
    ageing = (scaling(2, flow_loss=0.2, over_days=40.0),)
    early = simulate(replace(SHORT, ageing=ageing, reference=(date(2025, 8, 1), date(2025, 8, 1)))).truth
    late = simulate(replace(SHORT, ageing=ageing, reference=(date(2025, 9, 9), date(2025, 9, 9)))).truth
    # A fifth is lost on average; the scaled tail makes less than the head, so that a little less of the flow is lost.
    assert early["stage2_permeate_flow"].iloc[-1] == pytest.approx(0.80, abs=0.02)
    assert late["stage2_permeate_flow"].iloc[0] == pytest.approx(1 / 0.80, abs=0.03)
    pd.testing.assert_series_equal(
        early["stage2_water_permeability_lmh_bar"], late["stage2_water_permeability_lmh_bar"]
    )


def test_events_are_utc_and_in_order() -> None:
    story = replace(SHORT, happenings=(Happening(20.5, "cleaning", "acid", 2), Happening(3.25, "note", "first")))
    events = simulate(story).events
    assert [event.kind for event in events] == ["note", "cleaning"]
    assert events[1].stage == 2
    assert events[0].time.astimezone(UTC).isoformat() == "2025-08-04T04:00:00+00:00"  # 06:00 in Vienna


def test_plant_is_the_design_without_its_truth() -> None:
    design = Design((Stage(3, 7), Stage(2, 6, Element(water_permeability_lmh_bar=9.0), booster_bar=2.0)))
    meters = {name: WELL_METERED[name] for name in ("feed_pressure_bar", "permeate_flow_m3h")}
    reference = (date(2025, 8, 2), date(2025, 8, 20))
    plant = simulate(replace(SHORT, design=design, meters=meters, reference=reference)).plant
    assert [(stage.vessels, stage.elements_per_vessel, stage.booster) for stage in plant.train.stages] == [
        (3, 7, False),
        (2, 6, True),
    ]
    assert plant.train.stages[1].membrane.water_permeability_lmh_bar is None
    assert plant.train.reference is not None
    assert plant.train.reference.end == date(2025, 8, 20)


def test_gaps_and_states_reach_the_readings() -> None:
    diary = Diary(standstills=(span_of(SHORT.start, date(2025, 8, 11), date(2025, 8, 12)),))
    readings = simulate(replace(SHORT, diary=diary, remarks=True)).readings
    assert readings["state"].value_counts().to_dict() == {"running": 113, "stopped": 2, "starting": 1}
    stopped = readings[readings["state"] == "stopped"]
    assert (stopped["permeate_flow_m3h"] == 0).all()
    assert (stopped["remark"] == "plant standing").all()
