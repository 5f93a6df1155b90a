"""Causes from hand-made indicators: directions and places after published tables of symptoms (facts of the trade)."""

from datetime import UTC, date, datetime

import numpy as np
import pandas as pd
import pytest

from analytics.judgement.cause import Cause, Context
from analytics.judgement.causes import likely_causes
from analytics.judgement.limits import Indicator
from analytics.judgement.meters import Meter
from analytics.judgement.observed import Layout
from analytics.judgement.signatures import SIGNATURES
from analytics.judgement.vessel_rounds import AGREED, VesselReadings, VesselsSaid, vessels_said
from tests.analytics.judgement.judged_values import drop, flow, salt


def causes(
    *indicators: Indicator,
    meters: tuple[Meter, ...] = (),
    context: Context | None = None,
    daily: pd.DataFrame | None = None,
) -> tuple[Cause, ...]:
    layout = Layout(stages=2, first_share=2 / 3)
    return likely_causes(indicators, meters, context or Context(), layout, daily=daily)


def stage(number: int, *, water: float = 1.0, salty: float = 1.0, channel: float = 1.0) -> tuple[Indicator, ...]:
    scope = f"stage{number}"
    return flow(water, scope=scope), salt(salty, scope=scope), drop(channel, scope=scope)


class TestPatterns:
    """Rows B11 53 to 56 of the facts of the trade: directions from published tables, sizes are judgement."""

    @pytest.mark.parametrize(
        ("first", "last", "named"),
        [
            ({"water": 1.08, "salty": 1.40}, {"water": 1.02, "salty": 1.12}, "oxidation"),
            ({"salty": 1.25}, {}, "seal-leak"),
            ({}, {"water": 0.91, "salty": 1.12, "channel": 1.02}, "scaling"),
            ({"water": 0.94, "channel": 1.30}, {"channel": 1.03}, "biofouling"),
            ({"water": 0.87, "salty": 1.02, "channel": 1.08}, {"water": 0.97}, "metal-oxide"),
            ({"water": 1.04, "salty": 1.20}, {"water": 1.04, "salty": 1.20}, "hydrolysis"),
        ],
    )
    def test_the_cause_that_fits_is_first_or_second(
        self, first: dict[str, float], last: dict[str, float], named: str
    ) -> None:
        found = causes(*stage(1, **first), *stage(2, **last))
        assert named in list(dict.fromkeys(cause.cause for cause in found))[:2]

    def test_nothing_moved_has_no_cause(self) -> None:
        found = causes(*stage(1, water=0.995, salty=1.01), *stage(2))
        assert found[0].cause == "none"
        assert found[0].probability > 0.5

    def test_a_fouled_first_stage_is_not_scaling_of_the_last(self) -> None:
        """Row B11 20: stage 1 has lost a tenth of its flow, stage 2 nothing."""
        found = causes(*stage(1, water=0.90, channel=1.05), *stage(2))
        assert all(cause.cause != "scaling" or cause.probability < 0.1 for cause in found)

    def test_scaling_is_placed_in_the_last_stage(self) -> None:
        found = causes(*stage(1), *stage(2, water=0.88, salty=1.12))
        assert (found[0].cause, found[0].stage) == ("scaling", 2)


class TestRowsAtTheirOwnFigures:
    """Rows B11 53 to 56 of the facts of the trade, with all that each row says: the cause named comes first."""

    def test_oxidation(self) -> None:
        """Salt passage of the train +12 %, flow +8 %, no pressure drop, every vessel of stage 1 high."""
        alike = Context(vessels={1: VesselsSaid(AGREED, "All 4 vessels of stage 1 agree: 118 to 121 µS/cm (1 March).")})
        first = stage(1, water=1.08, salty=1.15)
        found = causes(*first, *stage(2, water=1.03, salty=1.06), context=alike)
        assert found[0].cause == "oxidation" and "cannot be cleaned" in found[0].remedy

    def test_a_leak(self) -> None:
        """Salt passage +25 % in a step, one vessel at 19 deviations, flow as before."""
        vessels = {1: 58.0, 2: 61.0, 3: 59.0, 4: 63.0, 5: 60.0, 6: 118.0}
        one = VesselReadings(datetime(2026, 2, 20, tzinfo=UTC), {1: vessels})
        said = vessels_said([one], [], {1: 6, 2: 3}, day=date(2026, 3, 1), after=date(2025, 6, 30), timezone="UTC")
        days = step_of_salt("stage1", 1.25)
        found = causes(*stage(1, salty=1.25), *stage(2), context=Context(vessels=said), daily=days)
        assert (found[0].cause, found[0].stage) == ("seal-leak", 1)
        assert "vessel 6" in found[0].next_check

    def test_early_scaling(self) -> None:
        """Last stage: flow -9 %, salt passage +12 %, pressure drop +2 %; antiscalant is checked first."""
        found = causes(*stage(1), *stage(2, water=0.91, salty=1.12, channel=1.02))
        assert (found[0].cause, found[0].stage) == ("scaling", 2)
        assert "antiscalant" in found[0].next_check

    def test_biofouling(self) -> None:
        """Stage 1: pressure drop +30 % within three weeks, ever faster, salt passage as before, flow -6 %."""
        days = pd.date_range("2025-11-01", "2026-03-01", freq="D")
        age = np.clip(np.arange(len(days)) - (len(days) - 45), 0, None)
        noise = np.random.default_rng(5).normal(0, 0.01, len(days))
        growth = pd.DataFrame({"stage1_pressure_drop": 1 + 0.30 * (2 ** (age / 10) - 1) / (2**4.4 - 1) + noise}, days)
        found = causes(*stage(1, water=0.94, channel=1.30), *stage(2), daily=growth)
        assert (found[0].cause, found[0].stage) == ("biofouling", 1)


def step_of_salt(scope: str, ratio: float) -> pd.DataFrame:
    """Days on which salt passage has jumped, with 1 % of scatter."""
    days = pd.date_range("2025-11-01", "2026-03-01", freq="D")
    noise = np.random.default_rng(4).normal(0, 0.01, len(days))
    return pd.DataFrame({f"{scope}_salt_passage": np.where(days < "2026-02-10", 1.0, ratio) + noise}, days)


class TestContext:
    def test_chlorine_in_the_feed_speaks_for_oxidation(self) -> None:
        seen = (*stage(1, water=1.04, salty=1.25), *stage(2, water=1.03, salty=1.18))
        context = Context({"oxidation": (4.0, "Free chlorine of up to 0.30 mg/L reached the membranes.")})

        def oxidation(found: tuple[Cause, ...]) -> float:
            return sum(cause.probability for cause in found if cause.cause == "oxidation")

        assert oxidation(causes(*seen, context=context)) > oxidation(causes(*seen))
        named = next(cause for cause in causes(*seen, context=context) if cause.cause == "oxidation")
        assert "Free chlorine of up to 0.30 mg/L reached the membranes." in named.evidence

    def test_another_feed_explains_salt_passage_alone(self) -> None:
        seen = (*stage(1, salty=1.07), *stage(2, salty=1.07))
        unchanged = {c.cause: c.probability for c in causes(*seen)}
        changed = {c.cause: c.probability for c in causes(*seen, context=Context(feed_salinity_change=0.4))}
        assert changed["feed-change"] > unchanged.get("feed-change", 0.0)


class TestMeters:
    METER = Meter("permeate_flow", -0.08, -0.10, -0.06, suspect=True, evidence="the flow balance has moved by +6.0 %")

    def test_a_suspected_meter_outranks_every_fouling(self) -> None:
        found = causes(*stage(1, water=0.85, channel=1.2), *stage(2), meters=(self.METER,))
        assert found[0].cause == "meter"
        assert "permeate flow" in found[0].next_check


class TestForm:
    def test_probabilities_are_a_share_of_one(self) -> None:
        found = causes(*stage(1, water=0.9, channel=1.2), *stage(2))
        assert 0.5 < sum(cause.probability for cause in found) <= 1.0 + 1e-9
        assert [c.probability for c in found] == sorted((c.probability for c in found), reverse=True)

    def test_evidence_gives_numbers_for_and_against(self) -> None:
        found = causes(*stage(1, channel=1.06), *stage(2, water=0.88, salty=1.12))
        scaling = next(cause for cause in found if cause.cause == "scaling")
        assert any("last stage −12 %" in sentence for sentence in scaling.evidence)
        assert any(sentence.startswith("Against it") and "first stage" in sentence for sentence in scaling.evidence)

    def test_nothing_to_compare_gives_no_cause(self) -> None:
        assert causes() == ()

    def test_every_row_of_the_table_can_be_acted_on(self) -> None:
        for signature in SIGNATURES:
            assert signature.check
            assert signature.remedy
            assert signature.minutes > 0
            assert 0 < signature.prior < 1
            effects = (signature.first, signature.last)
            assert max(abs(v) for e in effects for v in (e.water, e.salt, e.friction)) == 1.0


class TestOneStage:
    """A train of one stage is its own lead and its own tail: what begins in the tail elements is seen there, too."""

    LAYOUT = Layout(stages=1, first_share=0.5)

    @pytest.mark.parametrize(
        ("seen", "named"),
        [
            ({"water": 0.86, "salty": 1.16, "channel": 1.05}, "scaling"),
            ({"water": 0.94, "channel": 1.16}, "biofouling"),
            ({"water": 1.06, "salty": 1.30}, "oxidation"),
            ({"salty": 1.30}, "seal-leak"),
        ],
    )
    def test_the_cause_that_fits_is_first_or_second(self, seen: dict[str, float], named: str) -> None:
        moved = (
            flow(seen.get("water", 1.0)),
            salt(seen.get("salty", 1.0)),
            drop(seen.get("channel", 1.0), scope="train"),
        )
        found = likely_causes(moved, (), Context(), self.LAYOUT)
        listed = [cause.cause for cause in found]
        assert named in listed[:2]
        assert len(set(listed)) == len(listed)
        fits = next(cause for cause in found if cause.cause == named)
        assert not any("leave alone" in sentence for sentence in fits.evidence)


class TestCompactionBeginsAtOnce:
    """New elements are pressed together from the first day on; what begins a month later is something else."""

    @pytest.mark.parametrize(("begins", "first"), [(0.0, "compaction"), (45.0, "organic")])
    def test_by_when_it_began(self, begins: float, first: str) -> None:
        days = np.arange(200.0)
        lost = 0.10 * -np.expm1(-np.maximum(days - begins, 0) / 25)
        scatter = np.random.default_rng(5).normal(0, 0.006, len(days))
        daily = pd.DataFrame(
            {"stage1_permeate_flow": np.exp(-lost + scatter)}, pd.date_range("2026-01-01", periods=200)
        )
        found = causes(*stage(1, water=0.90, salty=0.97), *stage(2, water=0.92, salty=0.98), daily=daily)
        assert found[0].cause == first
