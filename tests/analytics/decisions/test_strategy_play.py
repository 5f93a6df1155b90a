"""Ways side by side, on a train whose answer is known from the plain membrane model."""

from dataclasses import replace

import numpy as np
import pytest

from analytics.decisions.strategies import STRATEGIES, Ageing, Course, Terms
from analytics.decisions.strategy_play import play
from tests.analytics.decisions.small_model import MODEL

STILL = Ageing(0.0, 0.0, 0.0, 0.0)
TERMS = Terms(30.0, 0.75, 25.0, 25.0, years=3, cleanings_per_year=2.0)


def courses(ageing: list[Ageing], terms: Terms, *names: str) -> dict[str, Course]:
    chosen = [one for one in STRATEGIES if not names or one.name in names]
    return {course.strategy.name: course for course in play(MODEL, ageing, terms, chosen)}


def test_membranes_that_do_not_age_need_nothing() -> None:
    for course in courses([STILL, STILL], TERMS).values():
        assert sum(course.renewed) == 0
        assert course.keeps_contract


def test_energy_is_pressure_times_feed() -> None:
    """At the reference with 5 % mean fouling: p x 40 m3/h / 36 / 0.65 x 8760 h x 0.9."""
    course = courses([STILL, STILL], TERMS, "whole")["whole"]
    kw = course.energy_kwh[0] / (8760 * 0.9)
    assert kw == pytest.approx(course.pressure_bar[0] * 40.0 / 36.0 / 0.65, rel=1e-6)
    assert course.feed_m3[0] == pytest.approx(40.0 * 8760 * 0.9)


def test_a_damaged_stage_is_renewed_before_the_contract_is_broken() -> None:
    damaged = replace(STILL, salt_loss=float(np.log(2.5)))
    found = courses([damaged, STILL], replace(TERMS, product_salt=1.4), "stage", "whole", "tail")
    assert found["stage"].renewed == (24, 0, 0)
    assert found["whole"].renewed == (36, 0, 0)
    assert found["stage"].keeps_contract
    assert found["tail"].renewed[0] == 36  # the tail is not where it is: then all, each element once


def test_the_tail_alone_is_renewed_where_that_is_enough() -> None:
    scaled = replace(STILL, salt_loss=0.6, profile="tail")
    found = courses([STILL, scaled], replace(TERMS, product_salt=1.3), "tail", "thirds")
    assert found["tail"].renewed == (4, 0, 0)
    assert found["thirds"].renewed[0] == 12


def test_rotating_moves_and_buys_nothing_where_it_is_enough() -> None:
    """New membranes at the tail make fresher water than at the lead: the salt is there."""
    worn = Ageing(0.05, 0.5, 0.0, 0.0, "tail")
    before = courses([worn, worn], TERMS, "rotate")["rotate"].product[0]
    found = courses([worn, worn], replace(TERMS, product_salt=before - 0.01), "rotate", "whole")
    assert found["rotate"].renewed == (0, 0, 0)
    assert found["rotate"].moved == (24, 0, 0)
    assert found["whole"].renewed[0] == 36


def test_more_pressure_and_less_recovery_put_renewal_off() -> None:
    ageing = [Ageing(0.0, 0.0, 0.12, 0.0)] * 2
    found = courses(ageing, replace(TERMS, most_pressure_bar=13.5, permeability=0.3), "whole", "pressure")
    assert found["whole"].renewed[1] == 36
    assert sum(found["pressure"].renewed[:2]) == 0
    salty = [Ageing(0.0, 0.0, 0.0, 0.10)] * 2
    found = courses(salty, replace(TERMS, product_salt=1.25), "whole", "recovery")
    assert (found["whole"].renewed, found["recovery"].renewed) == ((0, 0, 36), (0, 0, 0))
    assert found["recovery"].feed_m3[0] == pytest.approx(30 / 0.70 * 8760 * 0.9)


def test_cleaning_twice_as_often_slows_the_loss_and_costs_cleanings() -> None:
    ageing = [Ageing(0.0, 0.0, 0.10, 0.0)] * 2
    found = courses(ageing, replace(TERMS, permeability=0.2), "whole", "clean")
    assert found["clean"].cleanings == (4.0,) * 3
    assert found["clean"].pressure_bar[-1] < found["whole"].pressure_bar[-1]
    assert found["clean"].renewed == found["whole"].renewed == (0, 0, 0)


def test_what_no_way_can_keep_is_said() -> None:
    found = courses([STILL, STILL], replace(TERMS, product_salt=0.5), "whole")
    assert found["whole"].kept == (False,) * 3
