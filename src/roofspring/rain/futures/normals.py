"""From monthly normals alone: a climate for someone who has no record, with wider doubt."""

from __future__ import annotations

from dataclasses import asdict, dataclass, replace
from typing import Any

import numpy as np

from roofspring.errors import Finding, Problem, RangeError
from roofspring.rain.futures._calendar import Twelve
from roofspring.rain.futures.amounts import LEAST_MEAN, GammaLaw, scale_of
from roofspring.rain.futures.base import START, Seed, check_settings, generator_of, made, past
from roofspring.rain.futures.climate import MonthlyClimate
from roofspring.rain.futures.generate import whole_span
from roofspring.rain.record import FloatArray, RainRecord
from roofspring.rain.words import depth, plural
from roofspring.units import UnitSet

MONTH_DAYS = np.array([31, 28.25, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])

SHAPE_LIMITS = (0.4, 2.0)
"""Of the gamma law from normals; engineering choice."""

_TRANGE_DEGC = 8.0
_MOST_WET_FRAC = 0.95
_SPELLS = 0.25
_MOST_SPELLS = 0.6


@dataclass(frozen=True)
class Doubt:
    """How far normals may be from the truth: spread of a factor on each, drawn once per future.

    Parameters
    ----------
    rain_frac : float
        On the rain of all months together [-], 0 to 0.5.
    wet_days_frac : float
        On the number of wet days, with the rain unchanged [-], 0 to 0.5.
    spells_frac : float
        Not a factor but added to ``p11 - p01``, which the rule puts at 0.25 everywhere [-], 0 to
        0.5; the sum is held between 0 and 0.6.
    shape_frac : float
        On the shape of the law of wet-day rain [-], 0 to 0.5.
    years_frac : float
        Of a factor on the rain of each year [-], 0 to 0.5, for what a chain leaves out of the
        differences between years.

    Raises
    ------
    RangeError (REC-063)
        Outside the limits.

    Source
    ------
    Engineering choice. The defaults were settled with four records in view: with them the yearly
    spread and the droughts of the three long ones lie in the 90 % band.
    """

    rain_frac: float = 0.10
    wet_days_frac: float = 0.10
    spells_frac: float = 0.10
    shape_frac: float = 0.20
    years_frac: float = 0.12

    def __post_init__(self) -> None:
        check_settings(*((k, v, 0.0, 0.5) for k, v in asdict(self).items()))


@dataclass(frozen=True)
class MonthlyNormals:
    """What a climate table says of a place, January to December.

    Parameters
    ----------
    rain_m : 12 float
        Mean rain of the month [m], 0 to 3.
    wet_days : 12 float
        Mean number of wet days, 0 to the length of the month.
    tmean_degc : 12 float or None
        Mean air temperature [degrees C]; None for none.
    trange_degc : 12 float or None
        Mean daily range [degrees C]; None for 8, an engineering choice.
    place : str
        For people.
    wet_day_m : float
        What the table counts as a wet day [m]; 1 mm in climate normals.

    Raises
    ------
    RangeError (REC-067)
        Not twelve values, one outside its limits, or rain without wet days.

    Examples
    --------
    >>> normals = MonthlyNormals(rain_m=(0.06,) * 12, wet_days=(10,) * 12, place="Alder Bench")
    >>> future = normals.model().simulate(years=30, seed=1)
    >>> [f.code for f in future.findings]
    ['REC-150', 'REC-157']
    """

    rain_m: Twelve
    wet_days: Twelve
    tmean_degc: Twelve | None = None
    trange_degc: Twelve | None = None
    place: str = "a place without a record"
    wet_day_m: float = 0.001

    def __post_init__(self) -> None:
        problems = []
        for name, low, high in (
            ("rain_m", 0.0, 3.0),
            ("wet_days", 0.0, 31.0),
            ("tmean_degc", -95.0, 65.0),
            ("trange_degc", 0.0, 60.0),
        ):
            values = getattr(self, name)
            if values is None:
                continue
            if len(values) != 12:
                problems.append(_problem(name, f"{len(values)} values", "12 values"))
                continue
            problems += [
                _problem(f"{name}, month {i + 1}", f"{v:g}", f"{low:g} to {high:g}")
                for i, v in enumerate(values)
                if not low <= v <= high
            ]
        if not problems:
            problems = [
                _problem(f"wet_days, month {i + 1}", f"{w:g} with {r * 1e3:g} mm", allowed)
                for i, (r, w) in enumerate(zip(self.rain_m, self.wet_days, strict=True))
                for allowed in (f"more than 0 where it rains, at most {MONTH_DAYS[i]:g}",)
                if (r > 0.0 and w <= 0.0) or w > MONTH_DAYS[i] + 0.75
            ]
        if problems:
            raise RangeError(problems)

    @classmethod
    def of_record(cls, record: RainRecord, *, wet_day_m: float = 0.001) -> MonthlyNormals:
        """The normals that a table would print for a record's place.

        Parameters
        ----------
        record : RainRecord
            Gapless, with days of every month.
        wet_day_m : float
            Least rain of a wet day [m].

        Raises
        ------
        RecordError (REC-060, REC-061)
            Less than a year, or gaps.
        """
        known = past(record, wet_day_m=0.0)
        days = np.bincount(known.month, minlength=12)

        def mean(values: FloatArray) -> FloatArray:
            means: FloatArray = np.bincount(known.month, values, 12) / days
            return means

        tmean = trange = None
        if known.tmin_degc is not None and known.tmax_degc is not None:
            tmean = _plain(mean((known.tmin_degc + known.tmax_degc) / 2.0))
            trange = _plain(mean(known.tmax_degc - known.tmin_degc))
        return cls(
            rain_m=_plain(mean(known.depth_m) * MONTH_DAYS),
            wet_days=_plain(mean((known.depth_m >= wet_day_m).astype(np.float64)) * MONTH_DAYS),
            tmean_degc=tmean,
            trange_degc=trange,
            place=record.name,
            wet_day_m=wet_day_m,
        )

    def climate(self) -> MonthlyClimate:
        """A climate for `generate`, by published rules for what the table does not say.

        Notes
        -----
        ``p01 = 0.75 f`` and ``p11 = 0.25 + p01`` for a share f of wet days. Scale of the gamma law
        ``-2.16 + 1.83 m`` for m mm of rain on a wet day, and shape m over scale, held between 0.4
        and 2. A share above 0.95 is taken as 0.95, and wet days that would have less
        rain than makes a wet day are made fewer. 10 degrees C stand in for missing temperatures.

        Source
        ------
        GENG_1986; the limits are an engineering choice.
        """
        wet, mean = self._wet_days()
        shape = np.full(12, SHAPE_LIMITS[1])
        scale = -2.16e-3 + 1.83 * mean
        np.divide(mean, scale, out=shape, where=scale > 0.0)
        shape = np.clip(shape, *SHAPE_LIMITS)
        p01 = (1.0 - _SPELLS) * wet
        tmean = self.tmean_degc if self.tmean_degc is not None else (10.0,) * 12
        trange = self.trange_degc if self.trange_degc is not None else (_TRANGE_DEGC,) * 12
        return MonthlyClimate(
            p01_frac=tuple(p01.tolist()),
            p11_frac=tuple(np.where(wet > 0.0, _SPELLS + p01, 0.0).tolist()),
            gamma_shape=tuple(shape.tolist()),
            wet_day_m=tuple(mean.tolist()),
            tmean_degc=tmean,
            trange_degc=trange,
        )

    def _wet_days(self) -> tuple[FloatArray, FloatArray]:
        """Share of wet days, and their mean rain [m], which is at least that of a wet day."""
        rain = np.array(self.rain_m) / MONTH_DAYS
        wet = np.minimum(np.array(self.wet_days) / MONTH_DAYS, _MOST_WET_FRAC)
        wet = np.where(rain > 0.0, np.minimum(wet, rain / (LEAST_MEAN * self.wet_day_m)), 0.0)
        mean = np.zeros(12)
        np.divide(rain, wet, out=mean, where=wet > 0.0)
        return wet, mean

    def model(self, *, doubt: Doubt | None = None) -> NormalsModel:
        """A model that needs no record.

        Parameters
        ----------
        doubt : Doubt, optional
            How far the normals may be off; stated defaults without it.
        """
        return NormalsModel(self, Doubt() if doubt is None else doubt)

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        return asdict(self)


@dataclass(frozen=True)
class NormalsModel:
    """Rain from normals. Each future has a climate of its own, drawn around the normals.

    Attributes
    ----------
    normals : MonthlyNormals
    doubt : Doubt
    """

    normals: MonthlyNormals
    doubt: Doubt

    @property
    def title(self) -> str:
        """The model and the place, for people."""
        return f"markov-gamma from monthly normals of {self.normals.place}"

    @property
    def wet_day_m(self) -> float:
        """Least rain of a wet day of the table [m]."""
        return self.normals.wet_day_m

    @property
    def findings(self) -> tuple[Finding, ...]:
        """That only normals were given."""
        d = self.doubt
        return (
            Finding(
                "REC-157",
                "caution",
                "only monthly normals were given, no record: how wet and dry spells and years "
                "follow each other is a general rule and not knowledge of this place",
                where=self.normals.place,
                got=f"each future draws its own climate: rain within {d.rain_frac:.0%}, wet days "
                f"within {d.wet_days_frac:.0%}, form of wet-day rain within {d.shape_frac:.0%}, "
                f"each year within {d.years_frac:.0%} (one standard deviation)",
                source="GENG_1986",
                next="find a daily record of a station near you; read the worst tenth of the "
                "futures, not their middle",
            ),
        )

    def simulate(self, *, years: int, seed: Seed, start: np.datetime64 = START) -> RainRecord:
        """Invent whole years in a climate drawn around the normals.

        Parameters
        ----------
        years : int
            1 to 10,000.
        seed : int or numpy.random.SeedSequence
        start : numpy.datetime64
            First day.

        Raises
        ------
        RangeError (REC-023)
            Years outside their limits.
        """
        days = whole_span(start, years)
        rng = generator_of(seed)
        climate = self._drawn(rng)
        wet = climate.draw_wet(days, rng)
        at = np.flatnonzero(wet)
        law = GammaLaw(
            shape=np.array(climate.gamma_shape),
            scale_m=scale_of(
                np.array(climate.gamma_shape),
                np.maximum(climate.wet_day_m, LEAST_MEAN * self.wet_day_m),
                self.wet_day_m,
            ),
            wet_day_m=self.wet_day_m,
        )
        depth = np.zeros(days.days_count)
        depth[at] = law.draw(days.month[at], rng)
        depth *= _factors(self.doubt.years_frac, years, rng)[days.year]
        return made(
            days,
            depth_m=depth,
            temps_degc=None
            if self.normals.tmean_degc is None
            else climate.draw_temperatures(days, rng),
            title=self.title,
            seed=seed,
            findings=self.findings,
        )

    def _drawn(self, rng: np.random.Generator) -> MonthlyClimate:
        """A climate around the normals."""
        climate, doubt = self.normals.climate(), self.doubt
        rain, days, shape = (
            float(_factors(spread, 1, rng)[0])
            for spread in (doubt.rain_frac, doubt.wet_days_frac, doubt.shape_frac)
        )
        wet, mean = self.normals._wet_days()
        lasts = float(
            np.clip(_SPELLS + doubt.spells_frac * rng.standard_normal(), 0.0, _MOST_SPELLS)
        )
        # Fewer wet days with the same rain are wetter, but none has less than a wet day must.
        most = np.minimum(_MOST_WET_FRAC, wet * rain * mean / (LEAST_MEAN * self.wet_day_m))
        moved = np.minimum(wet * days, most)
        per_day = np.zeros(12)
        np.divide(wet * mean * rain, moved, out=per_day, where=moved > 0.0)
        p01 = (1.0 - lasts) * moved
        return replace(
            climate,
            p01_frac=_plain(p01),
            p11_frac=_plain(np.where(moved > 0.0, lasts + p01, 0.0)),
            gamma_shape=_plain(np.clip(np.array(climate.gamma_shape) * shape, 0.1, 10.0)),
            wet_day_m=_plain(np.minimum(per_day, 1.0)),
        )

    def summary(self, *, units: UnitSet = "metric") -> str:
        """The model in a few lines."""
        rain, wet = sum(self.normals.rain_m), sum(self.normals.wet_days)
        finding = self.findings[0]
        return (
            f"{self.title}: {depth(rain, units)} and {plural(round(wet), 'wet day')} a year.\n"
            f"{finding.what}.\n{finding.got}."
        )

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        return {
            "model": "normals",
            "normals": self.normals.to_dict(),
            "doubt": asdict(self.doubt),
            "climate": asdict(self.normals.climate()),
            "findings": [f.to_dict() for f in self.findings],
        }


def _factors(spread: float, count: int, rng: np.random.Generator) -> FloatArray:
    """Log-normal factors with mean 1 and this spread."""
    sigma = float(np.sqrt(np.log1p(spread**2)))
    factors: FloatArray = np.exp(sigma * rng.standard_normal(count) - 0.5 * sigma**2)
    return factors


def _plain(values: FloatArray) -> Twelve:
    return tuple(float(v) for v in values)


def _problem(where: str, got: str, allowed: str) -> Problem:
    return Problem(
        "REC-067",
        "a monthly normal is outside its limits",
        where=where,
        got=got,
        allowed=allowed,
        next="check the month and the unit: rain in metres, wet days as a number of days",
    )
