"""Steps and what explains them: a logged event of about the same day, or a question to the people of the plant."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from analytics.events import INTERVENTIONS, STEP, UNEXPLAINED, Event
from analytics.judgement.steps import CLEAR, Jump, Step
from analytics.judgement.words import all_of, day_and_month, percent_change, plain_date, scope_name

NEAR_DAYS = 4
"""An event within so many days of a step explains it: logs are written up late, and levels settle. Common practice, no
source. [d]"""
SHOWN = 0.01
MOST_SAID = 3
_SALT = "_salt_passage"
NAMES = {"permeate_flow": "permeate flow", "salt_passage": "salt passage", "pressure_drop": "pressure drop"}
LIKELY_SALINITY, LIKELY_FLOW, LIKELY_RECOVERY = 0.12, 0.05, 0.02
"""Steps of the feed's salinity and of permeate flow (as shares), and of recovery (in points), that speak for another
source or another set-point; common practice, no source. [-]"""
BESIDE_DAYS = 10
ALL_SALT = (
    "salt passage rose in all stages: a feed conductivity cell that reads low, another source of water, or damage by"
    " oxidant or cleaning. Hold a portable cell into feed and permeate first; where the cells are right, have the feed"
    " analysed; where that is as before, measure the permeate of each vessel: all alike high means damage"
)
SOME_SALT = (
    "salt passage rose{place}: a permeate conductivity cell that reads high, a seal that leaks, or damage by oxidant or"
    " cleaning. Hold a portable cell into the permeate first; where the cell is right, measure the permeate of each"
    " vessel: one that stands out leaks, all alike high means damage"
)
"""What a jump of salt passage may be, and the checks that tell it, the shortest first: published tables of symptoms,
causes and corrective measures; another mix of ions moves it by up to a tenth (facts of the trade)."""


@dataclass(frozen=True)
class ExplainedStep:
    """A step with what explains it.

    Attributes
    ----------
    step : Step
    stage : int or None
        Where only one stage moved.
    explained_by : str
        Kind of the event that explains it; empty where nothing was logged.
    answered : bool
        Somebody has been asked, or had logged it: there is no question left.
    likely : str
        Kind of event that goes best with what moved; empty where several are as likely.
    why : str
        What speaks for it, in words; of several, which they are and what tells them apart.
    """

    step: Step
    stage: int | None
    explained_by: str
    answered: bool
    likely: str
    why: str

    @property
    def moved(self) -> tuple[Jump, ...]:
        """Jumps that stand out."""
        return tuple(jump for jump in self.step.jumps if abs(jump.size) >= max(SHOWN, 3 * jump.error))


def explain_steps(
    steps: Sequence[Step], events: Sequence[Event], operation: pd.DataFrame, *, timezone: str
) -> tuple[ExplainedStep, ...]:
    """Find what explains each step.

    Parameters
    ----------
    steps : sequence of Step
    events : sequence of Event
    operation : DataFrame
        `feed_tds_mg_l`, `permeate_flow_m3h` and `recovery` by local day, as far as they are known.
    timezone : str
    """
    dated = [(local_day(event, timezone), event) for event in events]
    return tuple(_explained(step, dated, operation) for step in steps)


def local_day(event: Event, timezone: str) -> pd.Timestamp:
    """Local day of an event, without time zone."""
    return pd.Timestamp(event.time).tz_convert(timezone).tz_localize(None).floor("D")


def as_events(steps: Sequence[ExplainedStep], timezone: str) -> tuple[Event, ...]:
    """Steps as events that end a run: `detail` is the kind of the event that explains them."""
    return tuple(
        Event(
            (one.step.day + pd.Timedelta(hours=12)).tz_localize(timezone).tz_convert("UTC").to_pydatetime(),
            STEP,
            one.stage,
            one.explained_by,
        )
        for one in steps
    )


def renewals(steps: Sequence[ExplainedStep], events: Sequence[Event], timezone: str) -> tuple[pd.Timestamp, ...]:
    """Days on which something was cleaned or exchanged, by the log or by what came back from one day to the next."""
    logged = [local_day(event, timezone) for event in events if event.ends_run]
    unlogged = [one.step.day for one in steps if not one.answered and one.likely == "cleaning"]
    return tuple(sorted({*logged, *unlogged}))


def other_steps(steps: Sequence[ExplainedStep]) -> tuple[pd.Timestamp, ...]:
    """Days of the steps at which nothing was exchanged or cleaned."""
    return tuple(one.step.day for one in steps if one.likely != "cleaning" and one.explained_by not in INTERVENTIONS)


def _explained(step: Step, dated: Sequence[tuple[pd.Timestamp, Event]], operation: pd.DataFrame) -> ExplainedStep:
    near = [
        (abs((day - step.day).days), event)
        for day, event in dated
        if abs((day - step.day).days) <= NEAR_DAYS and (event.kind != "note" or event.detail.startswith(UNEXPLAINED))
    ]
    event = min(near, key=lambda one: one[0])[1] if near else None
    likely, why = _likely(step, operation)
    return ExplainedStep(
        step=step,
        stage=event.stage if event is not None and event.stage else _only_stage(step),
        explained_by="" if event is None or event.kind == "note" else event.kind,
        answered=event is not None,
        likely=likely,
        why=why,
    )


def _only_stage(step: Step) -> int | None:
    moved = [jump.column for jump in step.jumps if abs(jump.size) > CLEAR / 2 * jump.error]
    stages = {column.split("_")[0] for column in moved if column.startswith("stage")}
    elsewhere = any(column.endswith("balance") for column in moved)
    return int(stages.pop().removeprefix("stage")) if len(stages) == 1 and not elsewhere else None


def _likely(step: Step, operation: pd.DataFrame) -> tuple[str, str]:
    least = min(CLEAR, max((abs(jump.size) / jump.error for jump in step.jumps), default=CLEAR))
    clear = [jump for jump in step.jumps if abs(jump.size) >= least * jump.error]
    if any(jump.column.endswith("balance") for jump in clear):
        return "meter-calibration", "a balance of flow or salt jumped with it"
    tds = _change(operation, "feed_tds_mg_l", step.day, relative=True)
    if abs(tds) >= LIKELY_SALINITY:
        return "source-change", f"the salinity of the feed went {'up' if tds > 0 else 'down'} by {abs(100 * tds):.0f} %"
    recovery = _change(operation, "recovery", step.day, relative=False)
    flow = _change(operation, "permeate_flow_m3h", step.day, relative=True)
    set_anew = abs(recovery) >= LIKELY_RECOVERY or abs(flow) >= LIKELY_FLOW
    if set_anew and not any(abs(jump.size) > max(abs(recovery), abs(flow)) + CLEAR * jump.error for jump in clear):
        return "set-point-change", "flow or recovery was set to another value"
    bad = [_sign(jump) * jump.size < 0 for jump in clear if not jump.column.endswith("salt_passage")]
    if bad and not any(bad) and not _leaks(clear):
        return "cleaning", "what fouling had taken came back"
    if (len(clear) == 1 or bad) and not _leaks(clear):
        return "meter-calibration", "fouling does not come in a day"
    return "", _salt_words(step) if _leaks(clear) else ""


def _salt_words(step: Step) -> str:
    """What a jump of salt passage may be, by where it is seen."""
    salt = {jump.column: jump.size > CLEAR / 2 * jump.error for jump in step.jumps if jump.column.endswith(_SALT)}
    stages = {column: rose for column, rose in salt.items() if column.startswith("stage")}
    if len(stages) > 1 and all(stages.values()):
        return ALL_SALT
    where = [scope_name(column.removesuffix(_SALT)) for column, rose in stages.items() if rose]
    return SOME_SALT.format(place=f" in {where[0]} alone" if len(where) == 1 < len(stages) else "")


def _leaks(clear: Sequence[Jump]) -> bool:
    """Whether salt passage rose by more than anything else moved: damage comes in a day, as cleanings do."""
    first = max(clear, key=lambda jump: abs(jump.size), default=None)
    return first is not None and first.column.endswith("salt_passage") and first.size > 0


def _sign(jump: Jump) -> int:
    """Direction that is good news."""
    return 1 if jump.column.endswith("permeate_flow") else -1


def _change(operation: pd.DataFrame, name: str, day: pd.Timestamp, *, relative: bool) -> float:
    """Step of an operating condition beyond three times its own scatter; zero where it stayed, or is not known."""
    if name not in operation.columns:
        return 0.0
    span = pd.Timedelta(days=BESIDE_DAYS)
    known = operation[name].dropna()
    before, after = known[(known.index >= day - span) & (known.index < day)], known[day : day + span]
    if min(len(before), len(after)) < 3:
        return 0.0
    scatter = float(np.hypot(before.std() / len(before) ** 0.5, after.std() / len(after) ** 0.5))
    change = float(after.median() - before.median())
    if abs(change) < 3 * scatter:
        return 0.0
    return change / float(before.median()) if relative and before.median() else change


def step_words(one: ExplainedStep) -> str:
    """What moved, in a sentence.

    Examples
    --------
    >>> jump = Jump("stage1_permeate_flow", 0.0667, 0.004)
    >>> step_words(ExplainedStep(Step(pd.Timestamp("2026-03-01"), 9.0, (jump,)), 1, "", False, "", ""))
    'On 1 March 2026, from one day to the next: permeate flow of stage 1 up 6.9 %.'
    """
    said = [f"{_in_words(jump.column)} {percent_change(float(np.exp(jump.size)))}" for jump in one.moved[:MOST_SAID]]
    moved = all_of(said)
    day = one.step.day.date()
    if one.step.pause_days > 1:
        before = (one.step.day - pd.Timedelta(days=one.step.pause_days)).date()
        return f"Between {day_and_month(before, day)} and {plain_date(day)}: {moved}."
    return f"On {plain_date(day)}, from one day to the next: {moved}."


def _in_words(column: str) -> str:
    scope, name = column.split("_", 1)
    return f"the {scope} balance" if name == "balance" else f"{NAMES[name]} of {scope_name(scope)}"
