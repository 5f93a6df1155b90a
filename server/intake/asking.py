"""The page that says what was understood of a file, and takes corrections."""

from dataclasses import dataclass
from itertools import groupby

from analytics.quantities import QUANTITIES, STATES
from analytics.units import UNITS
from server.display import counted, in_words, sentence, unit_symbol
from server.intake.answers import MARKS, Answers
from server.intake.asking_times import Option, TimesPart, times_part
from server.intake.models import Import
from server.intake.understand.encoding import DELIMITER_WORDS
from server.intake.understand.understanding import Choices, FoundColumn, Understanding
from server.plants.models import Train
from server.templating import Frame

CONFIDENCE_WORDS = {
    "sure": "sure", "likely": "likely", "guess": "a guess: please check", "unknown": "not understood",
}  # fmt: skip
WORD_LABELS = {"": "leave out", "state": "State of the plant", "remark": "Remark"}
WATERS = {
    "feed": "Feed", "permeate": "Permeate", "concentrate": "Concentrate", "raw": "Before the membranes",
    "plant": "Plant",
}  # fmt: skip
UNIT_GROUPS = {
    "degC": "temperature", "m3/h": "flow", "bar": "pressure", "uS/cm": "conductivity", "mg/L": "concentration",
    "mV": "voltage", "NTU": "turbidity", "kW": "power", "kWh": "energy", "h": "time", "m3": "volume", "L": "level",
    "Hz": "frequency", "A": "current",
}  # fmt: skip
MARK_WORDS = {"": "as found", "point": "point: 12.5", "comma": "comma: 12,5", "either": "both are in use"}


@dataclass(frozen=True)
class Group:
    """Choices under a common heading."""

    label: str
    options: tuple[Option, ...]


@dataclass(frozen=True)
class ColumnLine:
    """One column: what it is taken for, why, and what a person chose; `number` names its fields."""

    number: int
    name: str
    examples: str
    meaning: str
    unit: str
    confidence: str
    confidence_words: str
    reason: str
    offered: tuple[Option, ...]
    unit_open: bool
    error: str


@dataclass(frozen=True)
class StateLine:
    number: int
    word: str
    state: str


@dataclass(frozen=True)
class LayoutPart:
    """Where in the file the table stands and how its numbers are written, for whoever knows better."""

    sheets: tuple[Option, ...]
    sheet: str
    header_row: str
    time_columns: tuple[Option, ...]
    time: str
    decimals: tuple[Option, ...]
    decimal: str


@dataclass(frozen=True)
class AskingPage:
    """What was understood, in the order in which a person should look at it."""

    frame: Frame
    site: str
    train: str
    train_id: int
    import_id: int
    file_name: str
    headline: str
    summary: str
    error: str
    questions: tuple[str, ...]
    to_check: tuple[ColumnLine, ...]
    understood: tuple[ColumnLine, ...]
    left_out: tuple[ColumnLine, ...]
    meanings: tuple[Group, ...]
    units: tuple[Group, ...]
    states: tuple[StateLine, ...]
    state_options: tuple[Option, ...]
    mark_example: str
    mark_error: str
    times: TimesPart
    trains: tuple[tuple[str, str], ...]
    train_error: str
    save_as: str
    facts: tuple[tuple[str, str], ...]
    notes: tuple[str, ...]
    layout: LayoutPart


def asking_page(
    frame: Frame, train: Train, kept: Import, found: Understanding, answers: Answers, choices: Choices, error: str = ""
) -> AskingPage:
    """Put the page together; `answers` are as found, or as they came in with what is wrong with them."""
    lines = [_line(number, column, answers) for number, column in enumerate(found.columns)]
    to_check = tuple(line for line in lines if _needs_a_look(line, found.columns[line.number]))
    understood = tuple(line for line in lines if line not in to_check and found.columns[line.number].meaning)
    left_out = tuple(line for line in lines if line not in to_check and line not in understood)
    return AskingPage(
        frame=frame, site=train.site.name, train=train.name, train_id=train.id, import_id=kept.id,
        file_name=kept.file_name,
        headline=_headline(found),
        summary=_summary(len(understood), len(to_check), len(left_out)),
        error=error or answers.errors.get("columns", ""),
        questions=found.questions,
        to_check=to_check, understood=understood, left_out=left_out,
        meanings=_meanings(), units=_units(),
        states=tuple(StateLine(n, word, answers.states[n]) for n, word in enumerate(found.states)),
        state_options=tuple(Option(state, state or "say nothing") for state in ("", *STATES)),
        mark_example=found.layout.marks_doubtful,
        mark_error=answers.errors.get("decimal", ""),
        times=times_part(found.time, answers),
        trains=(("", "choose"), *((name, name) for name in found.layout.trains)) if found.layout.trains else (),
        train_error=answers.errors.get("train", ""),
        save_as=answers.save_as,
        facts=_facts(found),
        notes=found.notes,
        layout=_layout(found, choices),
    )  # fmt: skip


def _layout(found: Understanding, choices: Choices) -> LayoutPart:
    layout = found.layout
    return LayoutPart(
        sheets=tuple(Option(name, name) for name in layout.all_sheets) if len(layout.all_sheets) > 1 else (),
        sheet=layout.sheets[0] if len(layout.sheets) == 1 else "",
        header_row=str(choices.header_row or layout.skip_rows + 1),
        time_columns=tuple(Option(name, name) for name in found.names),
        time=found.time.column,
        decimals=tuple(Option(key, words) for key, words in MARK_WORDS.items()),
        decimal=next((key for key, mark in MARKS.items() if mark == choices.decimal), ""),
    )


def _headline(found: Understanding) -> str:
    if found.questions:
        count = len(found.questions)
        return f"{sentence(in_words(count))} {'question' if count == 1 else 'questions'} first"
    return "Is this what the file says?"


def _summary(understood: int, to_check: int, left_out: int) -> str:
    parts = [f"{counted(understood, 'column')} understood"]
    parts += [f"{in_words(to_check)} to check"] if to_check else []
    parts += [f"{in_words(left_out)} left out"] if left_out else []
    return f"{', '.join(parts)}. Nothing has been stored yet."


def _needs_a_look(line: ColumnLine, column: FoundColumn) -> bool:
    open_question = column.confidence == "guess" or column.doubt is not None
    measures = column.confidence == "unknown" and column.measures != ""
    return bool(open_question or measures or line.error)


def _line(number: int, column: FoundColumn, answers: Answers) -> ColumnLine:
    reason = sentence(column.reason)
    if column.unit_reason and column.unit:
        reason = f"{reason}. Unit: {column.unit_reason}"
    return ColumnLine(
        number=number,
        name=column.name,
        examples=", ".join(column.examples),
        meaning=answers.meanings[number],
        unit=answers.units[number],
        confidence="guess" if column.doubt else column.confidence,
        confidence_words=_confidence_words(column),
        reason=f"{reason}." if reason else "",
        offered=_offered(column),
        unit_open=column.doubt is not None and not column.unit,
        error=answers.errors.get(f"column-{number}", ""),
    )


def _confidence_words(column: FoundColumn) -> str:
    if column.doubt is not None and column.meaning and not column.unit:
        return "its unit is not known here"
    if column.doubt is not None:
        return "name and numbers disagree"
    return CONFIDENCE_WORDS[column.confidence] if column.meaning or column.confidence != "sure" else ""


def _offered(column: FoundColumn) -> tuple[Option, ...]:
    """Where name and numbers disagree about the unit: both of them, to choose from."""
    if column.doubt is None or not column.doubt.unit:
        return ()
    named, likely = unit_symbol(column.unit), unit_symbol(column.doubt.unit)
    return Option(column.unit, f"{named}, as named"), Option(column.doubt.unit, f"{likely}, by the numbers")


def _meanings() -> tuple[Group, ...]:
    """What a column can be: nothing, a word, or a quantity under its water."""
    groups = [Group("", tuple(Option(key, label) for key, label in WORD_LABELS.items()))]
    for stage, members in groupby(QUANTITIES.values(), key=lambda quantity: quantity.stage):
        by_water: dict[str, list[Option]] = {}
        for quantity in members:
            heading = f"Stage {stage}" if stage else WATERS[quantity.water]
            by_water.setdefault(heading, []).append(Option(quantity.name, quantity.label))
        groups += [Group(heading, tuple(options)) for heading, options in by_water.items()]
    return tuple(groups)


def _units() -> tuple[Group, ...]:
    by_canonical: dict[str, list[Option]] = {}
    for unit in UNITS.values():
        if unit.canonical in UNIT_GROUPS:
            by_canonical.setdefault(unit.canonical, []).append(Option(unit.name, unit_symbol(unit.name)))
    groups = [Group(UNIT_GROUPS[canonical], tuple(options)) for canonical, options in by_canonical.items()]
    return (Group("", (Option("", "no unit"),)), *groups)


def _facts(found: Understanding) -> tuple[tuple[str, str], ...]:
    layout = found.layout
    facts = []
    if layout.delimiter:
        facts.append(("Columns are divided by", DELIMITER_WORDS.get(layout.delimiter, layout.delimiter)))
        facts.append(("Signs", f"{layout.encoding}: {layout.encoding_reason}"))
    if layout.sheets:
        facts.append(("Sheets read" if len(layout.sheets) > 1 else "Sheet", ", ".join(layout.sheets)))
    facts.append(("Decimal mark", layout.marks_reason))
    if layout.long:
        facts.append(("Layout", f"one row for each tag and time; tags in “{layout.long.tag}”"))
    return tuple(facts)
