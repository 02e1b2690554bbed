"""Will it catch the storm?"""

from __future__ import annotations

from pathlib import Path

from roofspring.errors import Problem, RangeError, UnitError
from roofspring.plan.read import LoadedPlan
from roofspring.rain.cloudburst import HYETOGRAPHS, DesignRain, design_rain
from roofspring.reliability.storm import StormAnswer, assess_storm
from roofspring.units import parse
from roofspring.workflows.opening import has_rain, located, open_plan, rain_of


def storm(
    path: Path,
    *,
    depth: str | None = None,
    duration: str = "1 h",
    return_years: float = 10.0,
    pattern: str = "alternating-block",
    full: str | None = None,
) -> StormAnswer:
    """Run one storm through the plan at a path.

    Parameters
    ----------
    path : Path
    depth : str, optional
        Rain of the storm with its unit. When not given, that of ``return_years``: from the
        published table that the plan names, else from its record.
    duration : str
        Length of the storm with its unit, a whole number of five minutes.
    return_years : float
        Mean time between such storms [years].
    pattern : str
        A name in `roofspring.rain.cloudburst.HYETOGRAPHS`.
    full : str, optional
        How full every tank is when it comes, such as ``80 %``.

    Raises
    ------
    PlanError, RecordError, RangeError, UnitError, SolveError
        The plan, its rain or what was asked for has problems.
    """
    if pattern not in HYETOGRAPHS:
        raise RangeError(
            Problem(
                "STO-001",
                "this storm pattern is not known",
                where="--pattern",
                got=repr(pattern),
                allowed=", ".join(HYETOGRAPHS),
                next="use one of these",
            )
        )
    duration_s = _quantity(duration, to="s", where="--duration")
    full_frac = None if full is None else _quantity(full, to="", where="--full")
    if full_frac is not None and not 0.0 <= full_frac <= 1.0:
        raise RangeError(
            Problem(
                "STO-002",
                "a tank cannot be that full",
                where="--full",
                got=repr(full),
                allowed="0 to 100 %",
                next="give a share of its content at the overflow",
            )
        )
    loaded = open_plan(path)
    design = None
    if depth is None:
        design = _design(loaded, duration_s=duration_s, return_years=return_years)
        depth_m = design.depth_m
    else:
        depth_m = _quantity(depth, to="m", where="--depth")
    with located(loaded):
        return assess_storm(
            loaded.plan,
            depth_m=depth_m,
            duration_s=duration_s,
            pattern=pattern,
            full_frac=full_frac,
            design=design,
        )


def _design(loaded: LoadedPlan, *, duration_s: float, return_years: float) -> DesignRain:
    from roofspring.rain.readers.frequency_csv import read_frequency_table

    name = loaded.plan.rain.table
    table = None if name is None else read_frequency_table(loaded.path.parent / name)
    record = rain_of(loaded) if has_rain(loaded.plan) else None
    if table is None and record is None:
        raise RangeError(
            Problem(
                "STO-003",
                "nothing says how much rain such a storm brings",
                file=str(loaded.path),
                where="rain",
                allowed="a depth, or a plan with a rain record or a published table",
                next="give --depth, or add file or table to the [rain] table of the plan",
            )
        )
    return design_rain(
        duration_s=duration_s, return_years=return_years, kind="ARI", table=table, record=record
    )


def _quantity(text: str, *, to: str, where: str) -> float:
    try:
        return parse(text, to=to)
    except UnitError as error:
        first = error.problems[0]
        raise UnitError(
            Problem(
                first.code,
                first.what,
                where=where,
                got=first.got,
                allowed=first.allowed,
                next=first.next,
            )
        ) from error
