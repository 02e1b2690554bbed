"""Plan texts that several tests start from."""

from pathlib import Path

from roofspring.errors import PlanError, Problem
from roofspring.plan.read import LoadedPlan, read_text

GOOD = (Path(__file__).parents[1] / "plans" / "v1_small.toml").read_text("utf-8")
BARE = 'format = 1\nname = "Alder Bench"\n'


def load(text: str) -> LoadedPlan:
    return read_text(text, path=Path("plan.toml"))


def problems(text: str) -> tuple[Problem, ...]:
    """The problems of a text; none when it reads."""
    try:
        load(text)
    except PlanError as error:
        return error.problems
    return ()


def changed(old: str, new: str) -> str:
    """The good plan with one passage exchanged."""
    assert GOOD.count(old) == 1, f"{old!r} stands {GOOD.count(old)} times"
    return GOOD.replace(old, new)
