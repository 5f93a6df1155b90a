"""What a person enters on the set-up page: limits, reference period and settings, as text."""

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any

from analytics.plant import Assumed, CleaningSystem, DosingSystem, Meters, Method, Plant, Screening
from server.plants.changes import LIMITS, SETTINGS, Choices
from server.typed_numbers import number_problem, typed_number

TABLES: dict[str, type] = dict(
    zip(SETTINGS, (Assumed, Method, Screening, Meters, CleaningSystem, DosingSystem), strict=True)
)
WATERS = {
    "natural-brackish": "Natural brackish water", "sodium-chloride": "Sodium chloride", "seawater": "Seawater",
}  # fmt: skip


def setting_fields() -> dict[str, "dataclasses.Field[Any]"]:
    """Every setting by its path, such as `screening.spike_ratio`."""
    return {f"{key}.{one.name}": one for key, kind in TABLES.items() for one in dataclasses.fields(kind)}


@dataclass(frozen=True)
class SetupForm:
    """`entered` holds all fields as text: `limits.NAME`, `reference.start`, `reference.end`, `water`, and settings."""

    entered: dict[str, str]
    reason: str = ""
    errors: dict[str, str] = field(default_factory=dict)

    @classmethod
    def of(cls, plant: Plant) -> "SetupForm":
        """The form with what stands."""
        train = plant.train
        entered = {f"limits.{name}": _text(getattr(train.limits, name)) for name in LIMITS}
        entered["reference.start"] = train.reference.start.isoformat() if train.reference else ""
        entered["reference.end"] = train.reference.end.isoformat() if train.reference else ""
        entered["water"] = train.water
        for path in setting_fields():
            key, name = path.split(".")
            entered[path] = _text(getattr(getattr(train, key), name))
        return cls(entered)

    @classmethod
    def sent(cls, form: Mapping[str, str], present: Plant) -> "SetupForm":
        """What came in; a field that did not come stays as it is."""
        entered = {name: form.get(name, text) for name, text in cls.of(present).entered.items()}
        return cls(entered, form.get("reason", ""))

    def checked(self) -> "SetupForm":
        """The same form with what is wrong with it."""
        errors: dict[str, str] = {}
        for name, text in self.entered.items():
            if name == "water":
                problem = "" if text in WATERS else "Choose one of these."
            elif name.startswith("reference."):
                problem = "" if not text.strip() or _day(text) else "Enter a day, such as 2026-01-05."
            else:
                problem = _problem(name, text)
            errors |= {name: problem} if problem else {}
        if bool(self.entered["reference.start"].strip()) != bool(self.entered["reference.end"].strip()):
            errors.setdefault("reference.end", "Give both days, or none.")
        if not self.reason.strip():
            errors["reason"] = "Say why, so that the record can be trusted."
        return replace(self, errors=errors)

    def choices(self) -> Choices:
        """What was chosen; only for a form without errors."""
        start, end = _day(self.entered["reference.start"]), _day(self.entered["reference.end"])
        settings: dict[str, dict[str, Any]] = {key: {} for key in SETTINGS}
        for path, one in setting_fields().items():
            value = _value(one, self.entered[path])
            if value != one.default:
                settings[one_table(path)][one.name] = value
        return Choices(
            limits={
                name: float(typed_number(self.entered[f"limits.{name}"].strip() or str(default)))
                for name, default in LIMITS.items()
            },
            reference=(start, end) if start and end else None,
            water=self.entered["water"],
            settings=settings,
        )


def one_table(path: str) -> str:
    """The table that a path is in: `screening` of `screening.spike_ratio`."""
    return path.split(".")[0]


def _text(value: Any) -> str:
    if value is None:
        return ""
    return str(value).lower() if isinstance(value, bool) else f"{value:.10g}"


def _problem(name: str, text: str) -> str:
    one = setting_fields().get(name)
    if one is not None and isinstance(one.default, bool):
        return "" if text in ("true", "false") else "Choose yes or no."
    if not text.strip():
        return ""
    problem = number_problem(text)
    if problem:
        return problem
    value = float(typed_number(text))
    whole = one is not None and isinstance(one.default, int)
    return "Give a whole number." if whole and value != int(value) else ""


def _value(one: "dataclasses.Field[Any]", text: str) -> Any:
    """The value of a setting; an empty field means the default."""
    if isinstance(one.default, bool):
        return text == "true"
    if not text.strip():
        return one.default
    value = float(typed_number(text))
    return int(value) if isinstance(one.default, int) else value


def _day(text: str) -> date | None:
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        return None
