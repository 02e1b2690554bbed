"""The living skin and the sand under it as they age: scalar laws for a day, or any length of step.

Resistances are head over rate [s] at 20 degrees C; multiply by ``nu(T) / nu(20)`` for use at
another temperature. Every law is exact for what is steady within the step, so that a step cut in
two, with the filtered depth cut in the same parts, ends where the whole step ends.
"""

from __future__ import annotations

import math

from roofspring.kernels._jit import kernel

DAY_S = 86400.0
REFERENCE_DEGC = 20.0
"""Temperature at which resistances and rates of life are given."""

WET = 0
DRY = 1
"""State of a bed: water stands over the sand, or the sand has drained."""


@kernel
def skin_after_s(
    skin_s: float,
    bed_s: float,
    filtered_m: float,
    dt_s: float,
    cake_s_per_m: float,
    growth_per_m: float,
    growth_per_day: float,
    load_factor: float,
) -> float:
    """Resistance of the skin [s] after a step.

    One linear law holds the published ones, of which the others' constants are 0:
    ``dR = f (a dV + (g dV + k dt) (R_bed + R))`` with V the filtered depth [m] and f the
    ``load_factor`` [-] of the season's solids and pollen. ``cake_s_per_m`` is a, the surface cake
    (RUTH_1935); ``growth_per_day`` is k, loss of head that grows as ``h0 exp(k t)``;
    ``growth_per_m`` is g, the same growth counted by water filtered and not by time. Exponential
    growth is of the whole loss, bed and skin, so that it starts from a clean bed. ``bed_s`` is the
    resistance of the sand, ``depth / K`` [s].
    """
    gained_s = load_factor * cake_s_per_m * filtered_m
    exponent = load_factor * (growth_per_m * filtered_m + growth_per_day * dt_s / DAY_S)
    if exponent == 0.0:
        return skin_s + gained_s
    grown = math.expm1(exponent)
    return skin_s + (bed_s + skin_s) * grown + gained_s * (grown / exponent)


@kernel
def season_factor(
    day_of_year: int, first_day: int, last_day: int, in_season_factor: float
) -> float:
    """What a season multiplies the load by: 1 outside it. Days count from 1; it may span New Year.

    A ``first_day`` of 0 means that there is no season.
    """
    if first_day == 0:
        return 1.0
    if first_day <= last_day:
        inside = first_day <= day_of_year <= last_day
    else:
        inside = day_of_year >= first_day or day_of_year <= last_day
    return in_season_factor if inside else 1.0


@kernel
def warmth_factor(temp_degc: float, warmth_base: float) -> float:
    """Rate of life at a temperature over that at 20 degrees C: ``base ** (T - 20)`` [-]."""
    return math.exp(math.log(warmth_base) * (temp_degc - REFERENCE_DEGC))


@kernel
def running_share(
    filtered_m: float, dt_s: float, trickle_m_per_s: float, least_frac: float
) -> float:
    """Share of a step that a bed counts as running, from the depth of water that passed [m].

    A mean rate of ``trickle_m_per_s`` or more is running in full, for it brings the bed what it
    lives on; less counts in proportion. Below ``least_frac`` it is 0, a stop: behind a weir the
    last water takes for ever.
    """
    share = min(1.0, filtered_m / (trickle_m_per_s * dt_s)) if dt_s > 0.0 else 0.0
    return share if share >= least_frac else 0.0


@kernel
def ripeness_after(
    ripeness_frac: float,
    stopped_s: float,
    dt_s: float,
    temp_degc: float,
    running_frac: float,
    state: int,
    ripening_per_day: float,
    ripening_base: float,
    rest_s: float,
    stopped_decay_per_day: float,
    dry_decay_per_day: float,
    decay_base: float,
) -> tuple[float, float]:
    """Ripeness (0 new sand, 1 ripe) and time without flow [s] after a step.

    While water passes, ``dr/dt = f k(T) (1 - r)`` with f the ``running_frac`` of the step and
    ``k(T) = k20 base**(T - 20)``; the time without flow is then 0. While none passes, nothing is
    lost for a rest of ``rest_s``, after which ``dr/dt = -d(T) r``; a bed whose ``state`` is DRY
    loses at its own rate d from the first moment. Rates are at 20 degrees C. A temperature below
    0 counts as 0.
    """
    warm_degc = max(0.0, temp_degc)
    if state == DRY:
        rate = dry_decay_per_day * warmth_factor(warm_degc, decay_base)
        return ripeness_frac * math.exp(-rate * dt_s / DAY_S), stopped_s + dt_s
    if running_frac > 0.0:
        rate = running_frac * ripening_per_day * warmth_factor(warm_degc, ripening_base)
        return ripeness_frac - (1.0 - ripeness_frac) * math.expm1(-rate * dt_s / DAY_S), 0.0
    now_s = stopped_s + dt_s
    lost_s = max(0.0, now_s - max(rest_s, stopped_s))
    rate = stopped_decay_per_day * warmth_factor(warm_degc, decay_base)
    return ripeness_frac * math.exp(-rate * lost_s / DAY_S), now_s


@kernel
def cleaned(
    skin_s: float,
    ripeness_frac: float,
    sand_m: float,
    skin_left_frac: float,
    ripeness_left_frac: float,
    removed_m: float,
) -> tuple[float, float, float]:
    """Skin [s], ripeness and sand depth [m] after a cleaning that leaves shares and takes sand."""
    return (
        skin_left_frac * skin_s,
        ripeness_left_frac * ripeness_frac,
        max(0.0, sand_m - removed_m),
    )
