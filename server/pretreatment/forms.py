"""Worksheets of the pretreatment: what is entered goes in the address, so that a sheet can be kept or sent."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from analytics.decisions.antiscalant_dose import (
    Dosing,
    dose_from_drawdown,
    dose_from_tank,
    judge_dose,
    pump_rate_ml_min,
)
from analytics.decisions.dechlorination import sulfite_dose
from analytics.decisions.silt_density import silt_density_index
from analytics.errors import InvalidSettings
from analytics.units import to_canonical
from server.display import number
from server.typed_numbers import typed_number


@dataclass(frozen=True)
class Sheet:
    """One worksheet: what was entered, the answer in sentences, or what is wrong with it."""

    fields: Mapping[str, str]
    answer: tuple[str, ...] = ()
    warning: str = ""
    error: str = ""

    def text(self, name: str) -> str:
        return self.fields.get(name, "")


Answer = tuple[tuple[str, ...], str]


def _number(fields: Mapping[str, str], name: str) -> float:
    """A number that was entered, with decimal point or comma."""
    text, words = fields.get(name, "").strip(), name.replace("_", " ")
    if not text:
        raise InvalidSettings(f"{words}: enter a number")
    try:
        return float(typed_number(text))
    except ValueError as error:
        said = str(error).removeprefix("This ").removesuffix(".")
        raise InvalidSettings(f'{words}: "{text[:30]}" {said}') from None


def _flow(fields: Mapping[str, str], unit: str) -> float:
    """[m3/h]"""
    return float(to_canonical(_number(fields, "flow"), unit, "m3/h"))


def filled(names: tuple[str, ...], query: Mapping[str, str], usual: Mapping[str, str], key: str,
           answer: Callable[[Mapping[str, str]], Answer]) -> Sheet:  # fmt: skip
    """A worksheet from the address: with its usual values where `key` is not in it, else with its answer."""
    if key not in query:
        return Sheet(usual)
    fields = {name: query.get(name, "")[:40] for name in names}
    try:
        said, warning = answer(fields)
    except InvalidSettings as error:
        return Sheet(fields, error=f"{str(error)[:1].upper()}{str(error)[1:]}.")
    return Sheet(fields, said, warning)


def sdi_answer(fields: Mapping[str, str]) -> Answer:
    minutes = _number(fields, "minutes")
    found = silt_density_index(_number(fields, "first_time"), _number(fields, "second_time"), int(minutes))
    said = (
        f"SDI{found.minutes} is {number(found.value, 2)}; the filter was plugged by {number(found.plugging_percent)} %."
    )
    return (said, *(() if not found.valid else (found.advice,))), ("" if found.valid else found.advice)


def sulfite_answer(fields: Mapping[str, str], *, flow_unit: str) -> Answer:
    found = sulfite_dose(
        fields["agent"],
        feed_flow_m3h=_flow(fields, flow_unit),
        chlorine_mg_l=_number(fields, "chlorine"),
        factor=_number(fields, "factor"),
        strength=_number(fields, "strength") / 100,
        density_kg_l=_number(fields, "density"),
    )
    said = (
        f"{number(found.grams_per_hour, 1)} g/h, {number(found.kilograms_per_day, 2)} kg a day:"
        f" {number(found.litres_per_hour, 3)} L/h of the solution.",
        f"1 mg of chlorine takes {number(found.stoichiometric, 2)} mg of {fields['agent']}, by the molar masses.",
    )
    return said, found.warning


def antiscalant_answer(fields: Mapping[str, str], *, flow_unit: str) -> Answer:
    dosing = Dosing(_number(fields, "product") / 100, _number(fields, "density"), _flow(fields, flow_unit))
    target, active = _number(fields, "target"), _number(fields, "active") / 100
    said = [f"For {target:g} mg/L of product the pump gives {number(pump_rate_ml_min(dosing, target), 2)} mL/min."]
    if fields["column"].strip():
        dose = dose_from_drawdown(dosing, _number(fields, "column"), _number(fields, "seconds"))
        said.append(f"By drawdown: {judge_dose(dose, target, active_share=active)}")
    if fields["tank"].strip():
        dose = dose_from_tank(dosing, _number(fields, "tank"), _number(fields, "hours"))
        said.append(f"By the tank: {judge_dose(dose, target, active_share=active)}")
    bad = [text for text in said if "too little" in text or "times what is meant" in text]
    return tuple(text for text in said if text not in bad), " ".join(bad)
