"""Named reference methods for storage: the engine is checked against them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from roofspring.errors import Problem, RangeError
from roofspring.errors.limits import not_negative, positive, share
from roofspring.kernels.balance import LANES, run_store, served_by_capacity
from roofspring.network.events import SHORT_TOLERANCE_M3

FloatArray = npt.NDArray[np.float64]
Series = npt.ArrayLike


@dataclass(frozen=True)
class Balance:
    """One store through a series.

    Attributes
    ----------
    yield_m3, volume_m3, spill_m3 : (n,) float64
        Taken in each step, held at its end, spilled in it [m3].
    served_frac : float
        Volume taken over volume wanted [-]; 1 where nothing was wanted.
    full_steps_frac : float
        Share of the steps in which all that was wanted was taken [-].
    short_steps_count : int
        Steps that missed by more than 1e-9 m3.
    longest_short_count : int
        Longest run of such steps.
    residual_m3 : float
        Start and inflow less yield, spill and end [m3]: rounding only.
    """

    yield_m3: FloatArray
    volume_m3: FloatArray
    spill_m3: FloatArray
    served_frac: float
    full_steps_frac: float
    short_steps_count: int
    longest_short_count: int
    residual_m3: float


def balance(
    inflow_m3: Series, demand_m3: Series, *, capacity_m3: float, start_m3: float, theta: float
) -> Balance:
    """Run one store through equal steps by the yield rule with parameter theta.

    Parameters
    ----------
    inflow_m3 : (n,) array
        Flows into the store in each step [m3], 0 or more.
    demand_m3 : (n,) array or float
        Wanted in each step [m3], 0 or more; one number stands for all steps.
    capacity_m3 : float
        Size of the store [m3], 0 or more.
    start_m3 : float
        Held at the start [m3], 0 to ``capacity_m3``.
    theta : float
        0 is yield after spillage (cautious, the usual choice), 1 is yield before spillage,
        0.5 the middle [-].

    Returns
    -------
    Balance

    Raises
    ------
    RangeError (DOM-002, DOM-003, DOM-007)
        A negative or non-finite number; theta outside 0 to 1; series of unequal length.

    Notes
    -----
    ``Y = min(D, V' + theta Q)``, ``V = min(V' + Q - Y, S - (1 - theta) Y)`` and not below 0,
    with V' the volume a step earlier; the rest spills.

    Source
    ------
    JENKINS_1978; FEWKES_BUTLER_2000 for theta.

    Examples
    --------
    >>> inflow = [0, 0.8, 0, 0, 0, 1.5, 0, 0, 0, 0]
    >>> after = balance(inflow, 0.3, capacity_m3=1.0, start_m3=0.0, theta=0.0)
    >>> after.yield_m3.sum().round(9).item(), round(after.served_frac, 9)
    (1.8, 0.6)
    """
    inflow, demand = _series(inflow_m3, demand_m3)
    not_negative("capacity_m3", capacity_m3)
    not_negative("start_m3", start_m3)
    not_negative("capacity_m3 - start_m3", capacity_m3 - start_m3)
    share("theta", theta)
    taken = np.empty_like(inflow)
    volume = np.empty_like(inflow)
    spill = np.empty_like(inflow)
    run_store(
        inflow, demand, float(capacity_m3), float(start_m3), float(theta), taken, volume, spill
    )
    short = demand - taken > SHORT_TOLERANCE_M3
    for series in (taken, volume, spill):
        series.flags.writeable = False
    return Balance(
        yield_m3=taken,
        volume_m3=volume,
        spill_m3=spill,
        served_frac=_served(taken.sum(), demand.sum()),
        full_steps_frac=1.0 - float(short.mean()),
        short_steps_count=int(short.sum()),
        longest_short_count=_longest(short),
        residual_m3=float(start_m3 + inflow.sum() - taken.sum() - spill.sum() - volume[-1]),
    )


def storage_curve(
    inflow_m3: Series, demand_m3: Series, *, capacities_m3: Series, start_frac: float = 0.0
) -> FloatArray:
    """Share of the demand served by each of many store sizes, under yield after spillage.

    Parameters
    ----------
    inflow_m3, demand_m3 : (n,) array, or float for the demand
        As in `balance`.
    capacities_m3 : (m,) array
        Store sizes [m3], 0 or more.
    start_frac : float
        Share of each store that is full at the start [-], 0 to 1.

    Returns
    -------
    (m,) array
        Volume taken over volume wanted [-].

    Raises
    ------
    RangeError (DOM-002, DOM-003, DOM-007)
        As in `balance`.

    Notes
    -----
    The same rule as `balance` with theta 0, sixty-four sizes at a time.

    Source
    ------
    JENKINS_1978.

    Examples
    --------
    >>> inflow = [0, 0.8, 0, 0, 0, 1.5, 0, 0, 0, 0]
    >>> storage_curve(inflow, 0.3, capacities_m3=[0.5, 1.0, 3.0]).round(3)
    array([0.333, 0.6  , 0.667])
    """
    inflow, demand = _series(inflow_m3, demand_m3)
    capacities = np.ascontiguousarray(np.atleast_1d(capacities_m3), dtype=np.float64)
    _check_series("capacities_m3", capacities)
    share("start_frac", start_frac)
    served_m3 = np.empty_like(capacities)
    served_by_capacity(
        inflow, demand, capacities, float(start_frac), served_m3, np.empty((3, LANES))
    )
    wanted_m3 = float(demand.sum())
    return served_m3 / wanted_m3 if wanted_m3 > 0.0 else np.ones_like(capacities)


def sequent_peak_m3(inflow_m3: Series, demand_m3: Series) -> float:
    """Smallest store that never fails, if the whole series were known ahead and came again.

    Parameters
    ----------
    inflow_m3, demand_m3 : (n,) array, or float for the demand
        As in `balance`.

    Returns
    -------
    float
        Storage [m3]; infinite where more is wanted than flows in.

    Raises
    ------
    RangeError (DOM-002, DOM-007)
        As in `balance`.

    Notes
    -----
    ``K = max(0, K' + D - Q)`` through two cycles; the largest K. Full knowledge of the future
    makes this a lower bound, not a design.

    Source
    ------
    RIPPL_1883, in the sequent peak form.

    Examples
    --------
    >>> sequent_peak_m3([1500, 1000, 500, 500, 500, 1200, 2900, 2900, 1000, 400, 600, 1600], 1000)
    1500.0
    """
    inflow, demand = _series(inflow_m3, demand_m3)
    if float(demand.sum()) - float(inflow.sum()) > SHORT_TOLERANCE_M3:
        return float("inf")
    lacking = peak = 0.0
    for change in np.concatenate([demand - inflow] * 2):
        lacking = max(0.0, lacking + float(change))
        peak = max(peak, lacking)
    return peak


def yearly_share_m3(
    yield_m3_per_year: float, *, demand_m3_per_year: float, share_frac: float = 0.06
) -> float:
    """Store as a share of the smaller of a year's yield and a year's demand.

    Parameters
    ----------
    yield_m3_per_year, demand_m3_per_year : float
        Of a mean year [m3/year], 0 or more.
    share_frac : float
        0.06 (about 21 days) or 0.05 (about 18 days) [-], 0 to 1.

    Returns
    -------
    float
        Storage [m3].

    Raises
    ------
    RangeError (DOM-002, DOM-003)
        A negative volume, or a share outside 0 to 1.

    Notes
    -----
    Made for rain spread over the whole year. It knows nothing of dry seasons.

    Source
    ------
    DIN_1989_1 for 6 %; TRCA_LID for 5 %.

    Examples
    --------
    >>> round(yearly_share_m3(86.4, demand_m3_per_year=0.120 * 365), 3)
    2.628
    """
    not_negative("yield_m3_per_year", yield_m3_per_year)
    not_negative("demand_m3_per_year", demand_m3_per_year)
    share("share_frac", share_frac)
    return share_frac * min(yield_m3_per_year, demand_m3_per_year)


def dry_spell_m3(demand_m3_per_day: float, *, dry_days: float, loss_frac: float = 0.0) -> float:
    """Store that carries a demand through a dry spell, ``D N / (1 - loss)`` [m3].

    ``loss_frac`` is the share that is lost or cannot be drawn, 0 or more and below 1.

    >>> round(dry_spell_m3(4 * 0.015, dry_days=60), 3)
    3.6
    """
    not_negative("demand_m3_per_day", demand_m3_per_day)
    not_negative("dry_days", dry_days)
    positive("1 - loss_frac", 1.0 - loss_frac)
    share("loss_frac", loss_frac)
    return demand_m3_per_day * dry_days / (1.0 - loss_frac)


def days_of_store(volume_m3: float, *, demand_m3_per_day: float) -> float:
    """Days a store lasts with no rain, ``V / D``; infinite where nothing is wanted.

    >>> days_of_store(18.0, demand_m3_per_day=0.05)
    360.0
    """
    not_negative("volume_m3", volume_m3)
    not_negative("demand_m3_per_day", demand_m3_per_day)
    return volume_m3 / demand_m3_per_day if demand_m3_per_day > 0.0 else float("inf")


def _served(taken_m3: float, wanted_m3: float) -> float:
    return float(taken_m3) / float(wanted_m3) if wanted_m3 > 0.0 else 1.0


def _longest(short: npt.NDArray[np.bool_]) -> int:
    ends = np.flatnonzero(np.diff(np.concatenate(([0], short.astype(np.int8), [0]))))
    return int((ends[1::2] - ends[::2]).max(initial=0))


def _series(inflow_m3: Series, demand_m3: Series) -> tuple[FloatArray, FloatArray]:
    inflow = np.ascontiguousarray(np.atleast_1d(inflow_m3), dtype=np.float64)
    wanted = np.asarray(demand_m3, dtype=np.float64)
    if wanted.ndim == 0:
        wanted = np.full(inflow.shape, float(wanted))
    demand = np.ascontiguousarray(wanted)
    if inflow.ndim != 1 or inflow.shape != demand.shape or inflow.size == 0:
        raise RangeError(
            Problem(
                "DOM-007",
                "inflow and demand are not two series of the same length",
                where="inflow_m3, demand_m3",
                got=f"shapes {inflow.shape} and {demand.shape}",
                allowed="one value for every step in both, at least one step",
                next="give the demand of each step, or one number for all steps",
            )
        )
    _check_series("inflow_m3", inflow)
    _check_series("demand_m3", demand)
    return inflow, demand


def _check_series(name: str, series: FloatArray) -> None:
    bad = ~(np.isfinite(series) & (series >= 0.0))
    if bad.any():
        i = int(np.argmax(bad))
        not_negative(f"{name}[{i}]", float(series[i]))
