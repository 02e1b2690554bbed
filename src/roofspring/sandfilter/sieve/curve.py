"""The grading curve: what share passes each size, and the sizes read off it."""

from __future__ import annotations

import itertools
import math
from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass, replace

from roofspring.errors import Problem, RangeError
from roofspring.errors.limits import part_share, positive, share
from roofspring.sandfilter.sieve.sizes import FINES_M, size_text


@dataclass(frozen=True)
class Reading:
    """A size read off a curve, with the sieves it lies between.

    ``size_m`` is None where the curve ends before the share is reached: then one of the limits is
    None too, and the other says on which side the size lies.
    """

    size_m: float | None
    least_m: float | None
    most_m: float | None

    @property
    def text(self) -> str:
        """For a reader: a size, or the side on which it lies."""
        if self.size_m is not None:
            return size_text(self.size_m)
        if self.most_m is not None:
            return f"finer than {size_text(self.most_m)}"
        return "unknown" if self.least_m is None else f"coarser than {size_text(self.least_m)}"


@dataclass(frozen=True)
class GrainClass:
    """Grains between two sieves: their share of the whole, and the geometric mean size."""

    low_m: float
    high_m: float
    share_frac: float

    @property
    def mean_m(self) -> float:
        """Geometric mean of the two openings [m]."""
        return math.sqrt(self.low_m * self.high_m)


@dataclass(frozen=True)
class GradingCurve:
    """Shares by mass that pass each opening.

    Attributes
    ----------
    sizes_m : tuple of float
        Openings [m], finest first, at least two.
    passing_frac : tuple of float
        Share of the mass that passes each [-], never falling.
    name : str

    Raises
    ------
    RangeError (SIV-020)
        These are not the points of a grading curve.

    Notes
    -----
    Between two points the share runs straight over the logarithm of size. Outside the points
    nothing is known but the bounds: nothing is extrapolated.

    Source
    ------
    ASTM_C136 (percent passing); USACE_RMC_FILTER (log of size, linear percent).
    """

    sizes_m: tuple[float, ...]
    passing_frac: tuple[float, ...]
    name: str = "sand"

    def __post_init__(self) -> None:
        sizes, shares = self.sizes_m, self.passing_frac
        good = (
            len(sizes) == len(shares) >= 2
            and all(math.isfinite(d) and d > 0.0 for d in sizes)
            and all(a < b for a, b in itertools.pairwise(sizes))
            and all(a <= b for a, b in itertools.pairwise(shares))
            and shares[0] >= 0.0
            and shares[-1] <= 1.0
        )
        if not good:
            raise RangeError(
                Problem(
                    "SIV-020",
                    "these are not the points of a grading curve",
                    where=self.name,
                    got=f"{len(sizes)} sizes, {len(shares)} shares",
                    allowed="two sizes or more, rising, with shares from 0 to 1 that never fall",
                    next="give sizes finest first, and the share that passes each",
                )
            )

    def size(self, share_frac: float) -> Reading:
        """The size that a share of the mass is finer than.

        Parameters
        ----------
        share_frac : float
            Share [-], above 0 and below 1: 0.10 gives d10, the effective size.

        Returns
        -------
        Reading
            The finest such size; one-sided where the curve does not reach that share.

        Raises
        ------
        RangeError (DOM-003)
            The share is not above 0 and below 1.

        Examples
        --------
        >>> GradingCurve((1e-4, 1e-3), (0.0, 1.0)).size(0.5).text
        '0.316 mm'
        >>> GradingCurve((1e-4, 1e-3), (0.2, 1.0)).size(0.1).text
        'finer than 0.100 mm'
        """
        part_share("share_frac", share_frac)
        sizes, shares = self.sizes_m, self.passing_frac
        at = bisect_left(shares, share_frac)
        if at == len(shares):
            return Reading(None, sizes[-1], None)
        if shares[at] == share_frac:
            return Reading(sizes[at], sizes[at], sizes[at])
        if at == 0:
            return Reading(None, None, sizes[0])
        part = (share_frac - shares[at - 1]) / (shares[at] - shares[at - 1])
        low, high = math.log(sizes[at - 1]), math.log(sizes[at])
        return Reading(math.exp(low + part * (high - low)), sizes[at - 1], sizes[at])

    def passing(self, size_m: float) -> tuple[float, float]:
        """Least and greatest share that can be finer than a size; equal within the curve.

        Raises
        ------
        RangeError (DOM-002)
            The size is not above 0.

        Examples
        --------
        >>> GradingCurve((1e-4, 1e-3), (0.2, 0.9)).passing(5e-5)
        (0.0, 0.2)
        """
        positive("size_m", size_m)
        sizes, shares = self.sizes_m, self.passing_frac
        at = bisect_left(sizes, size_m)
        if at == len(sizes):
            return shares[-1], 1.0
        if sizes[at] == size_m:
            return shares[at], shares[at]
        if at == 0:
            return 0.0, shares[0]
        part = math.log(size_m / sizes[at - 1]) / math.log(sizes[at] / sizes[at - 1])
        mean = shares[at - 1] + part * (shares[at] - shares[at - 1])
        return mean, mean

    @property
    def uniformity(self) -> float | None:
        """Uniformity coefficient d60 over d10; None where either lies off the curve."""
        d10_m, d60_m = self.size(0.10).size_m, self.size(0.60).size_m
        return None if d10_m is None or d60_m is None else d60_m / d10_m

    @property
    def curvature(self) -> float | None:
        """Shape of the curve, ``d30**2 / (d10 d60)`` [-]; None where one of them lies off it.

        From 1 to 3 it runs smoothly; outside, grains of the middle are lacking or too many
        (DAS_2010, chapter 2).

        >>> round(GradingCurve((1e-4, 1e-3), (0.0, 1.0)).curvature, 2)
        0.79
        """
        d10_m, d30_m, d60_m = (self.size(share).size_m for share in (0.10, 0.30, 0.60))
        if d10_m is None or d30_m is None or d60_m is None:
            return None
        return d30_m**2 / (d10_m * d60_m)

    @property
    def fines_frac(self) -> tuple[float, float]:
        """Least and greatest share finer than 0.075 mm (fines)."""
        return self.passing(FINES_M)

    def classes(self) -> tuple[GrainClass, ...]:
        """Grains between neighbouring sieves; those off the curve are not among them."""
        points = list(zip(self.sizes_m, self.passing_frac, strict=True))
        return tuple(
            GrainClass(a, b, q - p) for (a, p), (b, q) in itertools.pairwise(points) if q > p
        )

    def fair_hatch_per_m2(self) -> float:
        """``sum(p_i / d_i**2)`` over the classes, as the head-loss formula of Fair and Hatch wants.

        Returns
        -------
        float
            [1/m2]. Shares are of the grains between the sieves; those off the curve have no size
            and are left out.

        Source
        ------
        DAVIS_2010, table 11-2 (d_i: geometric mean of neighbouring sieves).
        """
        classes = self.classes()
        whole = sum(c.share_frac for c in classes)
        return sum(c.share_frac / whole / c.mean_m**2 for c in classes)

    def trimmed(self, low_frac: float, *, high_frac: float) -> GradingCurve:
        """What is left when everything finer and everything coarser than two cuts is taken away.

        Parameters
        ----------
        low_frac, high_frac : float
            Shares of the mass below the fine and below the coarse cut [-], low below high.

        Returns
        -------
        GradingCurve
            With the cuts as points of their own, where they lie on the curve.

        Raises
        ------
        RangeError (DOM-003, SIV-020)
            Not shares, or nothing is left between the cuts.
        """
        share("low_frac", low_frac)
        share("high_frac", high_frac)
        width = high_frac - low_frac
        cuts = [self.size(f).size_m for f in (low_frac, high_frac) if 0.0 < f < 1.0]
        sizes = sorted({*self.sizes_m, *(c for c in cuts if c is not None)})
        ends = {
            c: f
            for c, f in zip(cuts, (f for f in (low_frac, high_frac) if 0.0 < f < 1.0), strict=True)
            if c is not None
        }
        shares = []
        for size_m in sizes:
            below = ends.get(size_m, self.passing(size_m)[0])
            shares.append(min(1.0, max(0.0, (below - low_frac) / width)) if width > 0.0 else -1.0)
        first = max((i for i, s in enumerate(shares) if s <= 0.0), default=0)
        last = next((i for i, s in enumerate(shares) if s >= 1.0), len(shares) - 1)
        return replace(
            self,
            sizes_m=tuple(sizes[first : last + 1]),
            passing_frac=tuple(shares[first : last + 1]),
        )


def mixed(
    curves: Sequence[GradingCurve], parts: Sequence[float], *, name: str = "blend"
) -> GradingCurve:
    """The curve of several sands mixed by mass.

    Parameters
    ----------
    curves : sequence of GradingCurve
    parts : sequence of float
        Mass of each; only their shares count.
    name : str

    Returns
    -------
    GradingCurve
        At every size that all the curves know.

    Raises
    ------
    RangeError (SIV-020)
        The curves have fewer than two sizes in common.
    """
    whole = math.fsum(parts)
    sizes = sorted({d for c in curves for d in c.sizes_m})
    kept: list[float] = []
    shares: list[float] = []
    for size_m in sizes:
        bounds = [c.passing(size_m) for c in curves]
        least, most = (
            math.fsum(w * b[side] for w, b in zip(parts, bounds, strict=True)) / whole
            for side in (0, 1)
        )
        if most - least < 1e-12:
            kept.append(size_m)
            shares.append(min(1.0, max(least, shares[-1] if shares else 0.0)))
    return GradingCurve(tuple(kept), tuple(shares), name)


def log_probability_size_m(curve: GradingCurve, share_frac: float) -> float | None:
    """A size read off log-probability paper instead: a second opinion.

    Parameters
    ----------
    curve : GradingCurve
    share_frac : float
        Share [-], above 0 and below 1.

    Returns
    -------
    float or None
        Size [m]; None off the curve, and beside points of 0 or 1, which that paper does not have.

    Source
    ------
    DAVIS_2010, page 11-7 (plots on log-probability paper).
    """
    from scipy.special import ndtri  # late: slow to import

    part_share("share_frac", share_frac)
    points = [
        (d, p) for d, p in zip(curve.sizes_m, curve.passing_frac, strict=True) if 0.0 < p < 1.0
    ]
    for (d, p), (e, q) in itertools.pairwise(points):
        if p <= share_frac <= q and q > p:
            low, here, high = (float(ndtri(v)) for v in (p, share_frac, q))
            return float(d * (e / d) ** ((here - low) / (high - low)))
    return None
