"""Settings of a plant file as a page names them."""

UNITS = {
    "_mg_l": "mg/L", "_ppm_h": "ppm·h", "_bar": "bar", "_mv": "mV", "_m3h": "m³/h", "_m3": "m³", "_minutes": "minutes",
    "_hours": "hours", "_days": "days", "_us_cm": "µS/cm", "_m2": "m²", "_kg_l": "kg/L", "_kg": "kg", "_c": "°C",
    "_m": "m", "_inch": "inch", "_25c": "at 25 °C", "_35c": "at 35 °C", "_45c": "at 45 °C",
}  # fmt: skip
STANDINGS = ("_warn", "_clean", "_too_late")
SAID = {"min": "least", "max": "most", "orp": "ORP", "tds": "TDS", "dp": "pressure drop", "ph": "pH", "sdi": "SDI"}


def setting_label(name: str) -> str:
    """A setting in words, with its unit behind it.

    Examples
    --------
    >>> setting_label("max_orp_rise_mv"), setting_label("permeate_flow_too_late")
    ('Most ORP rise, mV', 'Permeate flow: too late')
    """
    unit = next((end for end in UNITS if name.endswith(end)), "")
    standing = next((end for end in STANDINGS if name.endswith(end)), "")
    words = [SAID.get(word, word) for word in name.removesuffix(unit).removesuffix(standing).split("_")]
    text = " ".join(words)
    text = f"{text[:1].upper()}{text[1:]}"
    if standing:
        return f"{text}: {standing[1:].replace('_', ' ')}"
    return f"{text}, {UNITS[unit]}" if unit else text


def path_label(path: str) -> str:
    """A setting by its path in the plant file, in words.

    Examples
    --------
    >>> path_label("membrane.bw8.max_dp_element_bar"), path_label("train.name")
    ('Membrane bw8: most pressure drop element, bar', 'Train: name')
    """
    above, _, name = path.rpartition(".")
    label = setting_label(name)
    where = " ".join(above.removeprefix("train.").replace("_", " ").split("."))
    return f"{where[:1].upper()}{where[1:]}: {label[:1].lower()}{label[1:]}" if where else label
