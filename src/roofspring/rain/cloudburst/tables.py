"""Published tables of rain for a place: the first choice, read but never stretched unseen."""

from __future__ import annotations

from typing import Protocol

import numpy as np

from roofspring.errors import Problem, RangeError
from roofspring.rain.cloudburst.curves import PointsCurve
from roofspring.rain.cloudburst.periods import Kind, to_kind
from roofspring.rain.record import FloatArray


class DepthTable(Protocol):
    """Depths by duration and return period, as a weather service prints them."""

    @property
    def duration_s(self) -> FloatArray:
        """Durations (d,) [s], rising."""

    @property
    def return_years(self) -> FloatArray:
        """Return periods (r,) [years], rising."""

    @property
    def depth_m(self) -> FloatArray:
        """Depths (d, r) [m]; NaN where none is printed."""

    @property
    def lower_m(self) -> FloatArray | None:
        """Lower bounds (d, r) of the 90 % interval [m], where printed."""

    @property
    def upper_m(self) -> FloatArray | None:
        """Upper bounds (d, r) [m], where printed."""

    @property
    def basis(self) -> Kind:
        """What the return periods are."""

    @property
    def source(self) -> str:
        """Who published it."""


TABLE_LEVEL_FRAC = 0.90
"""Level of the printed bounds."""


def table_depth_m(
    table: DepthTable, *, duration_s: float, return_years: float, kind: Kind
) -> float | None:
    """Depth from a table, or None outside it.

    Parameters
    ----------
    table : DepthTable
    duration_s : float
        [s]
    return_years : float
    kind : str
        ``ARI`` or ``AEP``; turned into the kind of the table.

    Returns
    -------
    float or None
        [m], by straight lines in logarithms of duration, return period and depth. None where the
        table does not reach, or a cell beside is empty: it is never stretched.

    Raises
    ------
    RangeError (REC-087)
        The table is not whole, or its depths fall where they should rise.

    Source
    ------
    Log-log interpolation is common practice, no source.
    """
    check_table(table)
    return read_cell(table, table.depth_m, duration_s, return_years, kind)


def read_cell(
    table: DepthTable, cells: FloatArray, duration_s: float, return_years: float, kind: Kind
) -> float | None:
    """Depth or bound from the cells of a checked table; None where it does not reach."""
    column = _column(table, cells, to_kind(return_years, kind=kind, wanted=table.basis))
    if column is None or not _inside(duration_s, table.duration_s):
        return None
    depth = float(np.exp(np.interp(np.log(duration_s), np.log(table.duration_s), np.log(column))))
    return depth if np.isfinite(depth) else None


def table_curve(table: DepthTable, *, return_years: float, kind: Kind) -> PointsCurve | None:
    """The curve of one rarity from a table, for a hyetograph; None outside its return periods.

    Raises
    ------
    RangeError (REC-087)
        As `table_depth_m`.
    """
    check_table(table)
    column = _column(table, table.depth_m, to_kind(return_years, kind=kind, wanted=table.basis))
    if column is None:
        return None
    there = np.isfinite(column)
    return PointsCurve(tuple(table.duration_s[there].tolist()), tuple(column[there].tolist()))


def check_table(table: DepthTable) -> None:
    """Refuse a table that is not whole."""
    depth = table.depth_m
    there = np.isfinite(depth)
    axes = (table.duration_s, table.return_years)
    whole = (
        depth.shape == (len(axes[0]), len(axes[1]))
        and bool(there.any())
        and depth[there].min() > 0.0
        and all(bool((axis > 0.0).all() and (np.diff(axis) > 0.0).all()) for axis in axes)
        and not any(bool((np.diff(depth, axis=a) < 0.0).any()) for a in (0, 1))
    )
    if not whole:
        raise RangeError(
            Problem(
                "REC-087",
                "this is not a whole table of depths",
                where=table.source,
                got=f"{len(table.duration_s)} durations, {len(table.return_years)} return "
                f"periods, depths {depth.shape}",
                allowed="depths above 0 that never fall with duration or with return period",
                next="look for an intensity read as a depth; take depths, not rounded intensities",
            )
        )


def _inside(value: float, axis: FloatArray) -> bool:
    return bool(axis[0] * (1.0 - 1e-9) <= value <= axis[-1] * (1.0 + 1e-9))


def _column(table: DepthTable, cells: FloatArray, years: float) -> FloatArray | None:
    """Cells by duration for a return period of the table's own kind."""
    if not _inside(years, table.return_years):
        return None
    x, y = np.log(table.return_years), np.log(cells)
    return np.array([np.exp(np.interp(np.log(years), x, row)) for row in y])
