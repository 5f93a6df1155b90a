"""Score every method against simulated truth.

    uv run python -m tests.benchmarks.score_model                    the 21 plants of decision 10
    uv run python -m tests.benchmarks.score_model stories 101        as many of another seed
    uv run python -m tests.benchmarks.score_model wide 101 30        so many plants drawn widely (`wide_plants`)
    uv run python -m tests.benchmarks.score_model varied 101 40      so many with meters missing (`varied_plants`)

Prints the root mean square errors of ten-day means in per cent, by plant, cause and metering: the standard method over
the train, the same stage by stage, the model with the slopes of the data sheet, the model with what the log has taught,
and its smoothed level; then their means, and how often the model's 90 % intervals hold the truth.
"""

import sys
from collections.abc import Iterator, Mapping

import numpy as np
import pandas as pd

from analytics.assess import assess
from analytics.assessment import Assessment
from analytics.condition.parameter_days import parameter_name
from analytics.condition.reference_run import PARAMETERS, Ratios
from analytics.judgement.both_methods import STANDARD_PREFIX
from demo_data.simulator.scenario import simulate
from demo_data.simulator.train import NoSolution
from tests.benchmarks.plants import Known, known_plants, true_at_reference
from tests.benchmarks.varied_plants import varied_plants
from tests.benchmarks.wide_plants import wide_plants

SMOOTHING_DAYS = 10
SCORED = ("train_permeate_flow", "train_salt_passage", "stage1_pressure_drop", "stage2_pressure_drop")
BARS = dict(zip(SCORED, (0.01, 0.02, 0.015, 0.015), strict=True))
INTERVAL = 1.645
"""Standard errors to each side that hold 90 % of a normal distribution. [-]"""
METHODS = ("standard", "per stage", "fixed slopes", "model", "level")


def scores(plants: Iterator[Known] | None = None) -> pd.DataFrame:
    """Root mean square error of each indicator, by plant: columns (method, indicator), and ("inside", indicator) for
    the share of days after the reference whose interval holds the truth. [-]"""
    rows = {}
    for known in plants or known_plants():
        try:
            result = simulate(known.scenario)
        except NoSolution:
            continue
        assessment = assess(result.plant, result.readings, result.events)
        truth = true_at_reference(known, result)
        found = {method: _by_method(assessment, method) for method in METHODS}
        row = {
            (method, name): _rms(found[method][name], truth[name], smooth=method != "level")
            for method in METHODS
            for name in found[method].keys() & truth.keys()
        }
        rows[known.name, known.cause, known.metering] = row | _inside(known, assessment, truth)
    table = pd.DataFrame.from_dict(rows, orient="index")
    table.index = pd.MultiIndex.from_tuples(table.index, names=["plant", "cause", "metering"])
    table.columns = pd.MultiIndex.from_tuples(table.columns)
    return table


def _by_method(assessment: Assessment, method: str) -> Mapping[str, pd.Series]:
    daily, model = assessment.daily, assessment.model
    names = [name for name in daily.columns if not name.endswith(("_spread", "_count"))]
    plain = {name: daily[name] for name in names if not name.startswith(STANDARD_PREFIX)}
    if method == "standard":
        return plain | {name.removeprefix(STANDARD_PREFIX): daily[name] for name in names if name not in plain}
    if method == "per stage":
        return _stages_together(assessment, _by_method(assessment, "standard"))
    if model is None:
        return {}
    if method == "model":
        return {name: model.daily[name] for name in model.daily}
    return {name: model.level[name] for name in model.level} if method == "level" else _fixed_slopes(assessment)


def _stages_together(assessment: Assessment, standard: Mapping[str, pd.Series]) -> dict[str, pd.Series]:
    """The train from its stages, each weighted by what it made in the reference: water, or salt."""
    stages = assessment.log.conditions[1:]
    result = {}
    for name, parts in (("permeate_flow", ("flow",)), ("salt_passage", ("flow", "salt"))):
        columns = [f"{stage.scope}_{name}" for stage in stages]
        if not stages or any(column not in standard for column in columns):
            continue
        made = {"flow": "permeate_flow_m3h", "salt": "permeate_tds_mg_l"}
        weights = np.array([np.prod([stage[made[part]] for part in parts]) for stage in stages])
        if np.isfinite(weights).all():
            together = sum(w * standard[column] for w, column in zip(weights / weights.sum(), columns, strict=True))
            result[f"train_{name}"] = pd.Series(together)
    return result


def _fixed_slopes(assessment: Assessment) -> dict[str, pd.Series]:
    """The model's parameters as fitted, with the temperature slopes and exponents of the data sheet."""
    model, days = assessment.model, assessment.days
    assert model is not None
    assert assessment.log.reference is not None
    index = model.level.index
    within = index.isin(assessment.log.days[assessment.log.reference.within])
    ratios = []
    for number in range(len(model.parameters)):
        found = {}
        for what in PARAMETERS:
            column = parameter_name(number, what)
            known = days[column].reindex(index) if column in days else None
            found[what] = None if known is None else np.exp(np.asarray(known - known[within].mean()))
        ratios.append(Ratios(**found))
    values = model.train.indicators(ratios)
    return {name: pd.Series(values[name], index=index) for name in model.level.columns if name in values}


def _inside(known: Known, assessment: Assessment, truth: pd.DataFrame) -> dict[tuple[str, str], float]:
    model, (_, last) = assessment.model, known.scenario.reference or (None, None)
    if model is None or last is None:
        return {}
    index = model.level.index[model.level.index > pd.Timestamp(last)]
    level, error, true = model.level.reindex(index), model.error.reindex(index), truth.reindex(index)
    off = {name: np.abs(np.log(level[name] / true[name]) / error[name]).dropna() for name in level if name in true}
    return {("inside", name): float((values < INTERVAL).mean()) for name, values in off.items()}


def _rms(found: pd.Series, truth: pd.Series, *, smooth: bool) -> float:
    values = found.rolling(SMOOTHING_DAYS, center=True, min_periods=3).mean() if smooth else found
    error = values / truth.reindex(values.index) - 1
    return float(np.sqrt(np.nanmean(error**2)))


def _print(table: pd.DataFrame) -> None:
    percent = (100 * table).round(2)
    names = sorted({name for _, name in table.columns}, key=lambda name: (not name.startswith("train"), name))
    for name in names:
        one = percent.xs(name, axis=1, level=1)
        print(f"\n{name}\n{one.droplevel(['cause', 'metering']).to_string()}")
        for by in ("cause", "metering"):
            groups = one.groupby(level=by)
            print(f"\n{name} by {by}\n{groups.mean().assign(plants=groups.size()).round(2).to_string()}")
    means = {kind: percent[kind].mean() for kind in (*METHODS, "inside") if kind in percent}
    counts = percent["level"].notna().sum().rename("plants")
    print("\nMean of all plants\n" + pd.concat([pd.DataFrame(means).round(2), counts], axis=1).to_string())


def _chosen(kind: str = "stories", seed: str = "7", count: str = "40") -> Iterator[Known]:
    if kind == "stories":
        return known_plants(seed=int(seed))
    return {"wide": wide_plants, "varied": varied_plants}[kind](int(count), seed=int(seed))


if __name__ == "__main__":
    _print(scores(_chosen(*sys.argv[1:])))
