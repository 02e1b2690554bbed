"""Open a plan with its rain record: the first step of every answer."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from roofspring import rain
from roofspring.errors import PlanError, Problem, RecordError
from roofspring.kernels._jit import is_ready
from roofspring.kernels.run import run
from roofspring.plan.model import Plan
from roofspring.plan.read import LoadedPlan, read_plan
from roofspring.plan.weather import Gauge, RainBlock
from roofspring.rain import Neighbour, RainRecord
from roofspring.rain.futures import MonthlyNormals, NormalsModel
from roofspring.units import UnitSet

Progress = Callable[[str], None]
"""Told what is being done, one short line each."""


@dataclass(frozen=True)
class Opened:
    """A plan that was read, and the record it names."""

    loaded: LoadedPlan
    record: RainRecord


def open_plan(path: Path) -> LoadedPlan:
    """Read a plan alone.

    Raises
    ------
    PlanError
        Every problem of the file at once.
    """
    return read_plan(path)


def open_with_rain(path: Path) -> Opened:
    """Read a plan and its rain, gaps filled as the plan says.

    Raises
    ------
    PlanError, RecordError
        Every problem of the plan, or of the record.
    """
    loaded = read_plan(path)
    return Opened(loaded, rain_of(loaded))


def has_rain(plan: Plan) -> bool:
    """Whether the plan names a record, or gives normals to invent one from."""
    return plan.rain.file is not None or plan.normals is not None


def neighbours_of(loaded: LoadedPlan) -> tuple[Neighbour, ...]:
    """The gauges near by that a plan names, as they stand in their files, by the plan's names.

    Raises
    ------
    RecordError
        Every problem of a neighbour.
    """
    folder = loaded.path.parent
    near = []
    for name, gauge in sorted(loaded.plan.neighbours.items()):
        with _named(loaded, f"neighbour.{name}.file", gauge.file):
            record = rain.load(folder / gauge.file, **_told(gauge))
        near.append(Neighbour(replace(record, name=name), gauge.distance_m))
    return tuple(near)


@contextmanager
def _named(loaded: LoadedPlan, where: str, name: str) -> Iterator[None]:
    """Say where the plan names a file that cannot be opened."""
    try:
        yield
    except RecordError as error:
        raise RecordError(
            replace(
                p,
                file=str(loaded.path),
                line=loaded.lines.get(where),
                where=where,
                got=name,
                next="check the name, or put the record beside the plan",
            )
            if p.code == "REC-001"
            else p
            for p in error.problems
        ) from error


def rain_of(
    loaded: LoadedPlan,
    *,
    fill: str | None = None,
    neighbours: Sequence[Neighbour] | None = None,
    units: UnitSet | None = None,
) -> RainRecord:
    """The rain of a plan: the record it names, or one invented from its monthly normals.

    Parameters
    ----------
    loaded : LoadedPlan
    fill : str, optional
        How gaps are filled; as the plan says when not given.
    neighbours : sequence of Neighbour, optional
        From `neighbours_of`, which reads them when not given.
    units : {"metric", "us"}, optional
        Of the findings; those of the plan when not given.

    Raises
    ------
    PlanError (PLN-060)
        It has neither.
    RecordError, RangeError
        Every problem of the record or of a neighbour; a factor for the catch outside its limits.
    """
    plan = loaded.plan
    if plan.normals is not None:
        model = normals_model(plan)
        return model.simulate(years=plan.normals.years_count, seed=plan.normals.seed)
    block = plan.rain
    if block.file is None:
        raise PlanError(
            Problem(
                "PLN-060",
                "the plan names no rain record, and this question needs one",
                file=str(loaded.path),
                line=loaded.lines.get("rain"),
                where="rain.file",
                allowed="a rain record beside the plan, or monthly normals in a [normals] table",
                next='put a record beside the plan and add file = "rain.csv" to its [rain] table',
            )
        )
    near = neighbours_of(loaded) if neighbours is None else neighbours
    with _named(loaded, "rain.file", block.file):
        record = rain.read(
            loaded.path.parent / block.file,
            **_told(block),
            fill=block.fill if fill is None else fill,
            neighbours=near,
            units=plan.show if units is None else units,
        )
    if record.days_count == 0:
        raise RecordError(
            Problem(
                "REC-090",
                "the rain record holds no whole day",
                file=block.file,
                next="give a record of at least one year",
            )
        )
    return _as_it_fell(record, block)


def _as_it_fell(record: RainRecord, block: RainBlock) -> RainRecord:
    """What the plan says of the gauge's catch, put to work; nothing by itself."""
    if block.rain_factor is not None or block.snow_factor is not None:
        factor = 1.0 if block.rain_factor is None else block.rain_factor
        record = rain.with_undercatch(record, rain_factor=factor, snow_factor=block.snow_factor)
    return record


def _told(gauge: Gauge) -> dict[str, Any]:
    """What the plan says of a gauge's file, for its reader."""
    given = gauge.model_fields_set  # a default must not meet a form that cannot take it
    return {
        "form": gauge.form,
        "unit": gauge.unit,
        "station": gauge.station,
        "stamp": gauge.stamp if "stamp" in given else None,
        "tip": None if gauge.tip_m is None else f"{gauge.tip_m * 1000.0:.6g} mm",
        "tip_step_s": gauge.tip_step_s if "tip_step_s" in given else None,
        "sheet": gauge.sheet,
    }


def normals_model(plan: Plan) -> NormalsModel:
    """The model of a plan's monthly normals.

    Raises
    ------
    RangeError (REC-067)
        The normals contradict themselves, such as rain without wet days.
    """
    normals = plan.normals
    assert normals is not None
    high, low = normals.tmax_degc, normals.tmin_degc
    pairs = None if high is None or low is None else tuple(zip(high, low, strict=True))
    return MonthlyNormals(
        rain_m=normals.rain_m,
        wet_days=normals.wet_days,
        wet_day_m=normals.wet_day_m,
        tmean_degc=None if pairs is None else tuple(0.5 * (h + lo) for h, lo in pairs),
        trange_degc=None if pairs is None else tuple(h - lo for h, lo in pairs),
        place=plan.name,
    ).model()


def run_words(record: RainRecord) -> str:
    """What a run is doing, for a line of progress; the first one says that it compiles."""
    words = f"running {record.years:.0f} years of rain through the plan"
    once = "" if is_ready(run) else " (the first run compiles the engine, once: about 10 seconds)"
    return words + once


@contextmanager
def located(loaded: LoadedPlan) -> Iterator[None]:
    """Give file and line to problems that were found after reading."""
    try:
        yield
    except PlanError as error:
        raise PlanError(tuple(_with_line(p, loaded) for p in error.problems)) from error


def _with_line(problem: Problem, loaded: LoadedPlan) -> Problem:
    if problem.file:
        return problem
    line = None
    where = problem.where
    while where and line is None:
        line = loaded.lines.get(where)
        where = where.rpartition(".")[0]
    return replace(problem, file=str(loaded.path), line=line)
