"""What a person enters to correct a reading, or to take it out of use."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from analytics.quantities import COLUMNS, STATES, Quantity
from analytics.units import display_unit, from_canonical, to_canonical
from server.errors import Conflict
from server.readings.models import Reading
from server.typed_numbers import number_problem, typed_number

LONGEST_REASON = 1_000
LONGEST_REMARK = 2_000


def as_entered(value: float | None, quantity: Quantity, units: str) -> str:
    """A value as it stands in a field: in the reader's units, whole enough to tell whether it was changed."""
    if value is None:
        return ""
    return f"{float(from_canonical(value, quantity.unit, display_unit(quantity.unit, units))):.7g}"


@dataclass(frozen=True)
class AmendForm:
    """Values as text in the units of `units`, exactly as entered; `revision` is the one that the person saw."""

    values: dict[str, str]
    state: str
    remark: str
    reason: str
    units: str
    revision: str
    errors: dict[str, str] = field(default_factory=dict)

    @classmethod
    def of(cls, reading: Reading, columns: list[str], units: str) -> "AmendForm":
        """The form before anything is changed."""
        values = {name: as_entered(getattr(reading, name), COLUMNS[name], units) for name in columns}
        return cls(values, reading.state, reading.remark, "", units, str(reading.revision))

    @classmethod
    def sent(cls, form: Mapping[str, str]) -> "AmendForm":
        """What came in; fields that are not known are passed over."""
        values = {name: form[name] for name in COLUMNS if name in form}
        state, remark, reason = (form.get(name, "") for name in ("state", "remark", "reason"))
        units = "US" if form.get("units") == "US" else "SI"
        return cls(values, state, remark.replace("\r\n", "\n"), reason, units, form.get("revision", ""))

    def checked(self, reading: Reading) -> "AmendForm":
        """The same form with what is wrong with it; raises `Conflict` when somebody else was faster."""
        if self.revision != str(reading.revision):
            raise Conflict("This reading was corrected while you looked at it; nothing was changed.")
        errors = {name: _problem(text) for name, text in self.values.items() if _problem(text)}
        if self.state not in ("", *STATES):
            errors["state"] = "Choose one of these."
        if len(self.remark) > LONGEST_REMARK:
            errors["remark"] = f"At most {LONGEST_REMARK} characters, please."
        if not self.reason.strip():
            errors["reason"] = "Say why, so that the record can be trusted."
        elif len(self.reason) > LONGEST_REASON:
            errors["reason"] = f"At most {LONGEST_REASON} characters, please."
        elif not errors and not self.changed(reading) and not self.words_changed(reading):
            errors["reason"] = "Nothing was changed above."
        return replace(self, errors=errors)

    def changed(self, reading: Reading) -> dict[str, float | None]:
        """Values that differ from those of the reading, in canonical units."""
        found: dict[str, float | None] = {}
        for name, text in self.values.items():
            quantity, entered = COLUMNS[name], text.strip()
            if entered == as_entered(getattr(reading, name), quantity, self.units):
                continue
            unit = display_unit(quantity.unit, self.units)
            found[name] = float(to_canonical(float(typed_number(entered)), unit, quantity.unit)) if entered else None
        return found

    def words_changed(self, reading: Reading) -> bool:
        """Whether the state or the remark differs from that of the reading."""
        return (self.state, self.remark) != (reading.state, reading.remark)


def _problem(text: str) -> str:
    if not text.strip():
        return ""
    problem = number_problem(text)
    if problem:
        return problem
    return "" if abs(float(typed_number(text))) < 1e12 else "This cannot be a reading."
