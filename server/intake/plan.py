"""Which column of a sheet is what: by its header in the canonical layout, or by a mapping."""

from dataclasses import dataclass

from server.errors import FileProblem
from server.intake.findings import Findings
from server.intake.headers import TIME, WORDS, Header, UnknownQuantity, WrongUnit, parse_header, plain_name
from server.intake.mapping import FileMapping
from server.intake.sheet import Sheet


@dataclass(frozen=True)
class Plan:
    """Which column of the sheet is what, by its number."""

    time: int
    quantities: dict[int, Header]
    words: dict[int, str]
    unknown: tuple[str, ...]


def plan_of(sheet: Sheet, findings: Findings) -> Plan:
    """Find out what each column of a file in the canonical layout is."""
    times, quantities, words, unknown = [], {}, {}, []
    row = sheet.header_row
    for number, text in enumerate(sheet.headers):
        name = plain_name(text)
        if name == TIME:
            times.append(number)
        elif name in WORDS:
            words[number] = name
        elif text:
            try:
                quantities[number] = parse_header(text)
            except UnknownQuantity as error:
                unknown.append(f"{text} ({error}?)" if str(error) else text)
            except WrongUnit as error:
                findings.add(row, text, None, "the unit does not fit", str(error))
    if not times:
        raise FileProblem(sheet.file, 'has no "time" column', row=row, expected='a header "time"')
    if len(times) > 1:
        raise FileProblem(sheet.file, 'has two "time" columns', row=row, expected="one")
    _note_twice(sheet, quantities, findings)
    if not quantities and not findings.count:
        known = ' such as "feed_pressure [bar]"'
        raise FileProblem(sheet.file, "has no column that names a known quantity", row=row, expected=f"headers{known}")
    return Plan(times[0], quantities, words, tuple(unknown))


def plan_by_mapping(sheet: Sheet, mapping: FileMapping) -> Plan:
    numbers: dict[str, int] = {}
    for number, text in enumerate(sheet.headers):
        numbers.setdefault(text, number)
    for name in (mapping.time_column, *mapping.columns):
        if name not in numbers:
            raise FileProblem(
                sheet.file,
                f'has no column "{name}", which the mapping names',
                row=sheet.header_row,
                expected=f"one of: {', '.join(text for text in sheet.headers if text)}",
            )
    quantities = {numbers[theirs]: parse_header(ours) for theirs, ours in mapping.columns.items() if ours not in WORDS}
    words = {numbers[theirs]: ours for theirs, ours in mapping.columns.items() if ours in WORDS}
    used = {numbers[mapping.time_column], *quantities, *words}
    unknown = tuple(text for number, text in enumerate(sheet.headers) if text and number not in used)
    return Plan(numbers[mapping.time_column], quantities, words, unknown)


def _note_twice(sheet: Sheet, quantities: dict[int, Header], findings: Findings) -> None:
    seen: dict[str, str] = {}
    for number, header in quantities.items():
        name = header.quantity.name
        if name in seen:
            text = sheet.headers[number]
            findings.add(sheet.header_row, text, None, f'is {name} again, after "{seen[name]}"', "each quantity once")
        seen.setdefault(name, header.text)


def note_units(plan: Plan, findings: Findings) -> None:
    untyped = [h for h in plan.quantities.values() if not h.unit and h.quantity.unit != "-"]
    if untyped:
        listed = ", ".join(f"{h.quantity.name} [{h.quantity.unit}]" for h in untyped)
        findings.notes.append(f"No unit is given for these, so the canonical one was taken: {listed}.")
