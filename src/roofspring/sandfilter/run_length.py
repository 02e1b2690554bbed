"""How long a filter runs from one cleaning to the next, and how much water it gives meanwhile."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from roofspring.constants import SECONDS_PER_DAY
from roofspring.errors.limits import not_negative, positive
from roofspring.sandfilter.skin import GrowthLaw, Season
from roofspring.water import viscosity_ratio

LONGEST_DAYS = 3650
"""A run that goes on for ten years by the formula is told as endless; engineering choice."""

_NODES = 48
"""Points of the Gauss and Legendre rule; the integrand is smooth in the log of the resistance."""

MONTH_STARTS = (1, 32, 60, 91, 121, 152, 182, 213, 244, 274, 305, 335)
"""First days of the months, in a year of 365 days."""

Ending = Literal["head", "rate", "never", "at-once"]


@dataclass(frozen=True)
class FilterRun:
    """One run, from cleaning to cleaning.

    Attributes
    ----------
    time_s : float
        Length [s]; infinite where nothing ends it.
    filtered_m : float
        Water filtered per area of sand [m].
    first_m_per_s, last_m_per_s : float
        Rate at its start and end [m/s].
    end_skin_s : float
        Resistance of the skin at its end, at 20 degrees C [s].
    ended_by : str
        ``head``: all the head is used; ``rate``: the rate falls below the least; ``never``;
        ``at-once``: the clean bed cannot do what is asked of it.
    """

    time_s: float
    filtered_m: float
    first_m_per_s: float
    last_m_per_s: float
    end_skin_s: float
    ended_by: Ending

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON; an endless length is None."""
        return {
            "time_s": self.time_s if math.isfinite(self.time_s) else None,
            "filtered_m": self.filtered_m if math.isfinite(self.filtered_m) else None,
            "first_m_per_s": self.first_m_per_s,
            "last_m_per_s": self.last_m_per_s,
            "end_skin_s": self.end_skin_s,
            "ended_by": self.ended_by,
        }


def run_at_rate(
    rate_m_per_s: float,
    *,
    head_m: float,
    bed_resistance_s: float,
    law: GrowthLaw,
    temp_degc: float = 20.0,
    skin_resistance_s: float = 0.0,
    load_factor: float = 1.0,
) -> FilterRun:
    """Run at a steady rate, until bed and skin take all the head there is.

    Parameters
    ----------
    rate_m_per_s : float
        Filtration rate [m/s], above 0.
    head_m : float
        Head to be had: overflow lip, or highest working level, over the weir crest [m], above 0.
    bed_resistance_s : float
        Of the clean sand at 20 degrees C, depth over conductivity [s], above 0.
    law : GrowthLaw
        How the skin grows.
    temp_degc : float
        Water temperature [degrees C], 0 to 40.
    skin_resistance_s : float
        Of what the last cleaning left, at 20 degrees C [s], 0 or more.
    load_factor : float
        What the growth is multiplied by [-], 0 or more.

    Returns
    -------
    FilterRun

    Raises
    ------
    RangeError (DOM-001, DOM-002)
        A value outside its range.

    Notes
    -----
    With X the whole resistance, ``dX/dt = f (a v + (g v + k) X)``, solved to ``X = H / (v n)``
    with n the viscosity over that at 20 degrees C. For the surface cake alone it is
    ``(H - v R) / (a v**2)``.

    Source
    ------
    That of the law.

    Examples
    --------
    >>> from roofspring.sandfilter.skin import GROWTH_LAWS
    >>> run = run_at_rate(0.1 / 3600, head_m=0.9, bed_resistance_s=0.8 / (2.74 / 3600),
    ...                   law=GROWTH_LAWS["surface-cake"])
    >>> round(run.time_s / 86400, 2), run.ended_by
    (72.57, 'head')
    """
    positive("rate_m_per_s", rate_m_per_s)
    positive("head_m", head_m)
    positive("bed_resistance_s", bed_resistance_s)
    not_negative("skin_resistance_s", skin_resistance_s)
    not_negative("load_factor", load_factor)
    start_s = bed_resistance_s + skin_resistance_s
    end_s = head_m / (rate_m_per_s * viscosity_ratio(temp_degc))
    if end_s <= start_s:
        return FilterRun(0.0, 0.0, rate_m_per_s, rate_m_per_s, skin_resistance_s, "at-once")
    steady = load_factor * law.cake_s_per_m * rate_m_per_s  # s of resistance per s of time
    share = load_factor * (law.growth_per_m * rate_m_per_s + law.growth_per_day / SECONDS_PER_DAY)
    if share > 0.0:
        grown = share * (end_s - start_s) / (steady + share * start_s)
        time_s = math.log1p(grown) / share
    elif steady > 0.0:
        time_s = (end_s - start_s) / steady
    else:
        return FilterRun(math.inf, math.inf, rate_m_per_s, rate_m_per_s, skin_resistance_s, "never")
    return FilterRun(
        time_s,
        rate_m_per_s * time_s,
        rate_m_per_s,
        rate_m_per_s,
        end_s - bed_resistance_s,
        "head",
    )


def run_at_head(
    head_m: float,
    *,
    least_m_per_s: float,
    bed_resistance_s: float,
    law: GrowthLaw,
    most_m_per_s: float = math.inf,
    temp_degc: float = 20.0,
    skin_resistance_s: float = 0.0,
    load_factor: float = 1.0,
) -> FilterRun:
    """Run at a steady level, the rate falling as the skin grows, until it is too low to be of use.

    Parameters
    ----------
    head_m : float
        Supernatant over the weir crest [m], above 0: what a float valve holds.
    least_m_per_s : float
        Rate at which the filter is cleaned [m/s], above 0: what is wanted of it.
    bed_resistance_s, law, temp_degc, skin_resistance_s, load_factor
        As in `run_at_rate`.
    most_m_per_s : float
        Rate that a throttle lets pass at most [m/s]; without one the clean bed runs free.

    Returns
    -------
    FilterRun

    Raises
    ------
    RangeError (DOM-001, DOM-002)
        A value outside its range.

    Notes
    -----
    ``v = min(H / (n X), v_most)`` and ``dX/dt = f (a v + (g v + k) X)``: while the throttle holds
    the rate it is `run_at_rate`; after that time and water are integrals over X. For the surface
    cake alone they are ``V = (X2 - X1)/a`` and ``t = n (X2**2 - X1**2)/(2 a H)``.

    Source
    ------
    That of the law; AWWA_ASCE_CH9, page 9.11, for the declining rate under a steady level.

    Examples
    --------
    >>> from roofspring.sandfilter.skin import GROWTH_LAWS
    >>> run = run_at_head(0.5, least_m_per_s=0.05 / 3600, bed_resistance_s=0.8 / (2.74 / 3600),
    ...                   law=GROWTH_LAWS["surface-cake"])
    >>> round(run.first_m_per_s * 3600, 2), round(run.time_s / 86400)
    (1.71, 83)
    """
    positive("head_m", head_m)
    positive("least_m_per_s", least_m_per_s)
    positive("bed_resistance_s", bed_resistance_s)
    not_negative("skin_resistance_s", skin_resistance_s)
    not_negative("load_factor", load_factor)
    stiffer = viscosity_ratio(temp_degc)
    start_s = bed_resistance_s + skin_resistance_s
    first = min(head_m / (stiffer * start_s), most_m_per_s)
    if first <= least_m_per_s:
        return FilterRun(0.0, 0.0, first, first, skin_resistance_s, "at-once")
    if load_factor == 0.0:
        return FilterRun(math.inf, math.inf, first, first, skin_resistance_s, "never")
    time_s = filtered_m = 0.0
    if head_m / (stiffer * start_s) > most_m_per_s:
        held = run_at_rate(
            most_m_per_s,
            head_m=head_m,
            bed_resistance_s=bed_resistance_s,
            law=law,
            temp_degc=temp_degc,
            skin_resistance_s=skin_resistance_s,
            load_factor=load_factor,
        )
        time_s, filtered_m = held.time_s, held.filtered_m
        start_s = bed_resistance_s + held.end_skin_s
    end_s = head_m / (stiffer * least_m_per_s)
    # Gauss and Legendre in the log of the resistance, from where the rate begins to fall.
    points, weights = np.polynomial.legendre.leggauss(_NODES)
    half = 0.5 * math.log(end_s / start_s)
    whole_s = start_s * np.exp(half * (points + 1.0))
    rate = head_m / (stiffer * whole_s)
    slope = load_factor * (
        law.cake_s_per_m * rate
        + (law.growth_per_m * rate + law.growth_per_day / SECONDS_PER_DAY) * whole_s
    )
    stay_s = half * weights * whole_s / slope
    return FilterRun(
        time_s + float(stay_s.sum()),
        filtered_m + float((stay_s * rate).sum()),
        first,
        least_m_per_s,
        end_s - bed_resistance_s,
        "rate",
    )


def run_through_seasons(
    rate_m_per_s: float,
    *,
    head_m: float,
    bed_resistance_s: float,
    law: GrowthLaw,
    start_day: int,
    seasons: Sequence[Season] = (),
    temps_degc: Sequence[float] = (20.0,) * 12,
    skin_resistance_s: float = 0.0,
) -> FilterRun:
    """Run at a steady rate through the year, day by day, as the engine does it.

    Parameters
    ----------
    rate_m_per_s, head_m, bed_resistance_s, law, skin_resistance_s
        As in `run_at_rate`.
    start_day : int
        Day of the year of the cleaning, from 1.
    seasons : sequence of Season
        Where several hold on a day, their factors multiply.
    temps_degc : sequence of float
        Mean water temperature of the twelve months [degrees C].

    Returns
    -------
    FilterRun
        ``never`` where it has not ended within ten years.

    Raises
    ------
    RangeError (DOM-001, DOM-002)
        A value outside its range.

    Notes
    -----
    A run also ends on the first day that the water turns too cold for what is left of the head.
    Within the last day the end is found exactly.

    Source
    ------
    That of the law.

    Examples
    --------
    >>> from roofspring.sandfilter.skin import GROWTH_LAWS, Season
    >>> run = run_through_seasons(0.1 / 3600, head_m=0.9, bed_resistance_s=1051.0,
    ...                           law=GROWTH_LAWS["surface-cake"], start_day=90,
    ...                           seasons=[Season(100, 150, 3.0)])
    >>> round(run.time_s / 86400, 1)
    30.9
    """
    positive("rate_m_per_s", rate_m_per_s)
    positive("head_m", head_m)
    positive("bed_resistance_s", bed_resistance_s)
    not_negative("skin_resistance_s", skin_resistance_s)
    limits_s = [head_m / (rate_m_per_s * viscosity_ratio(t)) for t in temps_degc]
    skin_s, day_m = skin_resistance_s, rate_m_per_s * SECONDS_PER_DAY
    for day in range(LONGEST_DAYS):
        day_of_year = (start_day - 1 + day) % 365 + 1
        month = bisect_right(MONTH_STARTS, day_of_year) - 1
        factor = math.prod(season.load_factor(day_of_year) for season in seasons)
        rest = run_at_rate(
            rate_m_per_s,
            head_m=head_m,
            bed_resistance_s=bed_resistance_s,
            law=law,
            temp_degc=temps_degc[month],
            skin_resistance_s=skin_s,
            load_factor=factor,
        )
        if rest.time_s <= SECONDS_PER_DAY:
            time_s = day * SECONDS_PER_DAY + rest.time_s
            end_s = skin_s if rest.ended_by == "at-once" else limits_s[month] - bed_resistance_s
            ended: Ending = "at-once" if time_s == 0.0 else "head"
            return FilterRun(
                time_s, rate_m_per_s * time_s, rate_m_per_s, rate_m_per_s, end_s, ended
            )
        skin_s = law.after_s(
            skin_s,
            bed_resistance_s=bed_resistance_s,
            filtered_m=day_m,
            time_s=SECONDS_PER_DAY,
            load_factor=factor,
        )
    return FilterRun(math.inf, math.inf, rate_m_per_s, rate_m_per_s, skin_s, "never")


def runs_by_rate(
    rates_m_per_s: Sequence[float],
    *,
    head_m: float,
    bed_resistance_s: float,
    law: GrowthLaw,
    temp_degc: float = 20.0,
    skin_resistance_s: float = 0.0,
    load_factor: float = 1.0,
) -> tuple[FilterRun, ...]:
    """`run_at_rate` for several rates: twice the rate, about a quarter of the run of a cake.

    >>> from roofspring.sandfilter.skin import GROWTH_LAWS
    >>> runs = runs_by_rate([0.1 / 3600, 0.2 / 3600], head_m=0.9,
    ...                     bed_resistance_s=0.8 / (2.74 / 3600), law=GROWTH_LAWS["surface-cake"])
    >>> [round(run.time_s / 86400, 2) for run in runs]
    [72.57, 17.53]
    """
    return tuple(
        run_at_rate(
            rate,
            head_m=head_m,
            bed_resistance_s=bed_resistance_s,
            law=law,
            temp_degc=temp_degc,
            skin_resistance_s=skin_resistance_s,
            load_factor=load_factor,
        )
        for rate in rates_m_per_s
    )
