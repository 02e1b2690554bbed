"""A drier or stormier climate: stated factors by month and quantile, on a record or a model."""

from __future__ import annotations

from dataclasses import asdict, dataclass, replace
from typing import Any

import numpy as np

from roofspring.errors import Finding, Problem, RangeError
from roofspring.rain.futures._calendar import IntArray, Twelve, month_of
from roofspring.rain.futures.base import START, WET_DAY_M, FittedModel, Seed, seed_words
from roofspring.rain.record import FloatArray, Kept, RainRecord
from roofspring.sources import ENGINEERING_CHOICE
from roofspring.units import UnitSet

ONES: Twelve = (1.0,) * 12
MAX_FACTOR = 5.0

_SEASON = (0, 0, 1, 1, 1, 2, 2, 2, 3, 3, 3, 0)


@dataclass(frozen=True)
class ChangeFactor:
    """What is to change, stated as factors on what was.

    Parameters
    ----------
    rain : 12 float
        On the sum of rain of each month, January to December [-], 0 to 5.
    wet_days : 12 float
        On the number of wet days of each month [-], 0.05 to 5.
    quantiles : tuple of (float, float)
        Pairs of a quantile of wet-day rain, 0 to 1, and a factor on rain there; straight lines
        between, level outside. They change the form of the law and not the sum, which ``rain``
        states: more from the great storms is less from the small ones.
    words : str
        Where the factors come from; shown with every result.

    Raises
    ------
    RangeError (REC-065)
        Not twelve values, or one outside its limits, or quantiles out of order.

    Notes
    -----
    A dry day stays dry where wet days do not increase. Where they do, dry days next to wet ones
    become wet first, with rain drawn from wet days of the same month; where they decrease, wet days
    drawn at random become dry. The sum of each calendar month over the whole record then becomes
    the stated factor times what it was.

    Source
    ------
    Change factors are common practice, no source; what becomes of single days: engineering choice.

    Examples
    --------
    >>> change = ChangeFactor.by_season(rain=(1.1, 1.0, 0.7, 0.9), words="an example, no forecast")
    >>> change.rain[6], change.rain[0]
    (0.7, 1.1)
    """

    rain: Twelve = ONES
    wet_days: Twelve = ONES
    quantiles: tuple[tuple[float, float], ...] = ()
    words: str = "stated factors"

    def __post_init__(self) -> None:
        problems = []
        for name, low in (("rain", 0.0), ("wet_days", 0.05)):
            values = getattr(self, name)
            if len(values) != 12:
                problems.append(_problem(name, f"{len(values)} values", "12 values"))
            problems += [
                _problem(f"{name}, month {i + 1}", f"{v:g}", f"{low:g} to {MAX_FACTOR:g}")
                for i, v in enumerate(values)
                if not low <= v <= MAX_FACTOR
            ]
        levels = [q for q, _ in self.quantiles]
        if levels != sorted(set(levels)) or any(not 0.0 <= q <= 1.0 for q in levels):
            problems.append(_problem("quantiles", str(levels), "0 to 1, each more than the last"))
        problems += [
            _problem(f"quantiles, at {q:g}", f"{f:g}", f"0.05 to {MAX_FACTOR:g}")
            for q, f in self.quantiles
            if not 0.05 <= f <= MAX_FACTOR
        ]
        if problems:
            raise RangeError(problems)

    @classmethod
    def by_season(
        cls,
        *,
        rain: tuple[float, float, float, float] = (1.0, 1.0, 1.0, 1.0),
        wet_days: tuple[float, float, float, float] = (1.0, 1.0, 1.0, 1.0),
        quantiles: tuple[tuple[float, float], ...] = (),
        words: str = "stated factors",
    ) -> ChangeFactor:
        """Factors of December to February, March to May, June to August, September to November."""
        return cls(
            rain=tuple(rain[s] for s in _SEASON),
            wet_days=tuple(wet_days[s] for s in _SEASON),
            quantiles=quantiles,
            words=words,
        )

    @property
    def is_none(self) -> bool:
        """Whether nothing changes."""
        ones = all(v == 1.0 for v in (*self.rain, *self.wet_days))
        return ones and len({f for _, f in self.quantiles}) <= 1

    def apply(self, record: RainRecord, *, seed: Seed, wet_day_m: float = WET_DAY_M) -> RainRecord:
        """The record in the changed climate.

        Parameters
        ----------
        record : RainRecord
            Gapless. Hours of a day are multiplied alike.
        seed : int or numpy.random.SeedSequence
            For the days that become wet or dry.
        wet_day_m : float
            Least rain of a wet day [m].

        Returns
        -------
        RainRecord
            Every step marked `Kept.INVENTED`, with a name, source and finding that say what was
            changed. Where nothing changes the depths are the same bit for bit.

        Notes
        -----
        On an hourly record a day that becomes wet takes the pattern of the day its rain is drawn
        from. Temperatures stay as they were.
        """
        depth = record.depth_m
        if not self.is_none:
            depth = self._changed(record, wet_day_m, np.random.default_rng(seed))
        return replace(
            record,
            depth_m=depth,
            kept=np.full(len(depth), Kept.INVENTED, dtype=np.uint8),
            name=f"{record.name}, changed ({self.words})",
            source=f"{record.source}; changed climate: {self.words}",
            findings=(*record.findings, self.finding),
        )

    def model(self, fitted: FittedModel) -> ChangedModel:
        """The model in the changed climate."""
        return ChangedModel(fitted, self)

    @property
    def finding(self) -> Finding:
        """What every changed record says."""
        return Finding(
            "REC-156",
            "caution",
            f"the rain was changed by stated factors ({self.words}); it is a question asked of the "
            "system, not a forecast",
            where="rain",
            got=f"rain times {min(self.rain):g} to {max(self.rain):g}, "
            f"wet days times {min(self.wet_days):g} to {max(self.wet_days):g} by month",
            source=ENGINEERING_CHOICE,
            next="look at several changes, and at none",
        )

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        return asdict(self)

    def _changed(
        self, record: RainRecord, wet_day_m: float, rng: np.random.Generator
    ) -> FloatArray:
        n = record.steps_per_day_count
        steps = record.depth_m[: record.days_count * n].reshape(-1, n).copy()
        daily = steps.sum(axis=1)
        before, month = daily.copy(), month_of(record.days)
        for m in range(12):
            at = np.flatnonzero(month == m)
            if len(at) == 0:
                continue
            self._days(daily, steps, at, m, wet_day_m, rng)
            wet = at[daily[at] > 0.0]
            if self.quantiles and len(wet):
                wanted = self._reshaped(daily[wet])
                steps[wet] *= (wanted / daily[wet])[:, np.newaxis]
                daily[wet] = wanted
            now = float(daily[at].sum())
            if now > 0.0:
                # One factor, so that nothing changes where 1 was asked for and no day turned.
                factor = self.rain[m] * (float(before[at].sum()) / now)
                steps[at] *= factor
                daily[at] *= factor
        depth = record.depth_m.copy()
        depth[: steps.size] = steps.ravel()
        return depth

    def _days(
        self,
        daily: FloatArray,
        steps: FloatArray,
        at: IntArray,
        m: int,
        wet_day_m: float,
        rng: np.random.Generator,
    ) -> None:
        """Turn wet days dry or dry days wet, in place."""
        is_wet = daily >= wet_day_m
        wet, dry = at[is_wet[at]], at[~is_wet[at]]
        wanted = min(len(at), max(1, round(self.wet_days[m] * len(wet)))) if len(wet) else 0
        if wanted < len(wet):
            gone = rng.choice(wet, size=len(wet) - wanted, replace=False)
            steps[gone], daily[gone] = 0.0, 0.0
        elif wanted > len(wet):
            beside = np.zeros(len(daily), dtype=bool)
            beside[1:] |= is_wet[:-1]
            beside[:-1] |= is_wet[1:]
            mixed = rng.permutation(dry)
            order = mixed[np.argsort(~beside[mixed], kind="stable")]
            new = order[: wanted - len(wet)]
            given = rng.choice(wet, size=len(new))
            steps[new], daily[new] = steps[given], daily[given]

    def _reshaped(self, daily: FloatArray) -> FloatArray:
        """Rain of wet days after the factors by quantile; more stays more."""
        levels, factors = np.array(self.quantiles).T
        order = np.argsort(daily, kind="stable")
        quantile = (np.arange(len(daily)) + 0.5) / len(daily)
        mapped = np.maximum.accumulate(daily[order] * np.interp(quantile, levels, factors))
        out = np.empty_like(daily)
        out[order] = mapped
        return out


@dataclass(frozen=True)
class ChangedModel:
    """A fitted model whose every record is changed."""

    fitted: FittedModel
    change: ChangeFactor

    @property
    def title(self) -> str:
        """The model, and that it is changed."""
        return f"{self.fitted.title}, changed ({self.change.words})"

    @property
    def wet_day_m(self) -> float:
        """Least rain of a wet day [m]."""
        return self.fitted.wet_day_m

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Those of the fit, and the change."""
        return (*self.fitted.findings, self.change.finding)

    def simulate(self, *, years: int, seed: Seed, start: np.datetime64 = START) -> RainRecord:
        """Invent whole years of the changed climate.

        Raises
        ------
        RangeError (REC-023)
            Years outside their limits.
        """
        record = self.fitted.simulate(years=years, seed=seed, start=start)
        root = np.random.SeedSequence(seed) if isinstance(seed, int | np.integer) else seed
        own = np.random.SeedSequence(root.entropy, spawn_key=(*root.spawn_key, _OWN_STREAM))
        changed = self.change.apply(record, seed=own, wet_day_m=self.wet_day_m)
        words = f"{self.title}, {seed_words(seed)}"
        return replace(
            changed, name=f"invented rain, {words}", source=f"invented by the model {words}"
        )

    def summary(self, *, units: UnitSet = "metric") -> str:
        """The fit in a few lines, and the change."""
        fit = self.fitted.summary(units=units)
        return f"{fit}\nChanged: {self.change.finding.got} ({self.change.words})."

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        return {**self.fitted.to_dict(), "change": self.change.to_dict()}


_OWN_STREAM = 1_000_003
"""Key of the stream that turns days, apart from those of any member."""


def _problem(where: str, got: str, allowed: str) -> Problem:
    return Problem(
        "REC-065",
        "a factor of change is outside its limits",
        where=where,
        got=got,
        allowed=allowed,
        next="give factors, not percent: 10 % less is 0.9",
    )
