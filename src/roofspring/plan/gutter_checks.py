"""Checks of gutters: a size that yields what the gutter carries, and nothing silently unused."""

from __future__ import annotations

import math
from collections.abc import Iterator

from roofspring.errors import Problem
from roofspring.plan.pieces import Gutter
from roofspring.plan.plantext import PlanText
from roofspring.plan.salvage import Salvage

_LENGTH_SLACK_FRAC = 0.02
_NEEDED = {
    "half-round": ("width",),
    "box": ("width", "depth"),
    "trapezoid": ("width", "depth"),
}


def gutter_problems(saved: Salvage, text: PlanText) -> Iterator[Problem]:
    """Problems of gutters: PLN-037."""
    for roof_id, roof in sorted(saved.plan.roofs.items()):
        if roof.gutter is not None and saved.whole("roof", roof_id, "gutter"):
            yield from _size_problems(roof_id, roof.gutter, text)


def _size_problems(roof_id: str, gutter: Gutter, text: PlanText) -> Iterator[Problem]:
    path = ("roof", roof_id, "gutter")
    needed = _NEEDED[gutter.shape]
    words = " and ".join(needed)
    held = {
        "width": gutter.width_m,
        "depth": gutter.depth_m,
        "sole": gutter.sole_m,
        "length": gutter.length_m,
        "fall": gutter.fall_frac or None,
        "downpipe": gutter.downpipe_m,
        "sections": gutter.sections_m,
    }
    yield from _section_problems(path, gutter, text)
    if gutter.capacity_m3_per_s is not None:
        for key in (key for key, value in held.items() if value is not None):
            yield text.problem(
                "PLN-037",
                (*path, key),
                "the capacity is stated outright, so this size is not used",
                allowed="a capacity alone, or sizes without one",
                next_step=f"remove {key}, or remove capacity",
            )
        return
    missing = [key for key in needed if held[key] is None]
    if missing:
        yield text.problem(
            "PLN-037",
            path,
            f"{' and '.join(missing)} of this {gutter.shape} gutter not given",
            allowed=f"{words}, or capacity",
            next_step="add what is missing",
        )
    if gutter.sole_m is not None and gutter.shape != "trapezoid":
        yield text.problem(
            "PLN-037",
            (*path, "sole"),
            f"a {gutter.shape} gutter is not described by a sole, so it is not used",
            allowed="sole beside shape trapezoid alone",
            next_step='remove sole, or write shape = "trapezoid"',
        )
    elif gutter.sole_m is not None and gutter.sole_m > (gutter.width_m or gutter.sole_m):
        yield text.problem(
            "PLN-037",
            (*path, "sole"),
            "the sole is wider than the gutter",
            allowed="at most the width where it spills",
            next_step="check which is which",
        )
    if gutter.fall_frac > 0.0 and gutter.whole_m is None:
        yield text.problem(
            "PLN-037",
            (*path, "fall"),
            "a fall helps a gutter by its length, which is not given, so it is not used",
            allowed="fall beside length",
            next_step="add length, or remove fall",
        )
    if gutter.shape == "half-round" and gutter.depth_m is not None:
        yield text.problem(
            "PLN-037",
            (*path, "depth"),
            "a half-round gutter is half as deep as it is wide, so its depth is not used",
            allowed="width alone",
            next_step='remove depth, or write shape = "box"',
        )


def _section_problems(path: tuple[str, ...], gutter: Gutter, text: PlanText) -> Iterator[Problem]:
    sections = gutter.sections_m
    if sections is None:
        return
    if len(sections) != gutter.outlets_count:
        yield text.problem(
            "PLN-037",
            (*path, "sections"),
            "there is not one section for each outlet",
            got=f"{len(sections)} sections, {gutter.outlets_count} outlets",
            allowed="as many sections as outlets",
            next_step="mend sections, or outlets",
        )
    elif gutter.length_m is not None and not math.isclose(
        sum(sections), gutter.length_m, rel_tol=_LENGTH_SLACK_FRAC
    ):
        yield text.problem(
            "PLN-037",
            (*path, "sections"),
            "the sections together are not the length of the gutter",
            allowed=f"the same within {_LENGTH_SLACK_FRAC:.0%}",
            next_step="mend sections, or remove length",
        )
