"""Cutting a stock sand to what is wanted: usable, too fine and too coarse, and where to cut."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import product

from roofspring.errors.limits import positive
from roofspring.sandfilter.sieve.criteria import Criterion
from roofspring.sandfilter.sieve.curve import GradingCurve, Reading
from roofspring.sandfilter.sieve.sizes import neighbours

EFFECTIVE_FRAC, SIXTY_FRAC = 0.10, 0.60
_SLACK = 1e-9
_STEPS = 240


@dataclass(frozen=True)
class Wanted:
    """The sand that is wanted.

    ``d10_m`` and ``uniformity`` are the target of an exact cut. The rest is the band within which
    a sand is good enough: for the widest cut, and for blends.
    """

    d10_m: float
    uniformity: float
    d10_low_m: float
    d10_high_m: float
    uniformity_most: float
    fines_frac: float | None = None

    @property
    def d60_m(self) -> float:
        """Wanted d60 [m]."""
        return self.d10_m * self.uniformity


def wanted_sand(d10_m: float, *, uniformity: float, chosen: Criterion) -> Wanted:
    """A target with the band of a published criterion around it.

    Parameters
    ----------
    d10_m : float
        Effective size that is wanted [m], above 0.
    uniformity : float
        Uniformity coefficient that is wanted [-], 1 or more.
    chosen : Criterion
        Gives the band and the limit for fines.

    Returns
    -------
    Wanted
        The band is widened to hold the target where it must be.

    Raises
    ------
    RangeError (DOM-002)
        The size is not above 0, or the uniformity below 1.

    Source
    ------
    As the criterion says.
    """
    positive("d10_m", d10_m)
    positive("uniformity - 1", uniformity - 1.0 + _SLACK)
    fines = chosen.fines_frac if chosen.fines_m == 75e-6 else None
    return Wanted(
        d10_m,
        uniformity,
        min(chosen.d10_low_m, d10_m),
        max(chosen.d10_high_m, d10_m),
        max(chosen.uniformity_most, uniformity),
        fines,
    )


@dataclass(frozen=True)
class Split:
    """A stock cut to a target.

    Attributes
    ----------
    usable_frac, too_fine_frac, too_coarse_frac : float
        Shares of the stock; they add up to 1. One below 0 means that the stock lacks such grains.
    cut_fine, cut_coarse : Reading
        Sizes to cut at; one-sided where they lie off the curve.
    curve : GradingCurve or None
        After the cuts; None where the stock cannot be cut to the target.
    lack : str
        Why not; else empty.
    """

    usable_frac: float
    too_fine_frac: float
    too_coarse_frac: float
    cut_fine: Reading
    cut_coarse: Reading
    curve: GradingCurve | None
    lack: str = ""


def split_stock(curve: GradingCurve, *, wanted: Wanted) -> Split | None:
    """Usable share of a stock sand, and the cuts that give exactly what is wanted.

    Parameters
    ----------
    curve : GradingCurve
        Of the stock.
    wanted : Wanted
        Its effective size and uniformity are met exactly.

    Returns
    -------
    Split or None
        None where the wanted d10 or d60 lies off the curve, so that nothing can be said.

    Notes
    -----
    Half of the finished sand lies between the wanted d10 and d60, so with p10 and p60 the shares of
    the stock below them: ``usable = 2 (p60 - p10)``, ``too fine = p10 - 0.1 usable``, and the rest
    is too coarse.

    Source
    ------
    SINCERO_2003, chapter 7 (method of Fair, Geyer and Okun).

    Examples
    --------
    >>> from roofspring.sandfilter.sieve import GradingCurve, criteria
    >>> stock = GradingCurve((1e-4, 2e-4, 4e-4, 8e-4), (0.05, 0.15, 0.65, 1.0))
    >>> goal = wanted_sand(2e-4, uniformity=2.0, chosen=criteria()["visscher-1990"])
    >>> split = split_stock(stock, wanted=goal)
    >>> round(split.usable_frac, 3), round(split.too_fine_frac, 3)
    (1.0, 0.05)
    """
    bounds = [curve.passing(size) for size in (wanted.d10_m, wanted.d60_m)]
    if any(most - least > _SLACK for least, most in bounds):
        return None
    p10, p60 = (least for least, _ in bounds)
    usable = 2.0 * (p60 - p10)
    fine = p10 - EFFECTIVE_FRAC * usable
    coarse = 1.0 - fine - usable
    lack = ""
    if usable <= _SLACK:
        lack = "it has no grains between the wanted d10 and d60"
    elif fine < -_SLACK:
        lack = "it has too few fine grains: blend in a finer sand"
    elif coarse < -_SLACK:
        lack = "it has too few coarse grains: blend in a coarser sand"
    nowhere = Reading(None, None, None)
    if lack:
        return Split(usable, fine, coarse, nowhere, nowhere, None, lack)
    fine, coarse = max(0.0, fine), max(0.0, coarse)
    return Split(
        usable,
        fine,
        coarse,
        _cut(curve, fine),
        _cut(curve, 1.0 - coarse),
        curve.trimmed(fine, high_frac=1.0 - coarse),
    )


def _cut(curve: GradingCurve, share_frac: float) -> Reading:
    """Where a share lies below; a cut that takes nothing away lies off the curve."""
    if share_frac <= _SLACK:
        lowest = next(
            (
                d
                for d, p in zip(curve.sizes_m[::-1], curve.passing_frac[::-1], strict=True)
                if p <= _SLACK
            ),
            None,
        )
        return Reading(None, None, lowest if lowest is not None else curve.sizes_m[0])
    if share_frac >= 1.0 - _SLACK:
        full = next(
            (
                d
                for d, p in zip(curve.sizes_m, curve.passing_frac, strict=True)
                if p >= 1.0 - _SLACK
            ),
            curve.sizes_m[-1],
        )
        return Reading(None, full, None)
    return curve.size(share_frac)


@dataclass(frozen=True)
class RealCut:
    """What two sieves that exist leave of a stock. ``fine_m`` or ``coarse_m`` None: no such cut."""

    fine_m: float | None
    coarse_m: float | None
    usable_frac: float
    curve: GradingCurve
    d10: Reading
    uniformity: float | None

    def within(self, wanted: Wanted) -> bool:
        """Whether the sand that is left lies in the band."""
        size_m, even = self.d10.size_m, self.uniformity
        return (
            size_m is not None
            and even is not None
            and wanted.d10_low_m * (1 - _SLACK) <= size_m <= wanted.d10_high_m * (1 + _SLACK)
            and even <= wanted.uniformity_most * (1 + _SLACK)
        )


def real_cuts(
    curve: GradingCurve, *, cuts_m: tuple[float | None, float | None], openings_m: Iterable[float]
) -> tuple[RealCut, ...]:
    """What the nearest sieves that exist would leave, in place of two cuts as computed.

    Parameters
    ----------
    curve : GradingCurve
        Of the stock.
    cuts_m : pair of float or None
        Fine and coarse cut [m]; None for a cut that is not needed.
    openings_m : iterable of float
        Sieves that can be had [m].

    Returns
    -------
    tuple of RealCut
        The sieves just below and above each cut, in every pairing; nearest to the cuts first.

    Source
    ------
    ASTM_E11, ISO_565 (sieves that exist).
    """
    openings = tuple(openings_m)
    sides = [(None,) if cut is None else neighbours(cut, openings) or (None,) for cut in cuts_m]
    made = []
    for fine_m, coarse_m in product(*sides):
        low = 0.0 if fine_m is None else curve.passing(fine_m)[0]
        high = 1.0 if coarse_m is None else curve.passing(coarse_m)[1]
        if fine_m is not None and coarse_m is not None and fine_m >= coarse_m:
            continue
        if high - low <= _SLACK:
            continue
        left = curve.trimmed(low, high_frac=high)
        made.append(
            RealCut(fine_m, coarse_m, high - low, left, left.size(EFFECTIVE_FRAC), left.uniformity)
        )

    def distance(cut: RealCut) -> float:
        pairs = ((cut.fine_m, cuts_m[0]), (cut.coarse_m, cuts_m[1]))
        return sum(abs(math.log(a / b)) for a, b in pairs if a is not None and b is not None)

    return tuple(sorted(made, key=distance))


def widest_cut(curve: GradingCurve, *, wanted: Wanted) -> Split | None:
    """The cuts that waste least and still leave a sand within the band.

    Parameters
    ----------
    curve : GradingCurve
        Of the stock.
    wanted : Wanted
        Only its band counts, not its target.

    Returns
    -------
    Split or None
        None where no cut of this stock lies in the band.

    Notes
    -----
    Every pair of a fine and a coarse cut on a grid of 240 shares is looked at, those that take
    nothing away among them; so the answer is within half a percent of the widest.

    Source
    ------
    Engineering choice (search); the band as the criterion says.
    """
    import numpy as np  # late: the rest of this file does without

    sizes, shares = np.array(curve.sizes_m), np.array(curve.passing_frac)
    rising = np.concatenate([[True], np.diff(shares) > 0.0])
    x, logs = shares[rising], np.log(sizes[rising])
    low, width = np.meshgrid(
        np.linspace(0.0, 1.0, _STEPS + 1), np.linspace(0.0, 1.0, _STEPS + 1)[1:], indexing="ij"
    )
    at10, at60 = low + EFFECTIVE_FRAC * width, low + SIXTY_FRAC * width
    inside = (low + width <= 1.0 + _SLACK) & (at10 >= x[0]) & (at60 <= x[-1])
    d10 = np.exp(np.interp(at10, x, logs))
    even = np.exp(np.interp(at60, x, logs)) / d10
    good = (
        inside
        & (d10 >= wanted.d10_low_m)
        & (d10 <= wanted.d10_high_m)
        & (even <= wanted.uniformity_most)
    )
    if not good.any():
        return None
    best = np.argmax(np.where(good, width - 1e-6 * low, -1.0))
    fine, usable = float(low.flat[best]), float(width.flat[best])
    high = min(1.0, fine + usable)
    return Split(
        high - fine,
        fine,
        1.0 - high,
        _cut(curve, fine),
        _cut(curve, high),
        curve.trimmed(fine, high_frac=high),
    )
