"""One function for each job of a user: what the command line, the site and notebooks call."""

from roofspring.workflows.answers import check, levels, supply
from roofspring.workflows.demo import demo_record, write_demo
from roofspring.workflows.design import DesignAnswer, design
from roofspring.workflows.opening import open_plan, open_with_rain
from roofspring.workflows.words import (
    RainAnswer,
    doctor,
    explain_code,
    explain_value,
    free_place,
    inspect_rain,
    new,
)

__all__ = [
    "DesignAnswer",
    "RainAnswer",
    "check",
    "demo_record",
    "design",
    "doctor",
    "explain_code",
    "explain_value",
    "free_place",
    "inspect_rain",
    "levels",
    "new",
    "open_plan",
    "open_with_rain",
    "supply",
    "write_demo",
]
