"""Gaps filled from neighbouring gauges, date by date."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from roofspring.errors import Problem, RangeError
from roofspring.rain.gaps._base import Fill
from roofspring.rain.gaps.neighbour import Neighbour, shared, usable
from roofspring.rain.gaps.season import SameSeason
from roofspring.rain.record import FloatArray, RainRecord

LEAST_SEASON_DAYS = 100
"""Shared days of a season below which its quantiles are those of the whole year."""


def normal_ratio_m(
    depths_m: Sequence[float] | FloatArray,
    *,
    normals_m: Sequence[float] | FloatArray,
    normal_m: float,
) -> float:
    """Rain at a gauge from that at its neighbours, each scaled by the ratio of normals.

    Parameters
    ----------
    depths_m : (k,) float
        Rain of the day, month or year at the neighbours [m]; NaN is left out.
    normals_m : (k,) float
        Their normals over one same period [m], more than 0.
    normal_m : float
        The normal of the gauge over that period [m], 0 or more.

    Returns
    -------
    float
        Rain at the gauge [m]; NaN when no neighbour has a value.

    Raises
    ------
    RangeError
        REC-028: lengths that differ, or a normal outside its limits.

    Notes
    -----
    ``P = (N / m) sum(P_i / N_i)`` over the m neighbours with a value.

    Source
    ------
    SUBRAMANYA_EH, estimation of missing data (from memory).

    Examples
    --------
    >>> x_m = normal_ratio_m([0.9111, 0.7223, 0.7989], normals_m=[0.8097, 0.6759, 0.7628],
    ...                      normal_m=0.9201)
    >>> round(x_m, 4)
    0.9941
    """
    depth, normal = np.asarray(depths_m, dtype=float), np.asarray(normals_m, dtype=float)
    if depth.shape != normal.shape or not (normal > 0.0).all() or not normal_m >= 0.0:
        raise RangeError(
            Problem(
                "REC-028",
                "normals for the normal ratio are outside their limits",
                got=f"{depth.size} depths, {normal.size} normals, own normal {normal_m:g} m",
                allowed="one normal above 0 for each depth, own normal 0 or more",
                next="give the mean yearly rain of each gauge over the same years",
            )
        )
    return float(_mean((depth * (normal_m / normal))[:, np.newaxis], np.ones(depth.size))[0])


def inverse_distance_m(
    depths_m: Sequence[float] | FloatArray,
    *,
    distances_m: Sequence[float] | FloatArray,
    power: float = 2.0,
) -> float:
    """Rain at a gauge as the mean of its neighbours, the nearer counting more.

    Parameters
    ----------
    depths_m : (k,) float
        Rain at the neighbours [m]; NaN is left out.
    distances_m : (k,) float
        Distances [m], more than 0.
    power : float
        Of the distance [-], 0 or more.

    Returns
    -------
    float
        Rain at the gauge [m]; NaN when no neighbour has a value.

    Raises
    ------
    RangeError
        REC-028: lengths that differ, or a value outside its limits.

    Notes
    -----
    ``P = sum(w_i P_i) / sum(w_i)``, ``w_i = d_i**-power``.

    Source
    ------
    SHEPARD_1968 (weights, from memory).

    Examples
    --------
    >>> inverse_distance_m([0.010, 0.020], distances_m=[1000.0, 2000.0])
    0.012
    """
    depth, far = np.asarray(depths_m, dtype=float), np.asarray(distances_m, dtype=float)
    if depth.shape != far.shape or not (far > 0.0).all() or not power >= 0.0:
        raise RangeError(
            Problem(
                "REC-028",
                "distances for the weights are outside their limits",
                got=f"{depth.size} depths, {far.size} distances, power {power:g}",
                allowed="one distance above 0 for each depth, power 0 or more",
                next="give the distance from gauge to gauge",
            )
        )
    return float(_mean(depth[:, np.newaxis], far**-power)[0])


@dataclass(frozen=True)
class NormalRatio:
    """The mean of the neighbours, each scaled by the ratio of the rain both gauges measured.

    The ratio of normals is taken for each neighbour from the steps that both measured.
    """

    def fill(
        self,
        record: RainRecord,
        *,
        rng: np.random.Generator,
        neighbours: Sequence[Neighbour] = (),
    ) -> Fill:
        """Scale and average."""
        near = usable(record, neighbours)
        return _put(record, estimate(record, near), len(near), rng)


@dataclass(frozen=True)
class InverseDistance:
    """The mean of the neighbours by the inverse of their distance to a power, without scaling."""

    power: float = 2.0

    def fill(
        self,
        record: RainRecord,
        *,
        rng: np.random.Generator,
        neighbours: Sequence[Neighbour] = (),
    ) -> Fill:
        """Weigh and average."""
        near = usable(record, neighbours)
        weights = [n.distance_m**-self.power if n.weight is None else n.weight for n, _ in near]
        mean = _mean(np.array([x for _, x in near]), np.array(weights))
        return _put(record, mean, len(near), rng)


@dataclass(frozen=True)
class QuantileMap:
    """The depth with the rank here that the neighbour's has there, in the same season.

    The nearest neighbour that was measured that day is asked. Ranks are those of the days that
    both measured in the three months about the day. Where the neighbour had the same depth on
    several days, above all no rain, one of the depths measured here at those ranks is drawn, so
    that wet days stay as frequent as they are here. Above the greatest depth, depths are scaled.
    """

    def fill(
        self,
        record: RainRecord,
        *,
        rng: np.random.Generator,
        neighbours: Sequence[Neighbour] = (),
    ) -> Fill:
        """Map by rank."""
        near = sorted(usable(record, neighbours), key=lambda pair: pair[0].distance_m)
        month = np.repeat(
            record.days.astype("datetime64[M]").astype(np.int64) % 12, record.steps_per_day_count
        )
        out = np.full(len(record.depth_m), np.nan)
        for _, there in near:
            want = ~np.isfinite(record.depth_m) & ~np.isfinite(out) & np.isfinite(there)
            both = shared(record, there)
            for m in np.unique(month[want]):
                season = both & np.isin(month, ((m - 1) % 12, m, (m + 1) % 12))
                if season.sum() < LEAST_SEASON_DAYS:
                    season = both
                at = want & (month == m)
                out[at] = map_by_rank(
                    there[at], there=there[season], here=record.depth_m[season], rng=rng
                )
        return _put(record, out, len(near), rng)


def map_by_rank(
    depth_m: FloatArray, *, there: FloatArray, here: FloatArray, rng: np.random.Generator
) -> FloatArray:
    """Depths of the neighbour [m] turned into depths here, by rank among days both measured."""
    a, b = np.sort(there), np.sort(here)
    low, high = np.searchsorted(a, depth_m, "left"), np.searchsorted(a, depth_m, "right")
    drawn = b[np.minimum(low + (rng.random(len(depth_m)) * (high - low)).astype(int), len(b) - 1)]
    between = np.interp(depth_m, a, b)
    above = depth_m * (b[-1] / a[-1] if a[-1] > 0.0 else 1.0)
    out: FloatArray = np.where(high > low, drawn, np.where(depth_m > a[-1], above, between))
    return out


def estimate(record: RainRecord, near: Sequence[tuple[Neighbour, FloatArray]]) -> FloatArray:
    """Normal-ratio estimate in every step [m]; NaN where no neighbour was measured."""
    scaled, weights = [], []
    for neighbour, there in near:
        both = shared(record, there)
        scaled.append(there * (record.depth_m[both].sum() / there[both].sum()))
        weights.append(1.0 if neighbour.weight is None else neighbour.weight)
    return _mean(np.array(scaled), np.array(weights))


def _mean(depth_m: FloatArray, weight: FloatArray) -> FloatArray:
    """Weighted mean over the gauges (k, n) that have a value; NaN where none has."""
    weights = np.where(np.isfinite(depth_m), weight[:, np.newaxis], 0.0)
    total = weights.sum(axis=0)
    mean: FloatArray = np.divide(
        (weights * np.nan_to_num(depth_m)).sum(axis=0),
        total,
        out=np.full(depth_m.shape[1], np.nan),
        where=total > 0.0,
    )
    return mean


def _put(
    record: RainRecord,
    guess: FloatArray,
    count: int,
    rng: np.random.Generator,
) -> Fill:
    """The estimates in the gaps; where no neighbour was measured, rain of the same season."""
    gaps = ~np.isfinite(record.depth_m)
    depth = np.where(gaps, guess, record.depth_m)
    left = ~np.isfinite(depth)
    how = f"from {count} neighbour{'s' if count > 1 else ''}"
    if left.any():
        own = SameSeason().fill(record, rng=rng).depth_m
        depth[left] = own[left]
        how += f", but {int(left.sum())} by same-season: no neighbour was measured then"
    return Fill(depth, how)
