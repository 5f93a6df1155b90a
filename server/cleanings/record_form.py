"""The form of a cleaning's record, empty or filled, as values that the template shows."""

from dataclasses import dataclass

from analytics.plant import Plant
from server.cleanings.fields import HEAD, MOST_STEPS, STEP, SUGGESTED, Options, RecordField
from server.cleanings.forms import CleaningForm
from server.templating import Frame


@dataclass(frozen=True)
class FormField:
    """One field with what stands in it; `danger` and `unusual` are said beside it."""

    name: str
    label: str
    unit: str
    kind: str
    text: str
    hint: str
    options: Options
    error: str
    danger: str
    unusual: str


@dataclass(frozen=True)
class BathFields:
    number: int
    fields: tuple[FormField, ...]
    open: bool


@dataclass(frozen=True)
class FormPart:
    """The form: to be sent to `action`; `reason` when it corrects a record."""

    action: str
    stage: FormField
    started: FormField
    ended: FormField
    groups: tuple[tuple[str, tuple[FormField, ...]], ...]
    baths: tuple[BathFields, ...]
    units: str
    revision: str
    reason: FormField | None
    dangerous: bool
    confirmed: bool
    suggested: tuple[str, ...]
    timezone: str
    sheet: str
    sheet_key: str


@dataclass(frozen=True)
class NewCleaningPage:
    frame: Frame
    site: str
    train: str
    train_id: int
    form: FormPart


def form_part(plant: Plant, form: CleaningForm, action: str, *, amends: bool = False) -> FormPart:
    """Put the fields of a form together."""
    stages = (("", "The whole train"), *((str(n), f"Stage {n}") for n in range(1, len(plant.train.stages) + 1)))
    groups: dict[str, list[FormField]] = {}
    for one in HEAD:
        groups.setdefault(one.group, []).append(_field(one, one.name, form, plant.site.currency))
    baths = []
    for n in range(1, MOST_STEPS + 1):
        fields = tuple(_field(one, f"bath{n}.{one.name}", form, plant.site.currency) for one in STEP)
        filled = any(f.text or f.error or f.danger for f in fields)
        baths.append(BathFields(n, fields, n == 1 or filled))
    return FormPart(
        action=action,
        stage=_plain("stage", "Where", form, options=stages),
        started=_plain("started", "Began", form),
        ended=_plain("ended", "Restarted", form),
        groups=tuple((title, tuple(fields)) for title, fields in groups.items()),
        baths=tuple(baths),
        units=form.units,
        revision=form.text("revision"),
        reason=_plain("why", "Why it is corrected", form) if amends else None,
        dangerous=bool(form.dangers),
        confirmed=form.confirmed,
        suggested=SUGGESTED,
        timezone=plant.site.timezone,
        sheet=form.text("sheet"),
        sheet_key=form.text("sheet_key"),
    )


def _field(one: RecordField, name: str, form: CleaningForm, currency: str) -> FormField:
    return FormField(
        name, one.label, one.symbol(form.units, currency), one.kind, form.text(name), one.hint, one.options,
        form.errors.get(name, ""), form.dangers.get(name, ""), form.unusual.get(name, ""),
    )  # fmt: skip


def _plain(name: str, label: str, form: CleaningForm, *, options: Options = ()) -> FormField:
    return FormField(name, label, "", "text", form.text(name), "", options, form.errors.get(name, ""), "", "")


def new_cleaning_page(frame: Frame, plant: Plant, train_id: int, form: CleaningForm) -> NewCleaningPage:
    """The page on which a cleaning is recorded."""
    action = f"/trains/{train_id}/cleanings"
    return NewCleaningPage(frame, plant.site.name, plant.train.name, train_id, form_part(plant, form, action))
