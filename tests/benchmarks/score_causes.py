"""Confusion matrix of the causes on simulated plants: `uv run python -m tests.benchmarks.score_causes`."""

import pandas as pd

from analytics.assess import assess
from demo_data.simulator.scenario import simulate
from tests.benchmarks.caused import METERING, caused_plants


def answers(*, rounds: int = 2, seed: int = 11, two_meterings: bool = False) -> pd.DataFrame:
    """By plant: the true cause, the likeliest answer, whether the truth is first, or among the first two, the level.

    With `two_meterings`, every cause is met with two of the three sets of meters, another one left out each time.
    """
    rows = []
    for number, caused in enumerate(caused_plants(rounds=rounds, seed=seed)):
        cause, metering = divmod(number, len(METERING))
        if two_meterings and metering == cause % len(METERING):
            continue
        result = simulate(caused.scenario)
        assessment = assess(result.plant, result.readings, result.events)
        named = list(dict.fromkeys(cause.cause for cause in assessment.causes))
        rows.append(
            {
                "truth": caused.cause,
                "answer": named[0] if named else "",
                "first": caused.cause in named[:1],
                "first two": caused.cause in named[:2],
                "level": assessment.verdict.level,
            }
        )
    return pd.DataFrame(rows)


if __name__ == "__main__":
    table = answers(rounds=7)
    print(f"{len(table)} plants")
    print(pd.crosstab(table["truth"], table["answer"]).to_string())
    print(table.groupby("truth")[["first", "first two"]].mean().round(2).to_string())
    print(table[["first", "first two"]].mean().round(3).to_string())
    print(table[table["truth"] == "none"]["level"].value_counts().to_string())
