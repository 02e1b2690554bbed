"""A first look at very many designs: one roof, raw tank, filter, clean tank, cistern, by days."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from roofspring.errors import Problem, RangeError
from roofspring.errors.limits import not_negative, share
from roofspring.kernels.screening import DESIGN_ROWS, SCREEN_LANES, WORK_ROWS, screen_designs

FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Screened:
    """What each of m designs did over the record.

    Attributes
    ----------
    served_frac : (m,) float64
        Volume taken over volume wanted [-]; 1 where nothing was wanted.
    short_days_count : (m,) int64
        Days on which less was taken than wanted.
    spilled_m3 : (m,) float64
        What the raw tank and the cistern had no room for.
    """

    served_frac: FloatArray
    short_days_count: npt.NDArray[np.int64]
    spilled_m3: FloatArray


def screen(
    rain_m: npt.ArrayLike,
    want_m3: npt.ArrayLike,
    *,
    catch_m2: npt.ArrayLike,
    first_flush_m3: npt.ArrayLike,
    raw_m3: npt.ArrayLike,
    filter_m3_per_day: npt.ArrayLike,
    clean_m3: npt.ArrayLike,
    cistern_m3: npt.ArrayLike,
    start_frac: float = 0.0,
) -> Screened:
    """Run many designs through one daily record, to choose those worth a run of the engine.

    Parameters
    ----------
    rain_m : (n,) array
        Rain of each day [m], 0 or more.
    want_m3 : (n,) array, or float
        What is wanted each day [m3], 0 or more.
    catch_m2 : (m,) array, or float
        Roof area times runoff and screen efficiency [m2], 0 or more.
    first_flush_m3 : (m,) array, or float
        Lost of the runoff of each day with rain [m3], 0 or more.
    raw_m3, clean_m3, cistern_m3 : (m,) array, or float
        Room between outlet and lip of each store [m3], 0 or more.
    filter_m3_per_day : (m,) array, or float
        Most that the filters pass in a day [m3], 0 or more.
    start_frac : float
        Share of each store that is full at the start [-], 0 to 1.

    Returns
    -------
    Screened

    Raises
    ------
    RangeError (DOM-002, DOM-003, DOM-007)
        A value that is negative or no number; a share outside 0 to 1; lengths that differ.

    Notes
    -----
    Uses draw from the clean tank, then from the cistern, on what these held at the start of the
    day: yield after spillage, which serves a little less than a finer step does. The clean tank's
    overflow runs to the cistern; the raw tank's is lost. No pipe or level limits a flow.

    Source
    ------
    JENKINS_1978 for the rule of the stores.

    Examples
    --------
    >>> rain = [0.0, 0.02, 0.0, 0.0, 0.0]
    >>> one = screen(rain, 0.3, catch_m2=[50.0, 100.0], first_flush_m3=0.1, raw_m3=0.5,
    ...              filter_m3_per_day=0.6, clean_m3=0.2, cistern_m3=5.0)
    >>> one.served_frac.round(3), one.short_days_count, one.spilled_m3.round(3)
    (array([0.6, 0.6]), array([2, 2]), array([0. , 0.8]))
    """
    rain = _days("rain_m", rain_m)
    want = _days("want_m3", want_m3)
    if want.size == 1:
        want = np.full(rain.size, want[0])
    elif want.size != rain.size:
        raise _lengths("want_m3", f"{want.size} values", f"{rain.size}, or one for all")
    share("start_frac", start_frac)
    given = {
        "catch_m2": catch_m2,
        "first_flush_m3": first_flush_m3,
        "raw_m3": raw_m3,
        "filter_m3_per_day": filter_m3_per_day,
        "clean_m3": clean_m3,
        "cistern_m3": cistern_m3,
    }
    rows = [_days(name, values) for name, values in given.items()]
    count = max(row.size for row in rows)
    for name, row in zip(given, rows, strict=True):
        if row.size not in (1, count):
            raise _lengths(name, f"{row.size} values", f"{count}, or one for all")
    designs = np.empty((DESIGN_ROWS, count))
    for place, row in zip(designs, rows, strict=True):
        place[:] = row
    served, short, spilled = (np.zeros(count) for _ in range(3))
    work = np.empty((WORK_ROWS, SCREEN_LANES))
    screen_designs(rain, want, designs, float(start_frac), 0, count, served, short, spilled, work)
    wanted_m3 = float(want.sum())
    return Screened(
        served_frac=served / wanted_m3 if wanted_m3 > 0.0 else np.ones(count),
        short_days_count=short.astype(np.int64),
        spilled_m3=spilled,
    )


def _days(name: str, values: npt.ArrayLike) -> FloatArray:
    """An array of one dimension with only finite values of 0 or more."""
    array = np.ascontiguousarray(np.atleast_1d(values), dtype=np.float64)
    if array.ndim != 1 or array.size == 0:
        raise _lengths(name, f"shape {array.shape}", "one row of values, or one value")
    bad = ~(np.isfinite(array) & (array >= 0.0))
    if bad.any():
        at = int(np.argmax(bad))
        not_negative(f"{name}[{at}]", float(array[at]))
    return array


def _lengths(name: str, got: str, allowed: str) -> RangeError:
    return RangeError(
        Problem(
            "DOM-007",
            "the values of days or of designs do not match",
            where=name,
            got=got,
            allowed=allowed,
            next="give as many values as the others have, or one for all",
        )
    )
