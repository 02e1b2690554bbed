"""What is left of germs at the bottom of a bed, from the rate at which the sand takes them."""

from __future__ import annotations

import math
from collections.abc import Sequence

from roofspring.errors import Problem, RangeError
from roofspring.errors.limits import not_negative, part_share, positive


def steady_removal_log10(
    removal_per_day: float,
    *,
    rate_m_per_s: float,
    depth_m: float,
    porosity_frac: float,
    dispersivity_m: float,
) -> float:
    """Log reduction of a bed that takes germs at a steady rate, with dispersion.

    Parameters
    ----------
    removal_per_day : float
        Share taken per day of stay, lambda [1/day], 0 or more.
    rate_m_per_s : float
        Filtration rate [m/s], above 0.
    depth_m : float
        Sand depth [m], above 0.
    porosity_frac : float
        [-], above 0 and below 1.
    dispersivity_m : float
        Length over which the flow mixes [m], 0 or more; the experiments had 4 to 21 mm.

    Returns
    -------
    float
        Log10 reduction [-].

    Raises
    ------
    RangeError (DOM-002, DOM-003)
        A value outside its range.

    Notes
    -----
    ``ln(C/C0) = x (1 - sqrt(1 + 4 aL lambda / v)) / (2 aL)`` with v the pore velocity; without
    dispersion ``-lambda x / v``.

    Source
    ------
    SCHIJVEN_2013, steady state, as quoted.

    Examples
    --------
    >>> round(steady_removal_log10(132.0, rate_m_per_s=0.45 / 3600, depth_m=1.54,
    ...                            porosity_frac=0.39, dispersivity_m=0.0038), 2)
    3.13
    """
    not_negative("removal_per_day", removal_per_day)
    positive("rate_m_per_s", rate_m_per_s)
    positive("depth_m", depth_m)
    part_share("porosity_frac", porosity_frac)
    not_negative("dispersivity_m", dispersivity_m)
    per_m = removal_per_day / 86400.0 * porosity_frac / rate_m_per_s
    # 2 / (1 + sqrt(1 + 4 a k)) is the same root with no digits lost as the dispersion goes to 0.
    mixed = 2.0 / (1.0 + math.sqrt(1.0 + 4.0 * dispersivity_m * per_m))
    return per_m * depth_m * mixed / math.log(10.0)


def two_site_removal_per_day(
    *,
    liquid_loss_per_day: float,
    solid_loss_per_day: float,
    attach_per_day: Sequence[float],
    detach_per_day: Sequence[float],
) -> float:
    """Rate at which sand takes germs that attach at several kinds of site, let go again and die.

    Parameters
    ----------
    liquid_loss_per_day, solid_loss_per_day : float
        Dying in the water and on the sand [1/day]: 0 or more, and above 0.
    attach_per_day, detach_per_day : sequence of float
        Attaching to and letting go of each kind of site [1/day].

    Returns
    -------
    float
        lambda [1/day].

    Raises
    ------
    RangeError (DOM-002)
        A value outside its range.
    RangeError (BED-010)
        Not as many rates of letting go as of attaching.

    Notes
    -----
    ``mu_l + sum(k_att / (1 + k_det / mu_s))``.

    Source
    ------
    SCHIJVEN_2013, as quoted.

    Examples
    --------
    >>> round(two_site_removal_per_day(liquid_loss_per_day=0.26, solid_loss_per_day=0.026,
    ...       attach_per_day=(23.0, 8.11), detach_per_day=(0.0055, 4.54)), 1)
    19.3
    """
    not_negative("liquid_loss_per_day", liquid_loss_per_day)
    positive("solid_loss_per_day", solid_loss_per_day)
    if len(attach_per_day) != len(detach_per_day):
        raise RangeError(
            Problem(
                "BED-010",
                "each kind of site needs one rate of attaching and one of letting go",
                where="attach_per_day, detach_per_day",
                got=f"{len(attach_per_day)} and {len(detach_per_day)}",
                allowed="as many of the one as of the other",
                next="give the rates pair by pair; 0 for a site that never lets go",
            )
        )
    total = liquid_loss_per_day
    for attach, detach in zip(attach_per_day, detach_per_day, strict=True):
        not_negative("attach_per_day", attach)
        not_negative("detach_per_day", detach)
        total += attach / (1.0 + detach / solid_loss_per_day)
    return total


def percent_to_log10(removed_percent: float) -> float:
    """Log reduction of a removal in per cent; 100 % has none and is a `RangeError` (DOM-003).

    >>> [round(percent_to_log10(p), 3) for p in (60.0, 99.0, 99.997)]
    [0.398, 2.0, 4.523]
    """
    not_negative("removed_percent", removed_percent)
    if removed_percent == 0.0:
        return 0.0
    left = 1.0 - removed_percent / 100.0
    part_share("1 - removed_percent / 100", left)
    return -math.log10(left)


def passage_mean_log10(shares: Sequence[float], removals_log10: Sequence[float]) -> float:
    """Mean log reduction over times of different reduction: what passes is averaged, never the log.

    Parameters
    ----------
    shares : sequence of float
        Water, or days, at each reduction; only their ratio counts.
    removals_log10 : sequence of float
        Log10 reductions at those times [-].

    Returns
    -------
    float
        Log10 of the whole water in over what passes [-].

    Raises
    ------
    RangeError (DOM-002)
        A share below 0, or all 0.
    RangeError (BED-010)
        Not as many shares as reductions.

    Notes
    -----
    ``-log10(sum(f_i 10**-L_i))``: two bad weeks a year undo most of the other fifty.

    Source
    ------
    HAAS_1999, averaging of risk over time.

    Examples
    --------
    >>> round(passage_mean_log10([350.0, 15.0], [3.0, 1.0]), 3)
    2.295
    """
    if len(shares) != len(removals_log10):
        raise RangeError(
            Problem(
                "BED-010",
                "each share needs its own reduction",
                where="shares, removals_log10",
                got=f"{len(shares)} and {len(removals_log10)}",
                allowed="as many of the one as of the other",
                next="give them pair by pair",
            )
        )
    for value in shares:
        not_negative("shares", value)
    whole = math.fsum(shares)
    positive("sum of shares", whole)
    pairs = [(s, log) for s, log in zip(shares, removals_log10, strict=True) if s > 0.0]
    least = min(log for _, log in pairs)  # taken out, so that high reductions do not underflow
    passed = math.fsum(s / whole * 10.0 ** (least - log) for s, log in pairs)
    return least - math.log10(passed)
