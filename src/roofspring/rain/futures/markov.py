"""Chains of wet and dry days with a law for how much it rains, by month."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any, Literal

import numpy as np

from roofspring.errors import Finding
from roofspring.kernels import weather
from roofspring.rain.futures._calendar import IntArray, Span, span
from roofspring.rain.futures.amounts import AMOUNTS, LEAST_MEAN, Law
from roofspring.rain.futures.base import (
    START,
    WET_DAY_M,
    Past,
    Seed,
    check_settings,
    generator_of,
    made,
    past,
)
from roofspring.rain.futures.chain import Chain, fit_chain, long_run_wet_frac, shifted
from roofspring.rain.futures.generate import whole_span
from roofspring.rain.futures.smooth import Harmonics, smooth_year
from roofspring.rain.futures.temperature import Temperatures, fit_temperatures
from roofspring.rain.futures.years import LEAST_YEARS, YearIndex, fit_years, month_sums, past_sums
from roofspring.rain.record import FloatArray, RainRecord
from roofspring.rain.words import as_read, lasting, plural
from roofspring.sources import ENGINEERING_CHOICE
from roofspring.units import MONTH_NAMES, UnitSet

FEW_WET_DAYS = 10
"""A month with fewer wet days in the whole record leans on its neighbours; engineering choice."""

_SHIFTS = np.linspace(-3.0, 3.0, 121)


@dataclass(frozen=True)
class MarkovModel:
    """Settings of a chain of wet and dry days with amounts by month.

    Parameters
    ----------
    order : {1, 2}
        Days that the chain remembers.
    amounts : {"gamma", "mixed"}
        Law of wet-day rain.
    wet_day_m : float
        Least rain of a wet day [m], 0.00001 to 0.02. What fell on days with less is left out.
    harmonics : int, "bic" or "none"
        Waves over the year that smooth monthly chances and means: 0 to 5, chosen, or none.
    years_differ : {"as-recorded", "as-the-chain"}
        Whether real years' differences are added to those that the chain makes by itself.

    Raises
    ------
    RangeError (REC-063)
        A setting outside its limits.

    Source
    ------
    RICHARDSON_1981; WILKS_2011, ch. 9; KATZ_PARLANGE_1998 (differences between years).

    Examples
    --------
    >>> from roofspring.rain import RainRecord
    >>> rain_m = np.where(np.arange(1461) % 3 == 0, 0.004 + 0.002 * (np.arange(1461) % 2), 0.0)
    >>> record = RainRecord(start=np.datetime64("2021-01-01"), step_s=86400.0, name="porch gauge",
    ...                     source="x", depth_m=rain_m, kept=np.zeros(1461, dtype=np.uint8))
    >>> model = MarkovModel(order=2).fit(record)
    >>> model.simulate(years=100, seed=1).name
    'invented rain, markov-2-gamma fitted to porch gauge (4 years), seed 1'
    """

    order: Literal[1, 2] = 1
    amounts: Literal["gamma", "mixed"] = "gamma"
    wet_day_m: float = WET_DAY_M
    harmonics: Harmonics = "bic"
    years_differ: Literal["as-recorded", "as-the-chain"] = "as-recorded"

    def __post_init__(self) -> None:
        check_settings(
            ("order", self.order, 1, 2),
            ("wet_day_m", self.wet_day_m, 1e-5, 0.02),
            ("harmonics", self.harmonics if isinstance(self.harmonics, int) else 0, 0, 5),
        )

    @property
    def name(self) -> str:
        """As in `MODELS`."""
        return f"markov-{self.order}-{self.amounts}"

    def fit(self, record: RainRecord) -> FittedMarkov:
        """Learn chances, amounts, temperatures and the differences between years.

        Raises
        ------
        RecordError (REC-060 to REC-062)
            Too short, gaps, or never wet.
        """
        known = past(record, wet_day_m=self.wet_day_m)
        wet = (known.depth_m >= self.wet_day_m).astype(np.int64)
        depth, month = known.depth_m[wet == 1], known.month[wet == 1]
        fitted = FittedMarkov(
            model=self,
            known=known,
            chain=fit_chain(wet, known.month, order=self.order, harmonics=self.harmonics),
            law=AMOUNTS[self.amounts](
                depth, month, mean_m=self._means(depth, month), wet_day_m=self.wet_day_m
            ),
            temperatures=fit_temperatures(known, wet),
            index=None,
            findings=(*known.findings, *self._doubts(known, month)),
        )
        if self.years_differ == "as-the-chain":
            return fitted
        sums = past_sums(known, wet_day_m=self.wet_day_m)
        if sums is None:
            return replace(fitted, findings=(*fitted.findings, _too_few_years(known)))
        return replace(fitted, index=fit_years(*sums, rain_of=fitted.monthly_rain_m))

    def _means(self, depth: FloatArray, month: IntArray) -> FloatArray:
        """Smoothed mean rain of a wet day by month [m]."""
        count = np.bincount(month, minlength=12)
        means = np.full(12, np.nan)
        np.divide(np.bincount(month, depth, 12), count, out=means, where=count > 0)
        # Logs of means, whose variance is that of a law as spread out as the record's, over n.
        relative = max(float(depth.var()) / float(depth.mean()) ** 2, 1e-6)
        smoothed = smooth_year(
            np.log(means), relative / np.maximum(count, 1), harmonics=self.harmonics
        )
        least = LEAST_MEAN * self.wet_day_m
        return np.maximum(np.exp(smoothed.values), least)

    def _doubts(self, known: Past, month: IntArray) -> list[Finding]:
        count = np.bincount(month, minlength=12)
        few = [MONTH_NAMES[m] for m in range(12) if count[m] < FEW_WET_DAYS]
        lost = float(known.depth_m[known.depth_m < self.wet_day_m].sum() / known.depth_m.sum())
        found = []
        if few:
            found.append(
                Finding(
                    "REC-152",
                    "caution",
                    "some months have few wet days in the record; their law leans on other months",
                    where=", ".join(few),
                    got=plural(min(count), "wet day"),
                    limit=f"{FEW_WET_DAYS} wet days",
                    source=ENGINEERING_CHOICE,
                    next="trust single storms of these months less",
                )
            )
        if lost > 0.01:
            found.append(
                Finding(
                    "REC-159",
                    "note",
                    "rain of days under the threshold of a wet day is left out of the model",
                    got=f"{lost:.1%} of the rain",
                    limit="1 %",
                    source=ENGINEERING_CHOICE,
                    next="lower the threshold if the sum matters more than the count of wet days",
                )
            )
        return found


@dataclass(frozen=True)
class FittedMarkov:
    """A chain that was fitted to a record.

    Attributes
    ----------
    model : MarkovModel
    known : Past
    chain : Chain
    law : Law
    temperatures : Temperatures or None
    index : YearIndex or None
        None where years differ only as the chain makes them.
    findings : tuple of Finding
    """

    model: MarkovModel
    known: Past
    chain: Chain
    law: Law
    temperatures: Temperatures | None
    index: YearIndex | None
    findings: tuple[Finding, ...]

    @property
    def title(self) -> str:
        """The model and the record, for people."""
        return self.known.title(self.model.name)

    @property
    def wet_day_m(self) -> float:
        """Least rain of a wet day [m]."""
        return self.model.wet_day_m

    def simulate(self, *, years: int, seed: Seed, start: np.datetime64 = START) -> RainRecord:
        """Invent whole years.

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
        depth, wet = self._rain(days, self.index, rng)
        temps = None if self.temperatures is None else self.temperatures.draw(days, wet, rng)
        return made(
            days,
            depth_m=depth,
            temps_degc=temps,
            title=self.title,
            seed=seed,
            findings=self.findings,
        )

    def monthly_rain_m(
        self, index: YearIndex | None, years: int, seed: np.random.SeedSequence
    ) -> FloatArray:
        """Monthly rain with some index, for its calibration [m], (years, 12)."""
        days = span(START, years)
        depth, _ = self._rain(days, index, np.random.default_rng(seed))
        return month_sums(depth, days)

    def _rain(
        self, days: Span, index: YearIndex | None, rng: np.random.Generator
    ) -> tuple[FloatArray, IntArray]:
        """Rain [m] and 1 for each wet day."""
        chance, year, factor = self.chain.chance_frac[np.newaxis], np.zeros_like(days.year), None
        if index is not None and not index.is_none:
            on_days, factor = index.draw(days.years, rng)
            chance, year = shifted(self.chain.chance_frac, self._shift(on_days)), days.year
        uniform = rng.random(days.days_count + self.model.order)
        # The days before the first are drawn from the long-run share of wet days.
        share, state = self.chain.wet_frac[days.month[0]], 0
        for u in uniform[days.days_count :]:
            state = 2 * state + int(u < share)
        flags = np.zeros(days.days_count, dtype=np.uint8)
        weather.wet_days(
            uniform[: days.days_count], np.ascontiguousarray(chance), year, days.month, state, flags
        )
        at = np.flatnonzero(flags)
        depth = np.zeros(days.days_count)
        drawn = self.law.draw(days.month[at], rng)
        if factor is not None:
            drawn = (
                self.wet_day_m + (drawn - self.wet_day_m) * factor[days.year[at], days.month[at]]
            )
        depth[at] = drawn
        return depth, flags.astype(np.int64)

    def _shift(self, factor: FloatArray) -> FloatArray:
        """Shifts of the log odds that multiply wet days by some factors."""
        shift: FloatArray = np.interp(factor, self._shift_table, _SHIFTS)
        return shift

    @cached_property
    def _shift_table(self) -> FloatArray:
        """Wet days of a year after each shift, over those without."""
        share = long_run_wet_frac(shifted(self.chain.chance_frac, _SHIFTS[:, np.newaxis])).mean(
            axis=1
        )
        table: FloatArray = share / self.chain.wet_frac.mean()
        return table

    def summary(self, *, units: UnitSet = "metric") -> str:
        """The fit in a few lines."""
        wet = self.chain.wet_frac
        lines = [
            f"{self.title}.",
            f"Wet days: {wet.min():.0%} to {wet.max():.0%} by month, "
            f"from {as_read(self.wet_day_m, units)}.",
            "Temperatures: "
            + ("none in the record." if self.temperatures is None else "with wet and dry days."),
        ]
        if self.index is None:
            lines.append("Years differ only as much as the chain makes them, which is too little.")
        else:
            i = self.index
            lines.append(
                f"Years of the record vary {i.overdispersion:.2f} times as much as the chain's, "
                f"and months {i.month_overdispersion:.2f} times; factors with a spread of "
                f"{i.years_frac:.1%} by year and {i.months_frac:.1%} by month make up for it."
            )
        return "\n".join(lines)

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        return {
            "model": self.model.name,
            "settings": {
                "order": self.model.order,
                "amounts": self.model.amounts,
                "wet_day_m": self.model.wet_day_m,
                "harmonics": self.model.harmonics,
                "years_differ": self.model.years_differ,
            },
            "record": self.known.to_dict(),
            "chance_frac": self.chain.chance_frac.tolist(),
            "days_count": self.chain.days_count.tolist(),
            "wet_count": self.chain.wet_count.tolist(),
            "harmonics": list(self.chain.harmonics),
            "law": self.law.to_dict(),
            "temperatures": None if self.temperatures is None else self.temperatures.to_dict(),
            "years": None if self.index is None else self.index.to_dict(),
            "findings": [f.to_dict() for f in self.findings],
        }


def _too_few_years(known: Past) -> Finding:
    return Finding(
        "REC-154",
        "caution",
        "too few whole years to learn how years differ: invented years differ less than real ones",
        got=lasting(known.years),
        limit=f"{LEAST_YEARS} years",
        source=ENGINEERING_CHOICE,
        next="fit to a longer record, or read droughts of a year and more as too mild",
    )
