"""Find the unit in a header, a units row, or behind a number."""

import re
from dataclasses import dataclass

from analytics.errors import InvalidSettings
from analytics.units import unit
from server.intake.understand.words import only_known_words

PERCENT = "%"
_SIGNS = str.maketrans({
    "³": "3", "²": "2", "µ": "u", "μ": "u", "º": "°", "˚": "°", "·": "", "⁻": "-", "¹": "1", "∙": "",
})  # fmt: skip
_ACCENTS = str.maketrans("áàâéèêíîóôúû", "aaaeeeiioouu")
_SPELLINGS = {
    "us/cm": "uS/cm", "uscm": "uS/cm", "us/cm2": "uS/cm", "micros/cm": "uS/cm", "microsiemens/cm": "uS/cm",
    "microsiemens": "uS/cm", "micromhos": "uS/cm", "micromho/cm": "uS/cm", "micromhos/cm": "uS/cm", "umho": "uS/cm",
    "umhos": "uS/cm", "umhos/cm": "uS/cm", "umho/cm": "uS/cm", "us": "uS/cm", "us/cm@25c": "uS/cm", "mscm": "mS/cm",
    "us/cm@25°c": "uS/cm", "ms/cm": "mS/cm", "millisiemens/cm": "mS/cm", "mmho/cm": "mS/cm", "mmhos/cm": "mS/cm",
    "s/m": "S/m", "ms/m": "mS/m", "m3/h": "m3/h", "m3h": "m3/h", "m3/hr": "m3/h", "m3/hour": "m3/h", "cbm/h": "m3/h",
    "m3/std": "m3/h", "m3perh": "m3/h", "m^3/h": "m3/h", "m^3/hr": "m3/h", "cmh": "m3/h", "m3/d": "m3/d",
    "m3d": "m3/d", "m3/day": "m3/d", "m3/j": "m3/d", "m3/dia": "m3/d", "m3/tag": "m3/d", "m^3/d": "m3/d",
    "cmd": "m3/d", "m3/min": "m3/min", "lpm": "L/min", "l/min": "L/min", "l/mn": "L/min", "lmin": "L/min",
    "litres/min": "L/min", "liters/min": "L/min", "l/m": "L/min", "lps": "L/s", "l/s": "L/s", "l/sec": "L/s",
    "lph": "L/h", "l/h": "L/h", "l/hr": "L/h", "gpm": "gpm", "usgpm": "gpm", "gal/min": "gpm", "gals/min": "gpm",
    "gallons/min": "gpm", "gallon/min": "gpm", "g/min": "gpm", "gpmus": "gpm", "gpd": "gpd", "gal/d": "gpd",
    "gal/day": "gpd", "gallons/day": "gpd", "gph": "gph", "gal/h": "gph", "gal/hr": "gph", "mgd": "MGD", "mld": "MLD",
    "ml/d": "MLD", "bar": "bar", "bars": "bar", "barg": "bar", "bar(g)": "bar", "barü": "bar", "barue": "bar",
    "mbar": "mbar", "psi": "psi", "psig": "psi", "psi(g)": "psi", "psid": "psi", "#": "psi", "lb/in2": "psi",
    "lbs/in2": "psi", "lbf/in2": "psi", "kpa": "kPa", "kpag": "kPa", "kpa(g)": "kPa", "mpa": "MPa", "mpag": "MPa",
    "pa": "Pa", "kg/cm2": "kgf/cm2", "kgcm2": "kgf/cm2", "kgf/cm2": "kgf/cm2", "kg/cm^2": "kgf/cm2", "atm": "atm",
    "mwc": "mH2O", "mca": "mH2O", "mce": "mH2O", "mws": "mH2O", "mh2o": "mH2O", "c": "degC", "°c": "degC",
    "degc": "degC", "deg.c": "degC", "gradc": "degC", "grad": "degC", "celsius": "degC", "°": "degC", "oc": "degC",
    "degreesc": "degC", "degreec": "degC", "f": "degF", "°f": "degF", "degf": "degF", "deg.f": "degF", "of": "degF",
    "fahrenheit": "degF", "degreesf": "degF", "k": "K", "kelvin": "K", "mg/l": "mg/L", "mgl": "mg/L", "mg/lt": "mg/L",
    "g/l": "g/L", "ug/l": "ug/L", "ppm": "mg/L", "ppmw": "mg/L", "ppb": "ppb", "g/m3": "mg/L", "gpg": "grains/gal",
    "mg/lascl2": "mg/L", "mg/lcl2": "mg/L", "mv": "mV", "ntu": "NTU", "fnu": "FNU", "ftu": "NTU", "su": "-",
    "s.u.": "-", "phunits": "-", "kw": "kW", "hp": "hp", "w": "W", "kwh": "kWh", "mwh": "MWh", "hz": "Hz", "a": "A",
    "amp": "A", "amps": "A", "ampere": "A", "ma": "mA", "h": "h", "hr": "h", "hrs": "h", "hour": "h", "hours": "h",
    "std": "h", "m3": "m3", "cbm": "m3", "m^3": "m3", "l": "L", "lt": "L", "ltr": "L", "litre": "L", "litres": "L",
    "liter": "L", "liters": "L", "gal": "gal", "gals": "gal", "gallon": "gal", "gallons": "gal", "kgal": "kgal",
    "m3/jour": "m3/d", "m3/giorno": "m3/d", "m3/dag": "m3/d", "m3/heure": "m3/h", "m3/hora": "m3/h", "m3/ora": "m3/h",
    "m3/uur": "m3/h", "m3/u": "m3/h", "m3/stunde": "m3/h", "l/u": "L/h", "l/uur": "L/h", "l/stunde": "L/h",
    "l/std": "L/h", "l/heure": "L/h",
    "inh2o": "inH2O", "inwc": "inH2O", "inwg": "inH2O", "inofwater": "inH2O", "inchesofwater": "inH2O",
    "inchesh2o": "inH2O", "incheswc": "inH2O", "inaq": "inH2O", "fth2o": "ftH2O", "ftofwater": "ftH2O",
    "feetofwater": "ftH2O", "ftwc": "ftH2O", "fthd": "ftH2O",
    "бар": "bar", "мпа": "MPa", "кпа": "kPa", "кгс/см2": "kgf/cm2", "кг/см2": "kgf/cm2", "м3/ч": "m3/h", "м3/час":
    "m3/h",
    "м3/сут": "m3/d", "л/ч": "L/h", "л/час": "L/h", "л/мин": "L/min", "л/с": "L/s", "°с": "degC", "мксм/см": "uS/cm",
    "мкс/см": "uS/cm", "мсм/см": "mS/cm", "мг/л": "mg/L", "г/л": "g/L", "мв": "mV", "квт": "kW", "квт*ч": "kWh",
    "квтч": "kWh", "гц": "Hz", "м3": "m3", "л": "L", "ч": "h", "nte": "NTU", "℃": "degC", "℉": "degF", "t/h": "m3/h",
    "bar(u)": "bar", "m3/godz": "m3/h", "m3/saat": "m3/h", "m3/hod": "m3/h",
    "m3/tim": "m3/h", "mc/h": "m3/h", "mc/ora": "m3/h", "mc/g": "m3/d", "mc/giorno": "m3/d", "mc": "m3",
    "kl/d": "m3/d", "kl/day": "m3/d", "kld": "m3/d", "kl/h": "m3/h", "kl/hr": "m3/h", "klh": "m3/h", "ml/day": "MLD",
    "m3/time": "m3/h", "m3/timme": "m3/h", "m3/doba": "m3/d", "m3/den": "m3/d", "m3/dygn": "m3/d", "m3/gun": "m3/d",
    "%": PERCENT, "pct": PERCENT, "percent": PERCENT, "prozent": PERCENT, "-": "-",
}  # fmt: skip
_ALONE = frozenset(
    ("л", "ч", "c", "f", "k", "h", "a", "l", "w", "#", "°", "-", "us", "pa", "of", "oc", "grad", "std", "cmd")
)
"""Spellings that are only a unit where something else says so: brackets, or a row of units."""
_BRACKETS = re.compile(r"[\[({<]([^\])}>]{1,24})[\])}>]")


_AFTER_SLASH = re.compile(r"\s/\s+(\S[^/]{0,6}(?:/[^/]{1,8})?)$")
_SHARE = re.compile(r"[^\W\d][^\W]{0,7}\s?/\s?[^\W\d]\w{0,9}")
"""What reads as one unit over another, such as m3/week."""
_ABSOLUTE = re.compile(r"(?<![a-z])(?:m?bar|psi|[km]?pa)[\s.,]*[(\[]?\s*(?:a|abs|absolute?)\b\.?[)\]]?", re.IGNORECASE)
_POWER = re.compile(r"(?<=[\w³²])[ .·∙*](h|hr|d|day|s|min|cm|m|l)\s?(?:\^?[-−]1|⁻¹)(?!\w)", re.IGNORECASE)
"""A unit below another, as science writes it: m3 d-1."""
_IMPERIAL = re.compile(
    r"(?<![a-z])(?:igp[mdh]\b|(?:imp|imperial|uk)\b\.?\s*(?:gal|gp[mdh])\w*|gp[mdh]\s*[(\[]?(?:imp|imperial|uk)\b[)\]]?)",
    re.IGNORECASE,
)
ABSOLUTE = "an absolute pressure (pressures here are gauge, without that of the air)"
VACUUM = "a vacuum (pressures here are gauge: below that of the air they are less than nothing)"
IMPERIAL = "a flow in imperial gallons (those known here are a fifth smaller)"
_VACUUM = re.compile(
    r"(?<![a-z])(?:inhg|mmhg|in\.?\s?hg|m?bar|k?pa|psi)[\s.,]*[(\[]?\s*(?:vac|vacuum|vakuum)\b\.?[)\]]?", re.IGNORECASE
)
_LIKE_A_UNIT = re.compile(r"(?=.*[^\W\d_])[^\d]{1,24}")
_AMOUNT_PER = re.compile(r"\b(?:m3|l|ml|kg|g|mg|t|gal|kgal|ft3|bbl|lbs?|us|ms)\s?/\s?[a-z]\w{0,9}$", re.IGNORECASE)


@dataclass(frozen=True)
class FoundUnit:
    """A unit found in a header, the header without it, and where it stood.

    `unknown` stands where a unit must be, and `why` says more about it; `odd` stands where one could be.
    """

    unit: str
    rest: str
    where: str
    unknown: str = ""
    why: str = ""
    odd: str = ""


def not_taken(text: str) -> tuple[str, str]:
    """A unit in a text that must not be mistaken for a known one, and why; both empty where there is none.

    Examples
    --------
    >>> not_taken("Feed pressure (bar abs)")[0], not_taken("feed pressure psia")[0], not_taken("permeate igpm")[0]
    ('bar abs', 'psia', 'igpm')
    >>> not_taken("feed bar and psi")
    ('', '')
    """
    for pattern, why in ((_ABSOLUTE, ABSOLUTE), (_IMPERIAL, IMPERIAL), (_VACUUM, VACUUM)):
        found = pattern.search(text)
        if found is not None:
            return found[0].rstrip("])") if "(" not in found[0] else found[0], why
    return "", ""


def read_unit(text: str, *, alone: bool = True) -> str | None:
    """Canonical spelling of a unit, or None; `alone` also takes single letters such as C.

    Examples
    --------
    >>> read_unit("µS/cm"), read_unit("(PSIG)"), read_unit("m³/Tag"), read_unit("Remarks") is None
    ('uS/cm', 'psi', 'm3/d', True)
    """
    plain = text.strip().translate(_SIGNS).translate(_ACCENTS).strip(" []{}").strip()
    if plain.startswith("(") and plain.endswith(")"):
        plain = plain[1:-1]
    key = re.sub(r"\s+", "", plain).lower().replace("/per", "/").replace("per", "/" if "per" in plain.lower() else "")
    key = re.sub(r"[\s]", "", key)
    if key not in _SPELLINGS and "." in key and len(key) < 10:
        key = key.replace(".", "")
    if not alone and key in _ALONE:
        return None
    if key in _SPELLINGS:
        return _SPELLINGS[key]
    key = re.sub(r"(?:@|at)?25°?c?$", "", key)
    if key in _SPELLINGS and key not in _ALONE:
        return _SPELLINGS[key]
    if len(plain) > 12 or not key:
        return None
    try:
        return unit(plain).name
    except InvalidSettings:
        return None


def find_unit(header: str) -> FoundUnit:
    """The unit that a header names, in brackets or at its end.

    Examples
    --------
    >>> find_unit("Feed Press. (psi)").unit, find_unit("perm_cond_us_cm").unit, find_unit("PI 02 feed psi").unit
    ('psi', 'uS/cm', 'psi')
    """
    header = _POWER.sub(r"/\1", header)
    refused, why = not_taken(header)
    if refused:
        return FoundUnit("", header, "", refused, why)
    for found in reversed(list(_BRACKETS.finditer(header))):
        name = read_unit(found[1])
        if name is not None:
            rest = f"{header[: found.start()]} {header[found.end() :]}".strip()
            return FoundUnit(name, rest, f'"{found[0]}" in its name')
    spaced = _AFTER_SLASH.search(header)
    if spaced and (name := read_unit(spaced[1])) is not None:
        return FoundUnit(name, header[: spaced.start()], f'"{spaced[1]}" in its name')
    words = [word for word in re.split(r"[\s,;:_]+", header.replace(" /", "/").replace("/ ", "/")) if word]
    for length in (3, 2, 1):
        if len(words) <= length:
            continue
        tail = words[-length:]
        for joint in ("", "/"):
            name = read_unit(joint.join(tail), alone=False) if length > 1 or not joint else None
            if name is not None and name != "-":
                return FoundUnit(name, " ".join(words[:-length]), f'"{" ".join(tail)}" at the end of its name')
    return _inside(header, words)


def _inside(header: str, words: list[str]) -> FoundUnit:
    for number, word in enumerate(words):
        name = read_unit(word.strip(".()[]"), alone=False)
        if name is not None and name != "-":
            rest = " ".join(words[:number] + words[number + 1 :])
            return FoundUnit(name, rest or header, f'"{word}" in its name')
    for slash in re.finditer(r"\s*/\s*", header):
        behind = header[slash.end() :]
        if (name := read_unit(behind)) is not None and slash.start():
            return FoundUnit(name, header[: slash.start()], f'"/{behind}" in its name')
    dotted = re.sub(r"(?<=[^\W\d_]{3})\.(?=[^\W\d_])", " ", header)
    if dotted != header and (inner := find_unit(dotted)).unit:
        return inner
    if len(words) > 1 and words[-1] in {"C", "F", "°"}:
        return FoundUnit("degF" if words[-1] == "F" else "degC", " ".join(words[:-1]), f'"{words[-1]}" at its end')
    if len(words) > 1 and words[-1].translate(_SIGNS) == "uS":
        return FoundUnit("uS/cm", " ".join(words[:-1]), f'"{words[-1]}" at its end')
    unknown = next((found[1] for found in _BRACKETS.finditer(header) if _SHARE.fullmatch(found[1].strip())), "")
    last = _AMOUNT_PER.search(header.translate(_SIGNS))
    unknown = unknown or (last[0] if last else "")
    odd = next((found[1].strip() for found in _BRACKETS.finditer(header) if not only_known_words(found[1])), "")
    return FoundUnit("", header, "", unknown, odd="" if unknown or not _LIKE_A_UNIT.fullmatch(odd) else odd)
