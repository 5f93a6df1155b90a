"""Settings of a plant file as a page names them."""

UNITS = {
    "_mg_l": "mg/L", "_ppm_h": "ppm·h", "_bar": "bar", "_mv": "mV", "_m3h": "m³/h", "_minutes": "minutes",
    "_hours": "hours", "_days": "days",
}  # fmt: skip
STANDINGS = ("_warn", "_clean", "_too_late")
SAID = {"min": "least", "max": "most", "orp": "ORP", "tds": "TDS"}


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
