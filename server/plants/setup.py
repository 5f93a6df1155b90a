"""The set-up page of a train as typed values: each choice with what it means, its default and where it comes from."""

from collections.abc import Sequence
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from server.display import moment, with_symbols
from server.documents.plant_keys import MEANINGS
from server.plants.changes import LIMITS
from server.plants.labels import setting_label
from server.plants.models import Limit, Reference, Train
from server.plants.setup_forms import WATERS, SetupForm, setting_fields
from server.templating import Frame

SOURCE_OF_DEFAULTS = (
    "Defaults are the middle of published cleaning criteria, which differ between makers; where no source is known "
    "they are common practice. Your membrane's data sheet comes first."
)


@dataclass(frozen=True)
class SetupField:
    """One choice; `options` where it is one of a few, `source` says who chose it, when and why."""

    name: str
    label: str
    text: str
    hint: str
    source: str
    error: str
    options: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class SetupPage:
    """All choices of one train."""

    frame: Frame
    site: str
    train: str
    train_id: int
    source_of_defaults: str
    limits: tuple[SetupField, ...]
    reference_source: str
    start: SetupField
    end: SetupField
    settings: tuple[SetupField, ...]
    reason: str
    reason_error: str
    error: str


def setup_page(
    frame: Frame,
    train: Train,
    form: SetupForm,
    limits: Sequence[Limit],
    references: Sequence[Reference],
    *,
    error: str = "",
) -> SetupPage:
    """Put the choices together; `limits` and `references` are newest first."""
    zone = ZoneInfo(train.site.timezone)
    newest = {limit.name: limit for limit in reversed(limits)}
    return SetupPage(
        frame=frame,
        site=train.site.name,
        train=train.name,
        train_id=train.id,
        source_of_defaults=SOURCE_OF_DEFAULTS,
        limits=tuple(_limit(name, form, newest.get(name), zone) for name in LIMITS),
        reference_source=_source(references[0], zone) if references else "The first days of the log.",
        start=_day("reference.start", "First day", form),
        end=_day("reference.end", "Last day, included", form),
        settings=(_water(form), *(_setting(path, form) for path in setting_fields())),
        reason=form.reason,
        reason_error=form.errors.get("reason", ""),
        error=error,
    )


def _limit(name: str, form: SetupForm, chosen: Limit | None, zone: ZoneInfo) -> SetupField:
    key, default = f"limits.{name}", LIMITS[name]
    return SetupField(
        name=key,
        label=setting_label(name),
        text=form.entered[key],
        hint=_hint(key, f"{default:g}"),
        source=_source(chosen, zone) if chosen else "",
        error=form.errors.get(key, ""),
        options=(),
    )


def _hint(path: str, default: str) -> str:
    meaning = with_symbols(MEANINGS[f"train.{path}"]).replace("`", "")
    return f"{meaning} Default {default}.".replace("..", ".")


def _source(chosen: Limit | Reference, zone: ZoneInfo) -> str:
    return f"{chosen.reason}, {chosen.author or 'somebody'}, {moment(chosen.created_at, zone)}"


def _day(name: str, label: str, form: SetupForm) -> SetupField:
    return SetupField(name, label, form.entered[name], "", "", form.errors.get(name, ""), ())


def _water(form: SetupForm) -> SetupField:
    hint, error = MEANINGS["train.water"], form.errors.get("water", "")
    return SetupField("water", "Water", form.entered["water"], hint, "", error, tuple(WATERS.items()))


def _setting(path: str, form: SetupForm) -> SetupField:
    one = setting_fields()[path]
    yes_or_no = isinstance(one.default, bool)
    default = "none" if one.default is None else str(one.default).lower() if yes_or_no else f"{one.default:g}"
    return SetupField(
        name=path,
        label=setting_label(one.name),
        text=form.entered[path],
        hint=_hint(path, default),
        source="",
        error=form.errors.get(path, ""),
        options=(("true", "Yes"), ("false", "No")) if yes_or_no else (),
    )
