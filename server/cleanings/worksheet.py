"""The worksheet as typed values: chosen in the address, worked out from the stage as built, in the reader's units."""

from collections.abc import Mapping
from dataclasses import dataclass

from analytics.decisions.cleaning_solution import NOT_CLEANED, Programme, programme_for
from analytics.decisions.cleaning_steps import CAUTIONS
from analytics.decisions.cleaning_worksheet import Bath, Wishes, Worksheet, plan_worksheet
from analytics.errors import InvalidSettings
from analytics.plant import Plant
from analytics.units import display_unit, from_canonical
from server.cleanings.fields import FOULANTS, RecordField
from server.cleanings.forms import read_number
from server.cleanings.sheet_steps import StepLine, sheet_key, step_lines
from server.display import THIN, measured, number, unit_symbol
from server.reader_words import in_reader_words
from server.templating import Frame

CHOICES = (
    RecordField("vessels", "Vessels together", low=1, high=1000),
    RecordField("make_up_c", "Make-up water", unit="degC", low=0, high=60),
    RecordField("temperature_c", "Clean at", unit="degC", low=0, high=100),
    RecordField("ph1", "pH of the first bath", unit="-", high=14),
    RecordField("ph2", "pH of the second bath", unit="-", high=14),
    RecordField("pressure_bar", "Pressure in", unit="bar", high=100),
)


@dataclass(frozen=True)
class ChoiceField:
    name: str
    label: str
    unit: str
    text: str
    error: str


@dataclass(frozen=True)
class BathLines:
    """One bath: what to weigh in, and its window."""

    title: str
    number: int
    doses: tuple[tuple[str, str, str], ...]
    ph: str
    window: str
    temperature: str
    caution: str
    source: str


@dataclass(frozen=True)
class WorksheetPage:
    """The sheet; with `refused` filled there is nothing to work from."""

    frame: Frame
    site: str
    train: str
    train_id: int
    stage: str
    stages: tuple[tuple[str, str], ...]
    cause: str
    causes: tuple[tuple[str, str], ...]
    fields: tuple[ChoiceField, ...]
    error: str
    title: str
    why: str
    after: str
    refused: tuple[str, ...]
    warned: tuple[str, ...]
    cautions: tuple[str, ...]
    volumes: tuple[tuple[str, str], ...]
    make: str
    figures: tuple[tuple[str, str, str], ...]
    baths: tuple[BathLines, ...]
    steps: tuple[StepLine, ...]
    remarks: tuple[str, ...]
    record: str
    key: str
    units: str


@dataclass(frozen=True)
class _Units:
    """Writes canonical values in the reader's units."""

    system: str

    def text(self, value: float, unit: str, decimals: int | None = None) -> str:
        shown = float(from_canonical(value, unit, display_unit(unit, self.system)))
        written = measured(shown) if decimals is None else number(shown, decimals)
        return f"{written}{THIN}{self.symbol(unit)}"

    def volume(self, cubic_metres: float) -> str:
        """Litres or gallons: what a tank is marked with."""
        shown = float(from_canonical(1000 * cubic_metres, "L", display_unit("L", self.system)))
        return f"{number(shown)}{THIN}{self.symbol('L')}"

    def pair(self, low: float, high: float, unit: str) -> str:
        to = display_unit(unit, self.system)
        first, last = (measured(float(from_canonical(value, unit, to))) for value in (low, high))
        return f"{first} to {last}{THIN}{self.symbol(unit)}"

    def words(self, text: str) -> str:
        return in_reader_words(text, self.system)

    def symbol(self, unit: str) -> str:
        return unit_symbol(display_unit(unit, self.system))


def worksheet_page(
    frame: Frame, plant: Plant, train_id: int, asked: Mapping[str, str], suggested: tuple[int | None, str]
) -> WorksheetPage:
    """Work out the sheet that an address asks for.

    Parameters
    ----------
    asked : mapping
        The query as text: `stage`, `cause`, and the names of `CHOICES`.
    suggested : tuple
        Stage and cause of the latest assessment, for what is not asked for.
    """
    stages = plant.train.stages
    number_asked = asked.get("stage") or str(suggested[0] or 1)
    chosen = int(number_asked) if number_asked in {str(n) for n in range(1, len(stages) + 1)} else 1
    known = {key for key, _ in FOULANTS} | set(NOT_CLEANED)
    cause = next((c for c in (asked.get("cause"), suggested[1]) if c in known), "unknown") or "unknown"
    programme = programme_for(cause)
    wishes, errors = _wishes(asked, frame.units)
    sheet, error = None, ""
    if programme.solutions:
        try:
            sheet = plan_worksheet(stages[chosen - 1], chosen, plant.train.cleaning, programme, wishes)
        except InvalidSettings as problem:
            error = f"{problem}."
    return _page(frame, plant, train_id, _Planned(chosen, programme, asked, sheet, errors, error))


def _wishes(asked: Mapping[str, str], units: str) -> tuple[Wishes, dict[str, str]]:
    values: dict[str, float] = {}
    errors: dict[str, str] = {}
    for one in CHOICES:
        text = asked.get(one.name, "").strip()
        if not text:
            continue
        try:
            values[one.name] = read_number(text, one, units)
        except ValueError as problem:
            errors[one.name] = str(problem)
    vessels = values.get("vessels")
    return Wishes(
        vessels=round(vessels) if vessels is not None else None,
        make_up_temperature_c=values.get("make_up_c", 20.0),
        temperature_c=values.get("temperature_c"),
        ph=(values.get("ph1"), values.get("ph2")),
        pressure_bar=values.get("pressure_bar"),
    ), errors


@dataclass(frozen=True)
class _Planned:
    """What was asked for, and the sheet or what is wrong: of single fields, or of all of it."""

    stage: int
    programme: Programme
    asked: Mapping[str, str]
    sheet: Worksheet | None
    errors: Mapping[str, str]
    error: str


def _page(frame: Frame, plant: Plant, train_id: int, planned: _Planned) -> WorksheetPage:
    units, stage, programme, sheet = _Units(frame.units), planned.stage, planned.programme, planned.sheet
    refused = tuple(dict.fromkeys(units.words(f.why) for f in sheet.refused)) if sheet else ()
    asked_baths = len(sheet.baths) if sheet else 2
    errors = _refused_beside(sheet, units) | dict(planned.errors)
    if errors:
        sheet = None
    return WorksheetPage(
        frame=frame,
        site=plant.site.name,
        train=plant.train.name,
        train_id=train_id,
        stage=str(stage),
        stages=tuple((str(n), _stage_words(plant, n)) for n in range(1, len(plant.train.stages) + 1)),
        cause=programme.foulant,
        causes=FOULANTS if programme.solutions else (*FOULANTS, (programme.foulant, programme.name)),
        fields=_fields(planned.asked, errors, units, asked_baths),
        error=planned.error or ("" if programme.solutions else programme.why),
        title=f"Cleaning of stage {stage}: {programme.name.lower()}",
        why=programme.why if programme.solutions else "",
        after=programme.after,
        refused=refused,
        warned=tuple(dict.fromkeys(units.words(f.why) for f in sheet.warned)) if sheet else (),
        cautions=CAUTIONS,
        volumes=_volumes(sheet, units) if sheet else (),
        make=units.volume(sheet.volumes.make) if sheet else "",
        figures=_figures(sheet, units) if sheet else (),
        baths=tuple(_bath(n, bath, units) for n, bath in enumerate(sheet.baths, start=1)) if sheet else (),
        steps=step_lines(sheet.steps, frame.units) if sheet else (),
        remarks=tuple(map(units.words, sheet.remarks)) if sheet else (),
        record=f"/trains/{train_id}/cleanings/new?stage={stage}&cause={programme.foulant}&units={frame.units}",
        key=sheet_key(train_id, stage, programme.foulant),
        units=frame.units,
    )


def _refused_beside(sheet: Worksheet | None, units: _Units) -> dict[str, str]:
    """Why something must not be done, by the field that asks for it."""
    found: dict[str, str] = {}
    if sheet is None:
        return found
    for n, bath in enumerate(sheet.baths, start=1):
        for finding in bath.findings:
            if finding.refused:
                found.setdefault(f"ph{n}" if finding.field == "ph" else "temperature_c", units.words(finding.why))
    for finding in sheet.refused:
        if finding.field == "pressure":
            found["pressure_bar"] = units.words(finding.why)
    return found


def _stage_words(plant: Plant, n: int) -> str:
    stage = plant.train.stages[n - 1]
    size = f"{stage.membrane.diameter_inch:g}-inch"
    return f"Stage {n}: {stage.vessels} × {stage.elements_per_vessel} {size}"


def _fields(asked: Mapping[str, str], errors: Mapping[str, str], units: _Units, baths: int) -> tuple[ChoiceField, ...]:
    shown = [one for one in CHOICES if one.name != "ph2" or baths > 1]
    return tuple(
        ChoiceField(
            one.name, one.label, units.symbol(one.unit) if one.unit not in ("", "-") else "", asked.get(one.name, ""),
            errors.get(one.name, ""),
        )
        for one in shown
    )  # fmt: skip


def _volumes(sheet: Worksheet, units: _Units) -> tuple[tuple[str, str], ...]:
    volumes = sheet.volumes
    vessels = f"{sheet.vessels} vessel{'s' if sheet.vessels > 1 else ''}, filled with elements"
    return (
        (vessels, units.volume(volumes.vessels)),
        ("Pipes and hoses", units.volume(volumes.pipes)),
        ("Cartridge filter", units.volume(volumes.filter)),
        ("In the circuit", units.volume(volumes.net)),
        ("Kept in the tank", units.volume(volumes.heel)),
    )


def _figures(sheet: Worksheet, units: _Units) -> tuple[tuple[str, str, str], ...]:
    heat = f"{number(sheet.heating_kwh)}{THIN}kWh"
    heating = f"{number(sheet.heating_hours, 1)}{THIN}h with the heater" if sheet.heating_hours else "each bath"
    groups = f"{sheet.vessels} vessels" + (f", {sheet.groups} groups one after the other" if sheet.groups > 1 else "")
    return (
        ("Pump", units.pair(sheet.pump_flow_low, sheet.pump_flow_high, "m3/h"), groups),
        ("Per vessel", units.pair(sheet.flow_per_vessel_low, sheet.flow_per_vessel_high, "m3/h"), "high flow"),
        (
            "Pressure",
            units.pair(sheet.pressure_low_bar, sheet.pressure_high_bar, "bar"),
            "so low that hardly any permeate comes",
        ),
        ("Pressure drop", f"under {units.text(sheet.pressure_drop_limit_bar, 'bar')}", "along a vessel, always"),
        ("Heat", heat, heating),
        ("Rinse", units.volume(sheet.rinse_m3), f"{units.volume(sheet.waste_m3)} to neutralise and drain in all"),
    )


def _bath(n: int, bath: Bath, units: _Units) -> BathLines:
    solution = bath.solution
    return BathLines(
        title=solution.name,
        number=n,
        doses=tuple(
            (dose.name, f"{'at most ' if dose.most else ''}{100 * dose.share:g}{THIN}%", units.text(dose.mass_kg, "kg"))
            for dose in bath.doses
        ),
        ph=f"{bath.ph:.3g}",
        window=f"{bath.ph_low:g} to {bath.ph_high:g}",
        temperature=units.text(bath.temperature_c, "degC", 0),
        caution=solution.caution,
        source=solution.source,
    )
