"""Looking and testing: the walk-round, the calendar, and how to read a result."""

from roofspring.safety.inspection.answers import Given, blank_answers, read_answers
from roofspring.safety.inspection.kept import Due, Kept, KeptTest, KeptWalk, kept
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
    with_unit,
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
    "Due",
    "Given",
    "Kept",
    "KeptTest",
    "KeptWalk",
    "Limit",
    "Question",
    "Result",
    "Score",
    "Visit",
    "blank_answers",
    "calendar",
    "e_coli_band",
    "judge",
    "kept",
    "least_removal_log10",
    "limits",
    "litres_to_see",
    "most_positive_frac",
    "priority",
    "questions",
    "read_answers",
    "read_result",
    "score",
    "with_unit",
]
