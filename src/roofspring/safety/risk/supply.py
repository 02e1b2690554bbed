"""What stands between the raw water and the glass, day by day."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from roofspring.errors import Problem, RangeError
from roofspring.errors.limits import not_negative

FloatArray = npt.NDArray[np.float64]

YEAR_DAYS = 365


@dataclass(frozen=True)
class Barriers:
    """Log reductions of one group of germs on the way to the glass.

    Attributes
    ----------
    low_log10, high_log10 : (n_days,)
        Ends of the range of what the filters take on each day [-].
    raw_frac : (n_days,)
        Share of the water drunk that went round them [-].
    after_low_log10, after_high_log10 : float
        Range of what later steps take, that all water passes [-].
    """

    low_log10: FloatArray
    high_log10: FloatArray
    raw_frac: FloatArray
    after_low_log10: float = 0.0
    after_high_log10: float = 0.0

    def passage_frac(self, place_frac: float) -> FloatArray:
        """Share of the germs of each day that reach the glass, (n_days,)."""
        filters = self.low_log10 + place_frac * (self.high_log10 - self.low_log10)
        through = self.raw_frac + (1.0 - self.raw_frac) * 10.0**-filters
        return np.asarray(through * self.after_frac(place_frac), dtype=np.float64)

    def after_frac(self, place_frac: float) -> float:
        """Share of the germs that the later steps let through [-]."""
        low, high = self.after_low_log10, self.after_high_log10
        return float(10.0 ** -(low + place_frac * (high - low)))

    def mean_log10(self, place_frac: float) -> float:
        """Log reduction over the whole time: what passes is averaged, never the log."""
        return float(0.0 - np.log10(self.passage_frac(place_frac).mean()))

    def with_after(self, low_log10: float, high_log10: float) -> Barriers:
        """The same with one more step that all water passes."""
        return replace(
            self,
            after_low_log10=self.after_low_log10 + low_log10,
            after_high_log10=self.after_high_log10 + high_log10,
        )

    def without_bypass(self) -> Barriers:
        """The same with all water through the filters."""
        return replace(self, raw_frac=np.zeros_like(self.raw_frac))


def barriers(
    low_log10: npt.ArrayLike,
    high_log10: npt.ArrayLike,
    *,
    raw_frac: npt.ArrayLike = 0.0,
    after_log10: tuple[float, float] = (0.0, 0.0),
) -> Barriers:
    """Daily barriers from series, checked.

    Parameters
    ----------
    low_log10, high_log10 : array of float (n_days,)
        Ends of the range of each day [-], 0 or more.
    raw_frac : float or array (n_days,)
        Share of the water that goes round them [-], 0 to 1.
    after_log10 : tuple of float
        Range of later steps [-].

    Returns
    -------
    Barriers

    Raises
    ------
    RangeError (SAF-001)
        Series of different lengths or without a day.
    RangeError (DOM-002)
        A range of later steps below 0 or not a number.
    RangeError (SAF-002)
        A value that is missing, such as that of a day without a temperature, or out of range.

    Examples
    --------
    >>> made = barriers([3.0] * 300 + [1.0] * 65, [3.0] * 300 + [1.0] * 65)
    >>> round(made.mean_log10(0.0), 3)
    1.73
    """
    for name, end in zip(("low", "high"), after_log10, strict=True):
        not_negative(f"after_log10, {name}", end)
    low = np.atleast_1d(np.asarray(low_log10, dtype=np.float64))
    high = np.atleast_1d(np.asarray(high_log10, dtype=np.float64))
    raw = np.atleast_1d(np.asarray(raw_frac, dtype=np.float64))
    if raw.size == 1 and low.size != 1:
        raw = np.full_like(low, raw[0])
    if not (low.shape == high.shape == raw.shape) or low.ndim != 1 or low.size == 0:
        raise RangeError(
            Problem(
                "SAF-001",
                "the series of a barrier must have one value for each day, and as many each",
                where="low_log10, high_log10, raw_frac",
                got=f"{low.shape}, {high.shape}, {raw.shape}",
                allowed="three series of one length, at least one day",
                next="give low end, high end and raw share for the same days",
            )
        )
    for name, series, most in (("low_log10", low, 20.0), ("high_log10", high, 20.0),
                               ("raw_frac", raw, 1.0)):  # fmt: skip
        bad = ~((series >= 0.0) & (series <= most))
        if bad.any():
            day = int(bad.argmax())
            raise RangeError(
                Problem(
                    "SAF-002",
                    f"{int(bad.sum())} days have no usable value",
                    where=f"{name}, day {day + 1}",
                    got=f"{series[day]:g}",
                    allowed=f"0 to {most:g}",
                    next="fill the temperatures of the record first; a removal of 100 % or more "
                    "has no logarithm",
                )
            )
    if after_log10[0] > after_log10[1]:
        raise _swapped("after_log10", *after_log10)
    if np.any(low > high + 1e-12):
        day = int((low > high + 1e-12).argmax())
        raise _swapped(f"low_log10, day {day + 1}", float(low[day]), float(high[day]))
    return Barriers(low, high, raw, *after_log10)


def _swapped(where: str, low: float, high: float) -> RangeError:
    return RangeError(
        Problem(
            "SAF-002",
            "the low end of a barrier lies over its high end",
            where=where,
            got=f"{low:g} over {high:g}",
            allowed="low end at most the high end",
            next="give the ends in their order",
        )
    )


def by_year(series: FloatArray) -> FloatArray:
    """Cut a daily series into years of 365 days; a shorter one is repeated to fill one.

    >>> by_year(np.arange(800.0)).shape
    (2, 365)
    """
    if len(series) < YEAR_DAYS:
        return np.resize(series, (1, YEAR_DAYS))
    years = len(series) // YEAR_DAYS
    return np.ascontiguousarray(series[: years * YEAR_DAYS].reshape(years, YEAR_DAYS))


@dataclass(frozen=True)
class WorstDays:
    """Which days bring the risk.

    Attributes
    ----------
    half_days_per_year : float
        Days a year on which half of all germs pass [days/year].
    worst : tuple of int
        Places in the series of the worst days, the worst first.
    worst_shares_frac : tuple of float
        Share of all that passes, for each of them [-].
    bypass_frac : float
        Share of all that passes that went round the filters [-].
    """

    half_days_per_year: float
    worst: tuple[int, ...]
    worst_shares_frac: tuple[float, ...]
    bypass_frac: float


def worst_days(barriers: Barriers, *, place_frac: float = 0.5, most: int = 5) -> WorstDays:
    """Days that dominate the risk, the same water and germs coming every day.

    Parameters
    ----------
    barriers : Barriers
    place_frac : float
        Where between low and high the barriers are taken to stand [-].
    most : int
        Days to name.

    Returns
    -------
    WorstDays

    Examples
    --------
    >>> weak = barriers([3.0] * 355 + [0.0] * 10, [3.0] * 355 + [0.0] * 10)
    >>> worst_days(weak).half_days_per_year
    6.0
    """
    passed = barriers.passage_frac(place_frac)
    order = np.argsort(-passed, kind="stable")
    shares = passed[order] / passed.sum()
    days = int(np.searchsorted(np.cumsum(shares), 0.5 - 1e-12)) + 1
    raw = float((barriers.raw_frac * barriers.after_frac(place_frac)).sum() / passed.sum())
    return WorstDays(
        days * YEAR_DAYS / len(passed),
        tuple(int(i) for i in order[:most]),
        tuple(float(s) for s in shares[:most]),
        raw,
    )
