"""Checks on the rain, its neighbours and the monthly normals."""

from __future__ import annotations

import posixpath
from collections.abc import Iterator, Mapping
from typing import Any

from roofspring.errors import Problem
from roofspring.plan.model import MONTHS_COUNT
from roofspring.plan.plantext import PlanText

NEEDS_NEIGHBOUR = ("normal-ratio", "inverse-distance", "quantile-map")
MONTHLY_KEYS = ("rain", "wet-days", "high", "low")


def rain_problems(raw: Mapping[str, Any], text: PlanText) -> Iterator[Problem]:
    """PLN-045 to PLN-049: on what the file says of rain, whatever else is wrong with it."""
    rain, normals = raw.get("rain"), raw.get("normals")
    rain = rain if isinstance(rain, Mapping) else {}
    neighbours = raw.get("neighbour")
    if rain.get("fill") in NEEDS_NEIGHBOUR and not neighbours:
        yield text.problem(
            "PLN-045",
            ("rain", "fill"),
            "this way of filling gaps needs a neighbour, and the plan names none",
            allowed='"same-season" or "none" without a neighbour',
            next_step="add a [neighbour.NAME] table with its file and distance",
        )
    for name, neighbour in neighbours.items() if isinstance(neighbours, Mapping) else ():
        if isinstance(neighbour, Mapping) and _same_gauge(neighbour, rain):
            yield text.problem(
                "PLN-049",
                ("neighbour", name, "file"),
                "a gauge cannot be its own neighbour: this is the record of the plan",
                allowed="the record of another gauge, or another station of the same file",
                next_step="name the record of a gauge near by, or take this table out",
            )
    if not isinstance(normals, Mapping):
        return
    if "file" in rain:
        yield text.problem(
            "PLN-046",
            ("normals",),
            "the plan has both a rain record and monthly normals",
            allowed="one of them: normals are for a place without a record",
            next_step="take out the [normals] table, or the file of the [rain] table",
        )
    if ("high" in normals) != ("low" in normals):
        yield text.problem(
            "PLN-048",
            ("normals",),
            "the monthly normals give one of high and low, and not the other",
            allowed="both, or neither",
            next_step="give the mean daily highest and lowest temperature of each month",
        )
    for key in MONTHLY_KEYS:
        values = normals.get(key)
        if isinstance(values, list) and len(values) != MONTHS_COUNT:
            yield text.problem(
                "PLN-047",
                ("normals", key),
                f"there are {len(values)} values for the twelve months",
                allowed="twelve values, January first",
                next_step="give one value for each month",
            )


def _same_gauge(neighbour: Mapping[str, Any], rain: Mapping[str, Any]) -> bool:
    files = [gauge.get("file") for gauge in (neighbour, rain)]
    if not all(isinstance(file, str) for file in files):
        return False
    one, other = (posixpath.normpath(str(file)) for file in files)
    return one == other and neighbour.get("station") == rain.get("station")
