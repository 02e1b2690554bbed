"""A rain record in one sentence."""

from __future__ import annotations

from roofspring.rain import RainRecord


def record_words(record: RainRecord) -> str:
    """From when to when, at what step, read how, filled how."""
    days = record.days
    step = "daily" if record.steps_per_day_count == 1 else f"{record.step_s / 60:g}-minute"
    filled = (
        f"{100 * record.filled_frac:.1f} % of it filled ({record.fill_method})"
        if record.filled_frac > 0.0
        else "no gaps"
    )
    return f"{record.name}: {step}, {days[0]} to {days[-1]}; {record.source}; {filled}."
