"""docs/files.md: the files that go in and come out, written from the code."""

from analytics.events import INTERVENTIONS, KINDS
from server.documents.answer_keys import ANSWER_KEYS
from server.documents.plant_keys import MEANINGS, plant_keys
from server.guard import ROOT
from server.intake.sheet import MISSING

PAGE = ROOT / "docs" / "files.md"

INTRODUCTION = """# Files and commands

A contract: what is written here stays as it is, and more may be added. This page is written from the code; do not
edit it, run `uv run python -m server.documents`. A test fails when it is out of date.

Whatever cannot be used is told in one line that names the file, the row as you see it (the header is row 1), the
column and what is expected. Nothing is guessed in silence, and nothing is written when anything is wrong:

```
log.csv, row 17, column "feed_pressure [psi]": "12,o" is not a number; expected a number such as 174.5
```
"""

READINGS = """## Readings

CSV in UTF-8 (with or without a byte-order mark; commas, semicolons or tabs) or XLSX (first sheet). The first row
names the columns: `quantity [unit]`, with the names and units of [quantities.md](quantities.md), and one column
`time`.

```
time,feed_temperature [degC],feed_pressure [psi],permeate_flow [gpm],state,remark
2026-01-05 06:10,17.5,174.5,198,,
2026-01-05T14:05+00:00,17.8,175,198,running,cartridges changed
```

- **Times** are ISO 8601. Without an offset they are local times of the site. A date alone means 12:00 of that day,
  and the answer says so. Rows may come in any order.
- **The hour that clocks show twice**: where the file shows it twice, the later ones are the second time round; where
  it shows it once, it is the first. **The hour that clocks skip** was written by a clock that had not been put
  forward: such a time moves forward by the gap. Both are told with their number.
- **Units**: a header without a unit means the canonical one, and the answer says so.
- **Missing values**: an empty cell, or one of {missing}.
- **Columns that are not known** are named and ignored. Two columns for one quantity are refused.
- **`state`** is `running`, `starting`, `stopped` or nothing, which means running. **`remark`** is free text.
- A comma in a number needs a mapping (`decimal`); a row with more cells than the header is refused, since such a
  comma would move every value after it.
- In the records a time has one reading. The same reading again is skipped; another value for the same time is not
  stored but listed. A reading more than a day ahead of the clock of the computer is refused there.
"""

EVENTS = """## Events

CSV or XLSX with the columns `time,kind,stage,detail`; `stage` (a number, or nothing for the whole train) and `detail`
may be left out. Kinds: {kinds}. {interventions} change the membranes themselves, so a run ends there and the next
begins. The detail of an `element-replacement` may begin with how many are new, such as `3 new of 18`; otherwise all
elements of the stage (or of the train) are taken to be.

```
time,kind,stage,detail
2026-03-25T07:00,cleaning,1,"caustic and detergent, 33 degC"
```
"""

MAPPING = """## Mapping

TOML, for a log with headers of its own (`--mapping FILE`). Without one a command understands such a log by itself
and says how, and refuses it where anything would have to be guessed or asked. Columns that a mapping does not name are
ignored and reported.

```toml
[columns]                           # needed: their header = ours
"Feed press. PT-01" = "feed_pressure [bar]"
"Status" = "state"

[time]                              # optional
column = "Date"                     # "time" when left out
format = "%d.%m.%Y %H:%M"           # as for strptime; ISO 8601 when left out. With %z the offset counts
timezone = "Europe/Lisbon"          # that of the site when left out

[constants]                         # optional: what the log does not hold because it never changes
"permeate_pressure [psi]" = 20

[file]                              # optional
encoding = "cp1252"                 # "utf-8" when left out
delimiter = ";"                     # found from the header when left out
decimal = ","                       # "." when left out
skip_rows = 2                       # rows before the header
sheet = "Log"                       # the first when left out
missing = ["Bad", "No data"]        # cells without a value, beside the usual ones
```

A log as people keep it needs more patience. With `tolerant = true`, or any other of these keys, units behind numbers
are converted, `<0.05` is taken at its limit, rows of sums, repeated headers and rows without any value are left out,
and all of that is told with its rows. The page that takes files of any layout writes such a mapping.

```toml
[file]
tolerant = true
decimal = ".,"                      # where both were typed
thousands = "."                     # spaces and apostrophes between thousands need no mention
sheets = ["January", "February"]    # read one after the other
header_rows = 2                     # their cells are joined to one name; 0: columns are "column A", "column B", ...
skip_below = 1                      # rows between the header and the first reading
trains_above = true                 # trains under each other, each below its name, which stands in "train above"
parts = "sheets"                    # other quantities of the same times: in sheets, in the rows of a column (its name),
                                    # or each after its own column of times ("times"); part and name are joined

[time]
clock = "Hour"                      # the time of day, in a column of its own
order = "day first"                 # or "month first", "year first": any usual way to write it
carried = true                      # a date also stands for the rows below it
half = "AM/PM"                      # says whether the clock time is before noon or after, in a column of its own
month_column = "Month"              # where "column" holds days alone: the columns of the month and of the year,
year_column = "Year"
months = ["2024-01"]                # or the month of the first reading (of each of several sheets)
minute = "Minute"                   # the minutes, in a column of their own beside that of the hours
noon_by_order = true                # 12 hours without AM and PM: after noon from where the times of a date go back
day = "2024-06-12"                  # of the first reading, where "column" holds times of day alone
exchanged = true                    # true dates of a workbook have day and month exchanged

[long]                              # one row for each tag and time; [columns] then names tags
tag = "Point"
value = "Value"
quality = "Status"                  # optional: values that are not good are left out
unit = "Unit"                       # optional: values in another unit than that of their tag are converted

[states]                            # words of the column of states
"ON" = "running"

[only]                              # rows of this train, where a file holds several
"Skid" = "RO 1"
```
"""

COMMANDS = """## Commands

```
skidbook assess PLANT READINGS [--events FILE] [--mapping FILE] [--as-of TIME] [--json FILE] [--series]
skidbook normalize PLANT READINGS --out FILE [--mapping FILE]
skidbook plant add PLANT [--events FILE] [--author NAME]
skidbook import TRAIN READINGS [--mapping FILE] [--dry-run] [--author NAME]
skidbook migrate
skidbook user add ADDRESS [--name NAME] [--administrator] [--password-stdin]
skidbook user link ADDRESS
skidbook user list
skidbook backup FILE
skidbook restore FILE [--verify]
skidbook check
skidbook serve [--host ADDRESS] [--port PORT]
skidbook demo [--port PORT]
```

`TRAIN` is the number or the name of a train, or "site / train". `--as-of` takes ISO 8601, local to the site without
an offset; a date alone means the end of that day. `-` as a file to write means standard output. Files are written
whole or not at all.

`normalize` writes one row for each reading, in order of time: `row` (of the file), `time` (local, with offset),
`reason` (why it was set aside; nothing when it was used), what was read, in canonical units, then every intermediate
and indicator as `<scope>_<what>`. Indicators are ratios to the reference.

`user add` asks for the password, or reads it from `SKIDBOOK_PASSWORD` or, with `--password-stdin`, from the first line
of standard input; without one it prints a link with which the person chooses it. `user link` prints a link again.

| exit status | |
|---|---|
| 0 | answered, whatever the verdict |
| 1 | `check` found something wrong |
| 2 | bad arguments or unreadable input: one line on standard error, nothing written |

Settings come from the environment, or from a file: `skidbook --settings FILE COMMAND`. They are listed in
[operations/settings.md](operations/settings.md).
"""


def files_page() -> str:
    """The whole page, as Markdown."""
    missing = ", ".join(f"`{word}`" for word in sorted({word.lower() for word in MISSING if word}))
    interventions = ", ".join(f"`{kind}`" for kind in INTERVENTIONS)
    return "\n".join(
        [
            INTRODUCTION,
            _plant_section(),
            READINGS.format(missing=f"{missing} in small or capital letters"),
            EVENTS.format(kinds=", ".join(f"`{kind}`" for kind in KINDS), interventions=interventions),
            MAPPING,
            _answer_section(),
            COMMANDS,
        ]
    )


def _plant_section() -> str:
    rows = [f"| `{key.path}` | {key.kind} | {_shown(key.default)} | {MEANINGS[key.path]} |" for key in plant_keys()]
    return "\n".join(
        [
            "## Plant file",
            "",
            "TOML in UTF-8; an example stands in [guide.md](guide.md). `[[train.stage]]` is repeated, in the order of",
            "the water. A key that is not known is refused by name. Numbers without a source are common practice.",
            "",
            "| key | value | default | meaning |",
            "|---|---|---|---|",
            *rows,
            "",
        ]
    )


def _shown(default: str) -> str:
    return f"`{default}`" if default else "must be given"


def _answer_section() -> str:
    rows = [f"| {', '.join(f'`{key}`' for key in keys.split(', '))} | {text} |" for keys, text in ANSWER_KEYS.items()]
    return "\n".join(
        [
            "## The answer as JSON",
            "",
            "`skidbook assess ... --json FILE`.",
            "",
            "| key | meaning |",
            "|---|---|",
            *rows,
            "",
        ]
    )
