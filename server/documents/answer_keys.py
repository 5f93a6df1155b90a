"""What each key of `skidbook assess --json` means, for docs/files.md. A test asks that a real answer has no other."""

ANSWER_KEYS = {
    "format": "`skidbook-assessment-1`. Keys stay as they are; more may be added.",
    "version": "Version of the program.",
    "method": "Method that the indicators rest on.",
    "site, train": "As the plant file names them.",
    "as_of": "Nothing later was looked at; the last reading where `--as-of` is not given. Times are UTC.",
    "span": "First and last reading; null without readings.",
    "verdict.level": "`steady`, `watch`, `plan cleaning`, `act now`, `check a meter` or `not enough data`.",
    "verdict.headline, verdict.reasons": "The answer in one sentence, and what it rests on.",
    "verdict.grounds": "What the verdict rests on beside the indicators, so that it can be worked out again: the "
    "local day, absolute limits passed (`dangers`), meters that are off or in doubt, what the cleanings so far say "
    "(`root_cause`), the probability that `nothing` has changed, and why nothing can be compared (`unknown`).",
    "reference": "Days, readings and conditions that all is compared with, and how they were chosen; null without.",
    "indicators[]": "One for each scope and name. Values are ratios to the reference.",
    "indicators[].scope": "`train`, `stage1`, `stage2`, ...",
    "indicators[].name": "`permeate_flow`, `salt_passage` or `pressure_drop`.",
    "indicators[].value, low, high": "Where it stands today, with its interval.",
    "indicators[].change_per_30_days, change_low, change_high": "How fast it moves, with its interval; null where it "
    "cannot be told.",
    "indicators[].warn, limit, too_late": "Limits of the plant file.",
    "indicators[].standing": "Which of the limits it has passed.",
    "indicators[].reaches_limit": "Earliest, likely and latest day; null where it cannot be foreseen.",
    "indicators[].days_needed": "More days with readings that a date needs; null where they would not do.",
    "indicators[].season_allowance": "Part of the change that the season alone may explain; 0 where none is left.",
    "indicators[].closure": "Standard error of its logarithm that the method leaves, beside the interval.",
    "indicators[].days": "Days with readings in the present run.",
    "indicators[].temperature_corrected": "False where feed temperature is not known.",
    "indicators[].method": "Method that this one rests on.",
    "trends[]": "Straight pieces of each indicator with their interval, the forecast, and `today`: level, slope a day "
    "and its growth with their intervals, the days they rest on, and the last levels, which the standing rests on.",
    "runs[]": "Times between interventions: start, end, what opened it (a kind of event, or `detected step`), and the "
    "stage it concerns.",
    "run_facts[]": "What each run did to each indicator: level at its start with interval, and at its end, change in "
    "30 days with interval, whether it grew linear, accelerating or levelling off, whether that is `valid` and "
    "`why` not, the loss that no cleaning has given back, and the share that the intervention before it gave back, "
    "with `lasting_loss_why` and `given_back_why` where they cannot be known.",
    "steps[]": "Days from which the indicators stand elsewhere though nobody wrote anything down, or what explains it: "
    "day, stage, strength in standard errors, what moved and by what share, `explained_by`, whether it was `answered`, "
    "the `likely` kind of event and `why`, and all that in `words`.",
    "standard": "Indicators and trends by the standard method, where another one was used above.",
    "disagreement": "Why the two methods differ, in one sentence with numbers; empty where they agree within 0.02.",
    "learned[]": "What was learned from the plant's own data in place of an assumption.",
    "causes[]": "Likely causes with stage, probability, evidence, the next check, how many minutes that takes (null "
    "where a laboratory answers) and the remedy.",
    "separating_check": "The check that tells the two likeliest causes apart for the least work: whose it is, the "
    "other cause, the check, its minutes, whether both share it; null where there is none.",
    "observed[]": "What the causes were held against: `place` (`first` or `last` stage, `all` of the train, or "
    "`balance`), `what` (`water` or `salt` permeability, `friction`, or the name of a balance), the change of its "
    "logarithm since the reference (a share for balances), and its standard error.",
    "cleaning": "When to clean: `now`, `plan`, `not yet`, `look first` or `unknown` as `advice`; the indicator that "
    "governs, the stage to clean, the earliest day that makes sense, the day to aim for and the latest that still "
    "works (null where the data carry none), the likeliest cause, and the reasons.",
    "cleanings[]": "What became of each cleaning in the log: day, stage, `result` (`worked`, `doubtful`, `failed`, "
    "`too early`, `nothing to win`, `cannot be said`), the indicator that had lost most of the way to its limit "
    "(`scope` and `name`) with its level before and after, the share of the loss that came back with its interval of "
    "90 %, and how many days after passing its limit it came (null where it had not, or that is not known).",
    "meters[]": "Meters that were looked at: bias as a fraction, its interval, and whether it is suspected.",
    "thermometer": "The thermometer against the season of its own first year (`departure_c`, in degC, and whether it "
    "stands apart), against what it makes of normalized flow (`follows_per_c`, as a fraction for each degC), what "
    "keeps that unknown, and the same in sentences.",
    "calibrations_due[]": "Reminders of meters that are due to be compared or calibrated, and how, in sentences.",
    "balances[]": "Balances that the meters must keep: drift since the reference, its error, the drift that good "
    "meters are allowed, whether it holds, and the meters in it.",
    "readings.total, used, set_aside": "How many, how many were used, and by reason how many were not. They add up.",
    "readings.values_set_aside": "Single values that were not used, by quantity and reason; the reading was.",
    "missing[]": "Meters that are missing, and what could not be known for want of them.",
    "helpful_meter": "The one meter more that would let most be judged: `column`, `gains` (scope and name), "
    "`next_best` (how many the next best would add), `sentence`; null where none would.",
    "notes[]": "What else a reader should know.",
    "file": "Name of the log, rows in it, and what was decided while reading it.",
    "series": "Only with `--series`: `day`, and by scope and indicator the daily value, null where there is none. By "
    "the membrane model that is its smooth level, with the days before and after in it: the best estimate of what the "
    "membrane was on that day; it jumps only at interventions and at steps that were found. By the standard method, "
    "which has no level by day, it is the median of the day. `unsmoothed`, by `<scope>_<indicator>`: the model's day "
    "by itself, for your own smoothing. `error`: standard error of the logarithm of the daily value; 1.645 of it to "
    "each side hold 90 %. `raw` the medians of what was measured; `set_aside` the days out of line.",
}
