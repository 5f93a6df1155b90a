"""The time that all stories share: 1 August 2025 to 31 October 2026, local days."""

from datetime import date

from demo_data.simulator.shifts import day_of

START = date(2025, 8, 1)
END = date(2026, 10, 31)
DAYS = (END - START).days + 1


def on(year: int, month: int, day: int, hour: float = 10.0) -> float:
    """Days since the start at a local hour of a date. [day]"""
    return day_of(START, date(year, month, day), hour)
