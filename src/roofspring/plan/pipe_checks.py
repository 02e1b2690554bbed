"""Checks of pipes: a profile that can be laid, and an outfall whose words agree."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from roofspring.errors import Problem
from roofspring.plan.model import Pipe
from roofspring.plan.plantext import PlanText
from roofspring.plan.salvage import Salvage
from roofspring.units import written

LENGTH_SLACK_FRAC = 0.02
"""What the last distance of a profile may differ from the length, for rounding."""
_CLIMB_SLACK_FRAC = 1e-6
_RULE = "rows of distance and height: distance 0 first, each row further on, the last at the length"


def pipe_problems(saved: Salvage, text: PlanText) -> Iterator[Problem]:
    """Problems of pipes: PLN-038 and PLN-039."""
    for pipe_id, pipe in sorted(saved.plan.pipes.items()):
        if pipe.profile is not None and saved.whole("pipe", pipe_id, "profile"):
            yield from _profile_problems(pipe_id, pipe, saved, text)
        if pipe.outfall is not None and saved.whole("pipe", pipe_id, "outfall"):
            yield from _outfall_problems(pipe_id, pipe, text)


def _profile_problems(
    pipe_id: str, pipe: Pipe, saved: Salvage, text: PlanText
) -> Iterator[Problem]:
    rows = pipe.profile or ()
    path = ("pipe", pipe_id, "profile")
    if len(rows) < 2:
        yield text.problem(
            "PLN-038", path, "a profile needs two rows or more", allowed=_RULE, next_step="add rows"
        )
        return
    if rows[0][0] != 0.0:
        yield text.problem(
            "PLN-038",
            (*path, 0),
            "the profile does not begin at distance 0",
            allowed=_RULE,
            next_step="begin with the end that the water enters",
        )
    for i, (one, two) in enumerate(pairwise(rows), start=1):
        step_m, climb_m = two[0] - one[0], abs(two[1] - one[1])
        if step_m <= 0.0:
            yield text.problem(
                "PLN-038",
                (*path, i),
                "this row does not lie further along than the one before",
                allowed=_RULE,
                next_step="sort the rows by their distance",
            )
        elif climb_m > step_m * (1.0 + _CLIMB_SLACK_FRAC):
            yield text.problem(
                "PLN-038",
                (*path, i),
                "the pipe cannot fall or climb further than it is long between two rows",
                allowed=f"at most {_said(step_m, saved)} of height here; distances are measured "
                "along the pipe",
                next_step="check both rows and their units",
            )
    given = "length_m" in pipe.model_fields_set and saved.whole("pipe", pipe_id, "length")
    if given and abs(rows[-1][0] - pipe.length_m) > LENGTH_SLACK_FRAC * pipe.length_m:
        yield text.problem(
            "PLN-038",
            (*path, len(rows) - 1),
            "the profile does not end at the length of the pipe",
            allowed=f"{_said(pipe.length_m, saved)}, the length, within {LENGTH_SLACK_FRAC:.0%}",
            next_step="mend the last row, or the length",
        )
    if pipe.high_point_m is not None:
        yield text.problem(
            "PLN-038",
            ("pipe", pipe_id, "high-point"),
            "the profile has the high point already, so this one is not used",
            allowed="a profile or a high-point",
            next_step="remove high-point",
        )


def _outfall_problems(pipe_id: str, pipe: Pipe, text: PlanText) -> Iterator[Problem]:
    outfall = pipe.outfall
    assert outfall is not None
    path = ("pipe", pipe_id, "outfall")
    held = {"stone": outfall.stone_m, "apron": outfall.apron_m or None}
    if outfall.ground != "stones":
        for key in (key for key, value in held.items() if value is not None):
            yield text.problem(
                "PLN-039",
                (*path, key),
                f"the water falls on {outfall.ground}, so this is not used",
                allowed='stone and apron beside ground = "stones" alone',
                next_step=f'remove {key}, or write ground = "stones"',
            )
        return
    missing = [key for key, value in held.items() if value is None]
    if missing:
        yield text.problem(
            "PLN-039",
            path,
            f"{' and '.join(missing)} of the stones not given",
            allowed='stone and apron with ground = "stones"',
            next_step="add what is missing",
        )


def _said(length_m: float, saved: Salvage) -> str:
    return written(length_m, to="m", units=saved.plan.show)
