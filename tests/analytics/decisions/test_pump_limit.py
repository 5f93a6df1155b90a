"""A pump that is just enough leaves no flow to lose; a stronger one does."""

import numpy as np
import pytest

from analytics.decisions.pump_limit import flow_ratio_at_pump_limit
from analytics.decisions.train_model import Duty
from tests.analytics.decisions.small_model import MODEL


def test_a_pump_that_is_just_enough_leaves_no_flow_to_lose() -> None:
    same = np.ones((6, 1))
    now = float(MODEL.needs(Duty(30.0, 0.75, 25.0), same, same, same).feed_pressure_bar[0])
    assert flow_ratio_at_pump_limit(MODEL, Duty(30.0, 0.75, 25.0), now) == pytest.approx(1.0, abs=0.002)
    more = flow_ratio_at_pump_limit(MODEL, Duty(30.0, 0.75, 25.0), 1.3 * now)
    assert more is not None and 0.7 < more < 0.85
    assert flow_ratio_at_pump_limit(MODEL, Duty(30.0, 0.75, 10.0), now) > 1.0
