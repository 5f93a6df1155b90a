"""Weekly walks past what stands before the membranes of one train: a second log of its own, invented.

Canal water chlorinated at the intake: SDI follows the mud, sulfite takes the chlorine out, cartridges clog until they
are changed, and in April 2026 a worn tube gave too little antiscalant for three weeks.
"""

from datetime import date, timedelta

import numpy as np

from demo_data.stories.span import DAYS, START

SEED = 20251103
HEADER = (
    "time", "feed_sdi [-]", "raw_free_chlorine [mg/L]", "feed_free_chlorine [mg/L]", "feed_orp [mV]",
    "bisulfite_dose [mg/L]",
    "antiscalant_dose [mg/L]", "antiscalant_tank_level [L]", "cartridge_inlet_pressure [bar]",
    "cartridge_outlet_pressure [bar]", "remark",
)  # fmt: skip
CHANGES = (date(2025, 11, 4), date(2026, 2, 10), date(2026, 5, 19), date(2026, 8, 25))
"""Of the cartridges, as the events file has them."""
WORN = (date(2026, 4, 6), date(2026, 4, 27))
TARGET_MG_L, TANK_SHARE, DENSITY_KG_L = 3.0, 0.20, 1.05
FEED_M3_DAY = 60.0 * 24
TANK_FULL_L, TANK_LOW_L = 1000.0, 250.0
CLEAN_DROP_BAR, LAST_DROP_BAR, LASTS_DAYS = 0.25, 0.85, 98.0


def walks_text() -> str:
    """The log of the walks as a readings file."""
    rng = np.random.default_rng(SEED)
    level, lines = TANK_FULL_L, [",".join(HEADER)]
    mud = 0.0
    for week in range(DAYS // 7):
        day = START + timedelta(days=7 * week + 3)
        mud = 0.7 * mud + rng.normal(0.0, 0.45)
        dose = TARGET_MG_L * (0.72 if WORN[0] <= day < WORN[1] else 1.0) * rng.normal(1.0, 0.02)
        level -= 7 * dose * FEED_M3_DAY / (TANK_SHARE * DENSITY_KG_L * 1000) if week else 0.0
        remark = "Antiscalant tank filled" if level < TANK_LOW_L else ""
        remark = "Worn pump tube found and changed" if day - timedelta(days=7) < WORN[1] <= day else remark
        level = TANK_FULL_L if level < TANK_LOW_L else level
        lines.append(_line(day, mud, dose, level, remark, rng))
    return "\n".join(lines) + "\n"


def _line(day: date, mud: float, dose: float, level: float, remark: str, rng: np.random.Generator) -> str:
    raw = max(0.65 + rng.normal(0.0, 0.08), 0.3)
    drop = CLEAN_DROP_BAR + (LAST_DROP_BAR - CLEAN_DROP_BAR) * min(_age(day) / LASTS_DAYS, 1.0) ** 2
    inlet = 3.1 + rng.normal(0.0, 0.05)
    values = (
        f"{min(3.1 + 0.6 * mud, 5.6):.1f}", f"{raw:.2f}", "0.00", f"{172 + rng.normal(0.0, 7):.0f}",
        f"{raw * rng.normal(2.6, 0.12):.1f}", f"{dose:.1f}", f"{level:.0f}", f"{inlet:.2f}", f"{inlet - drop:.2f}",
    )  # fmt: skip
    return ",".join((f"{day.isoformat()}T10:30", *values, remark))


def _age(day: date) -> float:
    """Days since the cartridges were changed."""
    return float(min(((day - change).days for change in CHANGES if change <= day), default=(day - START).days))
