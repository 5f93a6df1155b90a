"""The train at the reference conditions: unchanged it is one, changed it is what the march itself makes of it."""

import numpy as np
import pytest

from analytics.condition.balance import complete_streams
from analytics.condition.fit import fit_membranes
from analytics.condition.forces import driving_forces
from analytics.condition.reference_run import Ratios, ReferenceTrain
from analytics.physics.train import StageSetup, run_at_concentrate_flow
from analytics.physics.vessel import Channel, Elements, Water
from tests.analytics.condition.modelled_train import TRAIN_ONLY, plant, readings


def _train(**more: object) -> ReferenceTrain:
    frame = readings(20, **more)  # type: ignore[arg-type]
    balance = complete_streams(frame, plant())
    forces = driving_forces(balance, plant())
    fits = fit_membranes(balance, plant())
    everywhere = np.ones(20, dtype=bool)
    return ReferenceTrain.at_reference(fits, forces[1:], forces[0], balance.feed_temperature_c, plant(), everywhere)


def _changed(water: float = 1.0, salt: float = 1.0, friction: float = 1.0) -> Ratios:
    return Ratios(np.array([water]), np.array([salt]), np.array([friction]))


def test_unchanged_membranes_make_what_they_made() -> None:
    values = _train().indicators([_changed(), _changed()])
    assert len(values) == 9
    assert all(value == pytest.approx(1.0, abs=1e-9) for value in values.values())


def test_the_drop_of_the_train_is_that_of_its_stages_one_after_the_other() -> None:
    train = _train()
    first, second = train.drops_bar()
    found = train.indicators([_changed(friction=1.5), _changed()])["train_pressure_drop"]
    assert found == pytest.approx((1.5 * first + second) / (first + second))


def test_the_change_is_that_of_the_march() -> None:
    """Feed pressure, concentrate flow and salinity held; a tenth less water permeability in both stages."""
    train = _train(temperature_c=18.0)
    found = train.indicators([_changed(0.9, 1.2), _changed(0.9, 1.2)])
    first = train.stages[0]

    def made(factor: float, salt: float) -> tuple[float, float]:
        setups = [
            StageSetup(
                s.vessels,
                Elements(
                    s.area_m2,
                    s.in_series,
                    np.array([s.water_permeability_lmh_bar * factor]),
                    np.array([s.salt_permeability_lmh * salt]),
                    np.array([s.friction_bar]),
                    1.65,
                ),
                np.array([s.permeate_pressure_bar]),
            )
            for s in train.stages
        ]
        feed = Channel(*(np.array([v]) for v in (first.feed_flow_m3h, first.feed_tds_mg_l, first.feed_pressure_bar)))
        kept = np.array([train.stages[-1].concentrate_flow_m3h])
        run = run_at_concentrate_flow(setups, kept, feed, Water(np.array([18.0])))
        return float(run.permeate_flow_m3h[0]), float(run.permeate_tds_mg_l[0])

    before, after = made(1.0, 1.0), made(0.9, 1.2)
    assert float(found["train_permeate_flow"][0]) == pytest.approx(after[0] / before[0], rel=1e-4)
    assert float(found["train_salt_passage"][0]) == pytest.approx(after[1] / before[1], rel=1e-4)


def test_what_is_not_metered_between_stages_is_as_the_train_makes_it() -> None:
    whole, part = _train(), _train(without=TRAIN_ONLY)
    assert part.stages[1].feed_flow_m3h == pytest.approx(whole.stages[1].feed_flow_m3h, rel=1e-3)
    assert part.stages[1].feed_tds_mg_l == pytest.approx(whole.stages[1].feed_tds_mg_l, rel=1e-3)


def test_sensitivities() -> None:
    """A stage's pressure drop is its friction; salt passes in proportion to its permeability, less what it dilutes;
    less flow than permeability is lost, because less flow leaves more pressure to push."""
    slopes = _train().sensitivities()
    assert slopes["stage1_pressure_drop"][0, "friction"] == pytest.approx(1.0)
    assert slopes["stage1_pressure_drop"][0, "water"] == 0.0
    both = sum(slopes["train_salt_passage"][number, "salt"] for number in (0, 1))
    assert both == pytest.approx(1.0, abs=0.05)
    water = sum(slopes["train_permeate_flow"][number, "water"] for number in (0, 1))
    assert 0.5 < water < 0.95
