"""Every sentence of a check of an entry, with places for its numbers."""

from analytics.condition.meanings import RECOVERY

WORDS = {
    "number": "This is not a number; write it like 12.5 or 12,5, without a unit.",
    "comma": "{label} was read with a decimal comma, as {value} {unit}.",
    "possible": "{label} cannot be {value} {unit}; it lies between {low} and {high} {unit}.",
    "jump": "{label} {value} {unit} stands apart: lately it was about {middle} {unit}.",
    "usual": "{label} {value} {unit} is unusual: expected is {low} to {high} {unit}.",
    "counter back": "{label} went backwards: {value} {unit} after {last} {unit}.",
    "counter fast": "{label} rose by {rise} {unit} since it was read last, more than can have run in that time.",
    "pressure order": "{second} ({second_value} {second_unit}) lies above {first} ({first_value} {first_unit}); along "
    "the way of the water the pressure falls.",
    "salt order": "{second} ({second_value} {second_unit}) lies above {first} ({first_value} {first_unit}); it should "
    "hold less salt.",
    "flow balance": "{label} ({whole} {unit}) is not the sum of its parts ({parts} {unit}), by {percent} %.",
    "recovery": "Of {whole} {unit} that go through the membranes {percent} % leave as concentrate; "
    f"{100 * (1 - RECOVERY[1]):g} to {100 * (1 - RECOVERY[0]):g} % is usual: look at both flows again.",
    "salt balance": "Salt in and salt out differ by {percent} %, which is not usual here: look at the flows and the "
    "conductivities again.",
    "high sdi": "SDI {found} is above {high}, the most that element makers accept: look at the filters and the source.",
    "chlorine": "Free chlorine {found} {unit} reaches the membranes and destroys them: restore dechlorination now.",
    "high orp": "ORP {found} {unit} is above {high} {unit}, this site's own without chlorine and a margin: measure "
    "free chlorine (DPD) and look at the dosing.",
    "cartridge": "The cartridge filter takes {found} {unit}; at {high} {unit} cartridges are changed.",
    "little bisulfite": "Bisulfite is {found} times the chlorine before it; the reaction alone takes {low}. Some "
    "chlorine goes on to the membranes.",
    "antiscalant": "Antiscalant {found} {unit} is not what is meant here, {low} to {high} {unit}: draw the pump down.",
    "antiscalant tank": "By the tank, {found} mg/L of antiscalant went in since its level was read last; {low} to "
    "{high} are meant. If the train ran all the time, look at pump, tubing and air lock.",
    "copied": "{same} of {count} values are those of the last reading. Were the gauges read?",
    "future": "This time lies ahead of the clock.",
    "long ago": "This time lies more than a month back.",
    "meant unit": "Did you mean {suggestion} {unit} (read in {other})?",
    "meant point": "Did you mean {suggestion} {unit}? A decimal point may be lost.",
    "meant comma": "Did you mean {suggestion} {unit}? Then leave the comma out.",
    "meant digits": "Did you mean {suggestion} {unit}? Two digits may be swapped.",
}  # fmt: skip
"""Every sentence of a check, with places for its numbers."""
