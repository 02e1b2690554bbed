"""The rain to design for: from a table for the place, else the record, else by scaling."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from roofspring.errors import Finding, Problem, RangeError
from roofspring.rain.cloudburst.bands import Band, band
from roofspring.rain.cloudburst.fits import fit_gev, fit_gumbel
from roofspring.rain.cloudburst.maxima import AnnualMaxima, annual_maxima
from roofspring.rain.cloudburst.periods import Kind, to_kind
from roofspring.rain.cloudburst.scaling import (
    HOUR_S,
    LONG_EXPONENT,
    LONG_EXPONENT_HIGH,
    LONG_EXPONENT_LOW,
    SHORT_S,
    short_ratio,
)
from roofspring.rain.cloudburst.tables import (
    TABLE_LEVEL_FRAC,
    DepthTable,
    read_cell,
    table_depth_m,
)
from roofspring.rain.record import RainRecord
from roofspring.rain.words import both
from roofspring.sources import ENGINEERING_CHOICE

Way = Literal["table", "record", "scaled"]

FEW_YEARS = 20
"""Under so many yearly maxima a fit is marked; engineering choice."""
FAR_FACTOR = 2.0
"""A return period over this many times the length of the record is marked; engineering choice."""


@dataclass(frozen=True)
class DesignRain:
    """Rain of a duration and return period, and how it was come by.

    Attributes
    ----------
    depth_m : float
        [m]
    low_m, high_m : float or None
        Band [m]: of the fit, or as a table prints it; None where a table prints none.
    level_frac : float or None
        Share of the band; doubt of scaling is joined to it as if it were of the same level.
    duration_s : float
    return_years : float
    kind : str
        ``ARI`` or ``AEP``.
    way : str
        ``table``, ``record`` (fit at this very duration) or ``scaled`` (from a longer duration).
    base_s : float
        Duration the depth was read or fitted at [s].
    source : str
        The table, or the record and the law.
    findings : tuple of Finding
    """

    depth_m: float
    low_m: float | None
    high_m: float | None
    level_frac: float | None
    duration_s: float
    return_years: float
    kind: Kind
    way: Way
    base_s: float
    source: str
    findings: tuple[Finding, ...]

    @property
    def mean_m_per_s(self) -> float:
        """Mean intensity over the duration [m/s]."""
        return self.depth_m / self.duration_s


def design_rain(
    *,
    duration_s: float,
    return_years: float,
    kind: Kind,
    table: DepthTable | None = None,
    record: RainRecord | None = None,
    law: Literal["gev", "gumbel"] = "gev",
    level_frac: float = 0.90,
    resamples_count: int = 1000,
    seed: int = 0,
) -> DesignRain:
    """Depth for a duration and return period, the best that can be had.

    Parameters
    ----------
    duration_s : float
        300 to the longest the table or record gives [s].
    return_years : float
    kind : str
        ``ARI`` or ``AEP``.
    table : DepthTable, optional
        Published for the place. It comes first.
    record : RainRecord, optional
        Used where there is no table, or the table does not reach.
    law : str
        ``gev`` or ``gumbel``, for the record.
    level_frac, resamples_count, seed
        As in `band`.

    Returns
    -------
    DesignRain
        Finding REC-174 says what a table did not cover, REC-175 that a record is short for the
        return period, REC-176 that a depth was scaled from a longer duration.

    Raises
    ------
    RangeError
        REC-084: too few years. REC-086: return period outside its limits. REC-087: the table is
        not whole, or neither table nor record reaches.
    RecordError (REC-092)
        No year of the record is complete enough.

    Notes
    -----
    A table is read inside its own limits; below its shortest duration its depth is scaled. From a
    longer to a shorter duration: over an hour by ``duration**0.3`` (0.2 to 0.4), under it by the
    ratios of `short_ratio`, each with its doubt.

    Source
    ------
    HOSKING_WALLIS_1997 (fit); HERSHFIELD_1961 (short ratios); exponent: engineering choice.

    Examples
    --------
    >>> import numpy as np
    >>> rain = np.zeros(25 * 366)
    >>> rain[180::365] = np.random.default_rng(1).gumbel(0.030, 0.008, len(rain[180::365]))
    >>> record = RainRecord(start=np.datetime64("1990-01-01"), step_s=86400.0, name="x", source="x",
    ...                     depth_m=rain, kept=np.zeros(len(rain), dtype=np.uint8))
    >>> ten = design_rain(duration_s=900.0, return_years=10.0, kind="AEP", record=record)
    >>> ten.way, ten.low_m < ten.depth_m < ten.high_m, [f.code for f in ten.findings]
    ('scaled', True, ['REC-172', 'REC-173', 'REC-176'])
    """
    found: list[Finding] = []
    if duration_s < SHORT_S[0]:
        raise RangeError(_unreached(duration_s, return_years, kind, "300 s or more"))
    if table is not None:
        rain = _from_table(table, duration_s, return_years, kind)
        if rain is not None:
            return rain
        found.append(
            Finding(
                "REC-174",
                "caution",
                "the table does not reach this duration or return period; it was not stretched",
                where=table.source,
                got=f"{duration_s:g} s, {return_years:g} years ({kind})",
                limit=f"up to {table.duration_s[-1]:g} s, {table.return_years[0]:g} to "
                f"{table.return_years[-1]:g} years ({table.basis})",
                source=table.source,
                next="choose a rarity the table gives",
            )
        )
    if record is None:
        raise RangeError(
            _unreached(duration_s, return_years, kind, "what the table covers, or a record")
        )
    base_s = math.ceil(duration_s / record.step_s - 1e-9) * record.step_s
    maxima = annual_maxima(record, duration_s=base_s)
    fit = (fit_gev if law == "gev" else fit_gumbel)(maxima.depth_m)
    at_base = band(
        fit,
        return_years=return_years,
        kind=kind,
        level_frac=level_frac,
        resamples_count=resamples_count,
        seed=seed,
    )
    found += [*maxima.findings, *_short_record(maxima, at_base)]
    factor, low, high = scale_factors(base_s, duration_s)
    scaled = factor != 1.0
    if scaled:
        found.append(_scaled(base_s, duration_s, low / factor, high / factor))
    # Each side of the band is joined to that of the scaling in logarithms, as independent doubts.
    depth = at_base.depth_m
    return DesignRain(
        depth_m=depth * factor,
        low_m=depth * factor * _join(max(at_base.low_m, 1e-9) / depth, low / factor, -1.0),
        high_m=depth * factor * _join(at_base.high_m / depth, high / factor, 1.0),
        level_frac=level_frac,
        duration_s=duration_s,
        return_years=return_years,
        kind=kind,
        way="scaled" if scaled else "record",
        base_s=base_s,
        source=f"{record.name}: {fit.count} yearly maxima, {law} law by L-moments",
        findings=tuple(found),
    )


def scale_factors(from_s: float, to_s: float) -> tuple[float, float, float]:
    """Factor from a longer to a shorter duration of one rarity, and its low and high value [-].

    Source
    ------
    As in `design_rain`.
    """
    factor = low = high = 1.0
    long_from, long_to = max(from_s, HOUR_S), max(to_s, HOUR_S)
    ratio = long_to / long_from
    factor *= ratio**LONG_EXPONENT
    low *= ratio**LONG_EXPONENT_HIGH
    high *= ratio**LONG_EXPONENT_LOW
    if to_s < HOUR_S:
        start, start_doubt = short_ratio(min(from_s, HOUR_S))
        end, end_doubt = short_ratio(to_s)
        doubt = abs(end_doubt - start_doubt)
        factor *= end / start
        low *= end / start * (1.0 - doubt)
        high *= end / start * (1.0 + doubt)
    return factor, low, high


def _from_table(
    table: DepthTable, duration_s: float, return_years: float, kind: Kind
) -> DesignRain | None:
    """Read the table, or scale from its shortest duration; None where it does not reach."""
    base_s = max(duration_s, float(table.duration_s[0]))
    depth = table_depth_m(table, duration_s=base_s, return_years=return_years, kind=kind)
    if depth is None:
        return None
    factor, low, high = scale_factors(base_s, duration_s)
    scaled = factor != 1.0
    ends: list[float | None] = []
    for cells, rule, sign in ((table.lower_m, low, -1.0), (table.upper_m, high, 1.0)):
        end = None if cells is None else read_cell(table, cells, base_s, return_years, kind)
        known = end is not None or scaled
        wide = _join((depth if end is None else end) / depth, rule / factor, sign)
        ends.append(depth * factor * wide if known else None)
    return DesignRain(
        depth_m=depth * factor,
        low_m=ends[0],
        high_m=ends[1],
        level_frac=TABLE_LEVEL_FRAC if None not in ends else None,
        duration_s=duration_s,
        return_years=return_years,
        kind=kind,
        way="scaled" if scaled else "table",
        base_s=base_s,
        source=table.source,
        findings=((_scaled(base_s, duration_s, low / factor, high / factor),) if scaled else ()),
    )


def _join(first: float, second: float, sign: float) -> float:
    """Two ratios to the middle, joined as independent doubts on one side of it."""
    a = max(0.0, sign * math.log(first))
    b = max(0.0, sign * math.log(second))
    return math.exp(sign * math.hypot(a, b))


def _scaled(base_s: float, duration_s: float, low: float, high: float) -> Finding:
    return Finding(
        "REC-176",
        "caution",
        "the depth was scaled from a longer duration by a rule that is not of the place",
        got=f"from {base_s / 60.0:g} min to {duration_s / 60.0:g} min; the rule alone may be off "
        f"by {low - 1.0:+.0%} to {high - 1.0:+.0%}",
        source="HERSHFIELD_1961" if base_s <= HOUR_S else ENGINEERING_CHOICE,
        next="use a published table of short rain for the place",
    )


def _short_record(maxima: AnnualMaxima, at_base: Band) -> list[Finding]:
    count = len(maxima.depth_m)
    years = to_kind(at_base.return_years, kind=at_base.kind, wanted="AEP")
    if count >= FEW_YEARS and years <= FAR_FACTOR * count:
        return []
    return [
        Finding(
            "REC-175",
            "caution",
            "the record is short for this return period",
            got=f"{count} yearly maxima for 1 year in {years:.3g}: {both(at_base.low_m)} to "
            f"{both(at_base.high_m)} in {maxima.duration_s / 60.0:g} min",
            limit=f"{FEW_YEARS} years, and a return period up to {FAR_FACTOR:g} times the record",
            source=ENGINEERING_CHOICE,
            next="design for the high end of the band, or use a published table for the place",
        )
    ]


def _unreached(duration_s: float, return_years: float, kind: Kind, allowed: str) -> Problem:
    return Problem(
        "REC-087",
        "neither a table nor a record gives this rain",
        got=f"{duration_s:g} s, {return_years:g} years ({kind})",
        allowed=allowed,
        next="give a rain record, or a table for the place that covers it",
    )
