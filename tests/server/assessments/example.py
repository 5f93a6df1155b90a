"""An invented assessment of an invented two-stage train whose last stage scales up, for tests of charts and pages.

Not a result of the method: the figures are drawn from a fixed seed so that a page has something to show.
"""

import tomllib
from datetime import date, timedelta
from typing import Any

import numpy as np

from analytics.plant import Plant
from analytics.plant_file import plant_from_dict

PLANT = """
[site]
name = "Tarn Quay Nurseries"
timezone = "Europe/Lisbon"

[train]
name = "Skid 2"

[[train.stage]]
vessels = 2
elements_per_vessel = 6
membrane = "bw8"

[[train.stage]]
vessels = 1
elements_per_vessel = 6
membrane = "bw8"

[membrane.bw8]
area_m2 = 37.2
temperature_correction = "two-slope"

[train.reference]
start = "2025-01-06"
end = "2025-01-20"
"""

FIRST = date(2025, 1, 6)
DAYS = 421
CLEANED = 192

LATEST = {
    "feed_temperature_c": 17.4, "feed_conductivity_us_cm": 3480.0, "feed_pressure_bar": 13.62, "feed_ph": 7.21,
    "feed_flow_m3h": 19.7, "permeate_flow_m3h": 14.1, "permeate_conductivity_us_cm": 78.4,
    "permeate_pressure_bar": 0.62, "concentrate_flow_m3h": 5.6, "concentrate_pressure_bar": 10.43,
    "concentrate_conductivity_us_cm": 11_640.0, "stage1_concentrate_pressure_bar": 11.94,
    "stage1_permeate_flow_m3h": 10.2, "stage1_permeate_conductivity_us_cm": 51.0,
    "cartridge_inlet_pressure_bar": 3.4, "cartridge_outlet_pressure_bar": 3.05, "pump_discharge_pressure_bar": 13.9,
}  # fmt: skip


def example_plant() -> Plant:
    return plant_from_dict(tomllib.loads(PLANT))


def _slope(before: float, after: float, start: float = 1.0, restart: float = 1.0, flat: int = 40) -> np.ndarray:
    days = np.arange(DAYS, dtype=float)
    first = start + (before - start) * np.clip((days - flat) / (CLEANED - flat), 0, 1)
    second = restart + (after - restart) * np.clip((days - CLEANED) / (DAYS - 1 - CLEANED), 0, 1)
    return np.where(days < CLEANED, first, second)


TRUTH = {
    ("train", "permeate_flow"): _slope(0.935, 0.922, restart=0.985),
    ("train", "salt_passage"): _slope(1.08, 1.131, restart=1.03),
    ("stage1", "permeate_flow"): _slope(0.985, 0.99, restart=0.995),
    ("stage1", "salt_passage"): _slope(1.01, 1.02),
    ("stage1", "pressure_drop"): _slope(1.01, 1.02),
    ("stage2", "permeate_flow"): _slope(0.85, 0.81, restart=0.97),
    ("stage2", "salt_passage"): _slope(1.15, 1.22, restart=1.05),
    ("stage2", "pressure_drop"): _slope(1.16, 1.11, restart=1.02),
}  # fmt: skip
LIMITS = {
    "permeate_flow": (0.93, 0.90, 0.80),
    "salt_passage": (1.10, 1.15, None),
    "pressure_drop": (1.10, 1.15, 1.50),
}


def _iso(offset: int) -> str:
    return (FIRST + timedelta(days=offset)).isoformat()


def _segment(values: np.ndarray, start: int, end: int, half: float) -> dict[str, Any]:
    ends = {"start": values[start], "end": values[end]}
    segment: dict[str, Any] = {"start": _iso(start), "end": _iso(end)}
    for at, value in ends.items():
        segment |= {f"value_{at}": float(value), f"low_{at}": float(value) - half, f"high_{at}": float(value) + half}
    return segment


def _forecast(values: np.ndarray, name: str) -> dict[str, Any]:
    rate, length = (values[-1] - values[-60]) / 59, 140
    wide = 0.03 if name == "permeate_flow" else 0.06
    return {
        "start": _iso(DAYS - 1), "end": _iso(DAYS - 1 + length), "value_start": float(values[-1]),
        "value_end": float(values[-1] + rate * length), "low_start": float(values[-1]) - 0.008,
        "high_start": float(values[-1]) + 0.008, "low_end": float(values[-1] + rate * length) - wide,
        "high_end": float(values[-1] + rate * length) + wide,
    }  # fmt: skip


def _series() -> dict[str, Any]:
    rng = np.random.default_rng(20260301)
    gaps = rng.random(DAYS) < 0.06
    series: dict[str, Any] = {"day": [_iso(n) for n in range(DAYS)]}
    for (scope, name), truth in TRUTH.items():
        noise = {"permeate_flow": 0.008, "salt_passage": 0.018, "pressure_drop": 0.025}[name]
        values = truth * (1 + rng.normal(0, noise, DAYS))
        values[gaps] = np.nan
        series.setdefault(scope, {})[name] = [None if np.isnan(v) else round(float(v), 4) for v in values]
    return series


def _standing(value: float, warn: float, limit: float, too_late: float | None) -> str:
    sign = -1 if limit < 1 else 1
    for line, name in ((too_late, "too late"), (limit, "clean"), (warn, "warn")):
        if line is not None and sign * (round(value, 3) - line) >= 0:
            return name
    return "fine"


def _indicators() -> list[dict[str, Any]]:
    found = []
    for (scope, name), truth in TRUTH.items():
        warn, limit, too_late = LIMITS[name]
        half, now = (0.008, float(truth[-1]))
        rate = float(truth[-1] - truth[-60]) / 59 * 30
        reach = {"earliest": "2026-04-24", "likely": "2026-05-20", "latest": "2026-06-20"}
        reaches_limit = reach if (scope, name) == ("train", "permeate_flow") else None
        found.append({
            "scope": scope, "name": name, "value": now, "low": now - half, "high": now + half,
            "change_per_30_days": rate, "change_low": rate - 0.002, "change_high": rate + 0.002, "warn": warn,
            "limit": limit, "too_late": too_late, "reaches_limit": reaches_limit,
            "days": 230, "temperature_corrected": True, "standing": _standing(now, warn, limit, too_late),
        })  # fmt: skip
    return found


def _trends() -> list[dict[str, Any]]:
    return [
        {
            "scope": scope, "name": name,
            "segments": [
                _segment(truth, 0, 40, 0.008), _segment(truth, 40, CLEANED - 1, 0.008),
                _segment(truth, CLEANED, DAYS - 1, 0.008),
            ],
            "forecast": _forecast(truth, name),
        }
        for (scope, name), truth in TRUTH.items()
    ]  # fmt: skip


def example_document() -> dict[str, Any]:
    """An assessment document with everything that a page can show."""
    return {
        "format": "skidbook-assessment-1", "version": "0.1.0", "method": "standard", "site": "Tarn Quay Nurseries",
        "train": "Skid 2", "as_of": "2026-03-02T06:10:00Z",
        "span": {"first": "2025-01-06T06:00:00Z", "last": "2026-03-02T06:10:00Z"},
        "verdict": {
            "level": "plan cleaning",
            "headline": "Plan a cleaning of stage 2 between 24 April and 20 June 2026.",
            "reasons": [
                "Normalized permeate flow is 7.8 % below the reference and falls 0.8 % in 30 days.",
                "Stage 2 carries nearly all of the loss: 19 % there, 1 % in stage 1.",
                "Salt passage of stage 2 rises with it; its pressure drop rises later and less.",
            ],
        },
        "reference": {
            "start": "2025-01-06", "end": "2025-01-20", "days": 15, "readings": 41, "chosen": "plant file",
            "conditions": {"feed_pressure_bar": 12.1, "feed_temperature_c": 15.2, "permeate_flow_m3h": 14.4,
                           "feed_conductivity_us_cm": 3320.0},
        },
        "indicators": _indicators(), "trends": _trends(),
        "runs": [
            {"start": "2025-01-06", "end": "2025-07-16", "opened_by": "start of the log", "stage": None},
            {"start": "2025-07-17", "end": "2026-03-02", "opened_by": "cleaning", "stage": 2},
        ],
        "causes": [
            {"cause": "scaling", "stage": 2, "probability": 0.71,
             "evidence": ["The loss sits in the last stage.", "Salt passage rises together with the loss of flow."],
             "next_check": "Weigh the last element of stage 2."},
            {"cause": "colloidal", "stage": 2, "probability": 0.14, "evidence": [], "next_check": ""},
        ],
        "meters": [{"quantity": "permeate_flow", "bias": -0.012, "low": -0.02, "high": -0.004, "suspect": False}],
        "readings": {
            "total": 1284, "used": 1246, "set_aside": {"start-up": 21, "out of range": 11, "spike": 6},
            "values_set_aside": {"stage1_permeate_conductivity": {"frozen value": 130}},
        },
        "missing": [
            {"quantity": "stage2_permeate_conductivity", "effect": "salt of stage 2 is worked out by balance"},
        ],
        "notes": ["Salt passage is taken from conductivity, 0.55 mg/L per µS/cm."],
        "series": _series(),
    }  # fmt: skip
