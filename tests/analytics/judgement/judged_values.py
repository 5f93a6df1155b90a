"""Indicators as a judge would get them, by their numbers alone."""

from datetime import date

from analytics.judgement.limits import Indicator, standing
from analytics.judgement.reach import DateRange
from analytics.plant import Limits

TODAY = date(2026, 3, 1)


def indicator(
    name: str,
    value: float,
    *,
    scope: str = "train",
    allowance: float = 0.0,
    reaches: date | None = None,
    temperature_corrected: bool = True,
    closure: float = 0.0,
) -> Indicator:
    """An indicator with the default limits; `reaches` is the likely date of its limit, two weeks give or take."""
    limits = Limits()
    warn, clean, late = (getattr(limits, f"{name}_{what}") for what in ("warn", "clean", "too_late"))
    when = None
    if reaches:
        when = DateRange(*(date.fromordinal(reaches.toordinal() + days) for days in (-14, 0, 14)))
    return Indicator(
        scope=scope,
        name=name,
        value=value,
        low=value - 0.01,
        high=value + 0.01,
        change_per_30_days=-0.01,
        change_low=-0.015,
        change_high=-0.005,
        warn=warn,
        limit=clean,
        too_late=late,
        allowance=allowance,
        standing=standing(value - allowance, warn=warn, clean=clean, too_late=late),
        reaches_limit=when,
        temperature_corrected=temperature_corrected,
        days=60,
        closure=closure,
    )


def flow(value: float, scope: str = "train", **more: object) -> Indicator:
    return indicator("permeate_flow", value, scope=scope, **more)  # type: ignore[arg-type]


def salt(value: float, scope: str = "train", **more: object) -> Indicator:
    return indicator("salt_passage", value, scope=scope, **more)  # type: ignore[arg-type]


def drop(value: float, scope: str = "stage1", **more: object) -> Indicator:
    return indicator("pressure_drop", value, scope=scope, **more)  # type: ignore[arg-type]
