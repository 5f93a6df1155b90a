"""What a person enters of an analysis, as entered, with what is wrong beside each field."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from analytics.decisions.feed_analysis import GIVEN_AS, Analysis, as_ion_mg_l
from analytics.decisions.scaling_limits import LANGELIER, Limit
from analytics.errors import InvalidSettings
from analytics.physics.dissolved import IONS
from server.feedwater.models import FeedAnalysis
from server.typed_numbers import number_problem, typed_number

LONGEST_REMARK = 1_000
OTHERS = ("ph", "temperature_c", "alkalinity_mg_l", "conductivity_us_cm")
HIGHEST = {"ph": 14.0, "temperature_c": 60.0, "alkalinity_mg_l": 10_000.0, "conductivity_us_cm": 200_000.0}


def number_entered(text: str) -> float | None:
    """A number with a decimal point or comma; NaN where it is none, None where nothing was entered."""
    if not text.strip():
        return None
    return math.nan if number_problem(text) else float(typed_number(text))


def _not_between(text: str, most: float) -> str:
    return f'"{text[:40]}" is not a number between 0 and {most:g}. {number_problem(text)}'.rstrip()


@dataclass(frozen=True)
class AnalysisForm:
    """Fields as text, by name: when, remark, the four of `OTHERS`, and per ion `ion_<name>` and `unit_<name>`."""

    fields: Mapping[str, str]
    errors: Mapping[str, str] = field(default_factory=dict)

    def text(self, name: str) -> str:
        return self.fields.get(name, "")

    def unit(self, ion: str) -> str:
        return self.fields.get(f"unit_{ion}", GIVEN_AS[0])

    def checked(self, zone: ZoneInfo, now: datetime) -> "AnalysisForm":
        """The same form with what is wrong with it."""
        errors: dict[str, str] = {}
        when = self._time(zone)
        if when is None:
            errors["when"] = "Enter the day and time of the sample, such as 2026-03-01 14:30."
        elif when > now + timedelta(days=1):
            errors["when"] = "This lies in the future; a sample is something that was taken."
        for name in OTHERS:
            value = number_entered(self.text(name))
            if value is None and name in ("ph", "temperature_c"):
                errors[name] = "Needed: what can form depends on it."
            elif value is not None and not 0 <= value <= HIGHEST[name]:
                errors[name] = _not_between(self.text(name), HIGHEST[name])
        errors |= self._ion_errors()
        if len(self.text("remark")) > LONGEST_REMARK:
            errors["remark"] = f"At most {LONGEST_REMARK} characters, please."
        if not errors:
            errors |= self._analysis_error()
        return AnalysisForm(self.fields, errors)

    def _ion_errors(self) -> dict[str, str]:
        errors = {}
        for name, ion in IONS.items():
            value = number_entered(self.text(f"ion_{name}"))
            if value is None:
                continue
            if not 0 <= value <= 100_000:
                errors[f"ion_{name}"] = _not_between(self.text(f"ion_{name}"), 100_000)
            elif self.unit(name) not in GIVEN_AS:
                errors[f"ion_{name}"] = "Choose one of the units."
            elif not ion.charge and self.unit(name) != GIVEN_AS[0]:
                errors[f"ion_{name}"] = f"{ion.label} has no charge; give it in mg/L."
        if not any(number_entered(self.text(f"ion_{name}")) for name in IONS):
            errors["ion_calcium"] = "Enter at least one ion."
        return errors

    def _analysis_error(self) -> dict[str, str]:
        """What the analysis as a whole says against itself."""
        try:
            self._analysis()
        except InvalidSettings as error:
            text = str(error)
            about = "ph" if text.startswith("pH") else "temperature_c" if text.startswith("temp") else "ion_calcium"
            return {about: text}
        return {}

    def _analysis(self) -> Analysis:
        ions = {name: as_ion_mg_l(name, value, self.unit(name)) for name, value in self._values().items()}
        ph, temperature, alkalinity, conductivity = (number_entered(self.text(name)) for name in OTHERS)
        return Analysis(ions, ph or 0.0, temperature or 0.0, alkalinity, conductivity)

    def _values(self) -> dict[str, float]:
        values = {name: number_entered(self.text(f"ion_{name}")) for name in IONS}
        return {name: value for name, value in values.items() if value is not None}

    def row(self, train_id: int, zone: ZoneInfo) -> FeedAnalysis:
        """The analysis as it is kept; only for a form without errors."""
        when = self._time(zone)
        assert when is not None
        ph, temperature, alkalinity, conductivity = (number_entered(self.text(name)) for name in OTHERS)
        kept = {name: {"value": value, "given_as": self.unit(name)} for name, value in self._values().items()}
        return FeedAnalysis(
            train_id=train_id, sampled_at=when, entered=kept, ph=ph, temperature_c=temperature,
            alkalinity_mg_l=alkalinity, conductivity_us_cm=conductivity, remark=self.text("remark").strip(), author="",
        )  # fmt: skip

    def _time(self, zone: ZoneInfo) -> datetime | None:
        try:
            entered = datetime.fromisoformat(self.text("when").strip())
            local = entered if entered.tzinfo else entered.replace(tzinfo=zone)
            return local.astimezone(UTC)
        except (ValueError, OverflowError):
            return None


@dataclass(frozen=True)
class LimitsForm:
    """Limits of the concentrate as entered: `without_<number>` and `with_<number>` in the order of the limits."""

    fields: Mapping[str, str]
    errors: Mapping[str, str] = field(default_factory=dict)

    @classmethod
    def of(cls, limits: Mapping[str, Limit]) -> "LimitsForm":
        pairs = {
            f"{side}_{n}": f"{value:g}"
            for n, limit in enumerate(limits.values())
            for side, value in (("without", limit.without_antiscalant), ("with", limit.with_antiscalant))
        }
        return cls(pairs)

    def text(self, name: str) -> str:
        return self.fields.get(name, "")

    def checked(self, names: tuple[str, ...]) -> "LimitsForm":
        errors = {}
        for n, name in enumerate(names):
            low, high = number_entered(self.text(f"without_{n}")), number_entered(self.text(f"with_{n}"))
            least, most = (-5.0, 5.0) if name == LANGELIER else (1.0, 100_000.0)
            if low is None or high is None or not (least <= low <= most and least <= high <= most):
                errors[f"with_{n}"] = f"Two numbers between {least:g} and {most:g}, please."
            elif high < low:
                errors[f"with_{n}"] = "With antiscalant the limit cannot be lower than without."
        if not self.text("reason").strip():
            errors["reason"] = "Say why, so that the record can be trusted."
        return LimitsForm(self.fields, errors)

    def limits(self, names: tuple[str, ...]) -> dict[str, Limit]:
        """The limits that were entered; only for a form without errors."""
        numbers = {key: number_entered(text) or 0.0 for key, text in self.fields.items() if "_" in key}
        return {name: Limit(numbers[f"without_{n}"], numbers[f"with_{n}"]) for n, name in enumerate(names)}
