"""Looking and testing: the walk-round, the calendar, and how to read a result."""

from roofspring.safety.inspection.results import (
    Limit,
    Result,
    Visit,
    calendar,
    judge,
    least_removal_log10,
    limits,
    litres_to_see,
    most_positive_frac,
    read_result,
)
from roofspring.safety.inspection.walk_round import (
    Question,
    Score,
    e_coli_band,
    priority,
    questions,
    score,
)

__all__ = [
    "Limit",
    "Question",
    "Result",
    "Score",
    "Visit",
    "calendar",
    "e_coli_band",
    "judge",
    "least_removal_log10",
    "limits",
    "litres_to_see",
    "most_positive_frac",
    "priority",
    "questions",
    "read_result",
    "score",
]
