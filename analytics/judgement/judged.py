"""All indicators of one method judged: trends, runs and where each stands."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

import pandas as pd

from analytics.events import Event
from analytics.judgement.closure import closure_error
from analytics.judgement.limits import Indicator, judge_indicator
from analytics.judgement.run_facts import RunFact, run_facts
from analytics.judgement.runs import Run, split_runs
from analytics.judgement.season import Season, sensitivity
from analytics.judgement.trend import Trend, fit_trend
from analytics.plant import Plant

STALE_DAYS = 30
"""What has not been known for longer says nothing of today; common practice, no source. [d]"""
NAMES = ("permeate_flow", "salt_passage", "pressure_drop")


@dataclass(frozen=True)
class Judged:
    """Trends and indicators in the order of the scopes; `runs` are those of the train."""

    trends: tuple[Trend, ...]
    indicators: tuple[Indicator, ...]
    runs: tuple[Run, ...]


def judge_days(
    daily: pd.DataFrame,
    plant: Plant,
    events: Sequence[Event],
    *,
    season: Season,
    temperature_corrected: bool,
    modelled: Sequence[str] = (),
    levels: pd.DataFrame | None = None,
    errors: pd.DataFrame | None = None,
    osmotic: Mapping[str, float] = MappingProxyType({}),
) -> Judged:
    """Judge the daily indicators.

    Parameters
    ----------
    daily : DataFrame
        `<scope>_<indicator>` by local day, days out of line NaN. [-]
    plant : Plant
    events : sequence of Event
    season : Season
        What the standard method's allowance for the season is made from.
    temperature_corrected : bool
    modelled : sequence of str
        Columns that come from the membrane model, which needs no allowance.
    levels, errors : DataFrame, optional
        Smoothed levels and their standard errors of those columns. [-]
    osmotic : mapping, optional
        Scope -> osmotic over net driving pressure in the reference. [-]
    """
    if not len(daily):
        return Judged((), (), ())
    first, last = daily.index[0], daily.index[-1]
    trends: list[Trend] = []
    indicators: list[Indicator] = []
    runs: dict[str, tuple[Run, ...]] = {}
    for scope in plant.train.scopes:
        runs[scope] = split_runs(first, last, events, plant.site.timezone, scope=scope)
        for name in NAMES:
            column = f"{scope}_{name}"
            if column not in daily.columns or not _is_judged(column, list(daily.columns), modelled, plant):
                continue
            closure = closure_error(name, osmotic.get(scope, 0.0), modelled=column in modelled)
            drift = 0.0 if column in modelled else _sensitivity(scope, name, plant)
            trend = fit_trend(
                daily[column],
                runs[scope],
                scope=scope,
                name=name,
                drift_per_day=drift * season.warming_per_day,
                smoothed=_own_levels(column, modelled, levels, errors),
            )
            if trend is not None and (last - pd.Timestamp(trend.last)).days <= STALE_DAYS:
                trends.append(trend)
                indicators.append(
                    judge_indicator(
                        trend,
                        plant.train.limits,
                        temperature_corrected=temperature_corrected,
                        drift=drift * season.warmer,
                        closure=closure,
                    )
                )
    return Judged(tuple(trends), tuple(indicators), runs["train"])


def describe_runs(
    daily: pd.DataFrame, trends: Sequence[Trend], plant: Plant, events: Sequence[Event], *, temperature_corrected: bool
) -> tuple[RunFact, ...]:
    """What each run did to the indicators whose trends are given; the rest as for `judge_days`."""
    facts: list[RunFact] = []
    for trend in trends:
        facts += run_facts(
            daily[f"{trend.scope}_{trend.name}"],
            trend,
            split_runs(daily.index[0], daily.index[-1], events, plant.site.timezone, scope=trend.scope),
            falling_is_bad=trend.name == "permeate_flow",
            comparable=temperature_corrected or trend.name == "pressure_drop",
        )
    return tuple(facts)


def _own_levels(
    column: str, modelled: Sequence[str], levels: pd.DataFrame | None, errors: pd.DataFrame | None
) -> pd.DataFrame | None:
    if column not in modelled or levels is None or errors is None:
        return None
    return pd.DataFrame({"level": levels[column], "error": levels[column] * errors[column]})


def _sensitivity(scope: str, name: str, plant: Plant) -> float:
    return sensitivity(scope, name, viscosity_corrected=plant.train.method.pressure_drop_viscosity)


def _is_judged(column: str, columns: Sequence[str], modelled: Sequence[str], plant: Plant) -> bool:
    """Pressure drop of a whole train of several stages is no single power of flow, so that only the model can give it;
    where each stage has its own, it says no more than they do."""
    stages = plant.train.scopes[1:]
    if column != "train_pressure_drop" or len(stages) == 1:
        return True
    return column in modelled and not all(f"{stage}_pressure_drop" in columns for stage in stages)
