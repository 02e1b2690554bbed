"""Will it catch the storm? One storm, step by step, and where each litre went."""

from roofspring.reliability.storm.account import AccountRow
from roofspring.reliability.storm.answer import StormAnswer
from roofspring.reliability.storm.assess import assess_storm
from roofspring.reliability.storm.begin import carried, on_day
from roofspring.reliability.storm.changes import CHANGES
from roofspring.reliability.storm.series import Series, series_csv
from roofspring.reliability.storm.trial import Advice, Tried
from roofspring.reliability.storm.weather import (
    STEPS_S,
    Weather,
    design_weather,
    record_weather,
)
from roofspring.reliability.storm.worst import worst_window

__all__ = [
    "CHANGES",
    "STEPS_S",
    "AccountRow",
    "Advice",
    "Series",
    "StormAnswer",
    "Tried",
    "Weather",
    "assess_storm",
    "carried",
    "design_weather",
    "on_day",
    "record_weather",
    "series_csv",
    "worst_window",
]
