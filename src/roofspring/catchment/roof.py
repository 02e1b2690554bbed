"""Roof runoff: the chain of losses in one event, the year's yield, and the first flush."""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass
from functools import cache
from importlib import resources

from roofspring.errors.limits import not_negative, positive, share


@dataclass(frozen=True)
class RoofMaterial:
    """One row of the roof table.

    Attributes
    ----------
    name : str
        As written in a plan, e.g. ``"metal"``.
    runoff_frac : float
        Share of the rain beyond wetting that reaches the gutter; splash, wind and leaks are lost.
    wetting_m : float
        Rain held by the dry roof before anything runs [m].
    note : str
        What to think of before drinking from it; may be empty.
    source, seen : str
        Where the two numbers come from, and how that was seen.
    """

    name: str
    runoff_frac: float
    wetting_m: float
    note: str
    source: str
    seen: str


@dataclass(frozen=True)
class EventYield:
    """Where the water of one event went. All parts add up to ``fell_m3``."""

    fell_m3: float
    wetting_m3: float
    splashed_m3: float
    diverted_m3: float
    rejected_m3: float
    caught_m3: float

    @property
    def runoff_m3(self) -> float:
        """Reached the gutter: diverted, rejected and caught together [m3]."""
        return self.diverted_m3 + self.rejected_m3 + self.caught_m3


@cache
def _table() -> tuple[RoofMaterial, ...]:
    path = resources.files("roofspring.catchment").joinpath("tables/roof_materials.csv")
    return tuple(
        RoofMaterial(
            name=row["material"],
            runoff_frac=float(row["runoff_frac"]),
            wetting_m=float(row["wetting_mm"]) / 1000.0,
            note=row["note"],
            source=row["source"],
            seen=row["seen"],
        )
        for row in csv.DictReader(path.read_text("utf-8").splitlines())
    )


def roof_materials() -> dict[str, RoofMaterial]:
    """The roof table by name, in the order of the file.

    >>> roof_materials()["metal"].runoff_frac
    0.95
    """
    return {row.name: row for row in _table()}


def event_yield(
    rain_m: float,
    *,
    area_m2: float,
    runoff_frac: float,
    wetting_m: float,
    first_flush_m3: float,
    screen_frac: float,
) -> EventYield:
    """Follow one rain event from the sky to the raw tank.

    Parameters
    ----------
    rain_m : float
        Rain of the event [m], 0 or more.
    area_m2 : float
        Plan area of the roof with its overhang [m2], above 0.
    runoff_frac : float
        Share that runs once the roof is wet [-], 0 to 1.
    wetting_m : float
        Room left in the roof's wetting store [m], 0 or more; 0 on a roof still wet.
    first_flush_m3 : float
        Room left in the first-flush chamber [m3], 0 or more.
    screen_frac : float
        Share that passes the screen [-], 0 to 1.

    Returns
    -------
    EventYield
        Volumes [m3] that add up to what fell.

    Raises
    ------
    RangeError (DOM-002, DOM-003)
        A depth, area or volume is negative or not finite; a share is outside 0 to 1.

    Notes
    -----
    ``caught = screen (C A max(0, P - wetting) - first_flush)``. Wetting and first flush are taken
    once per event, the two shares from every drop, so they cannot be joined in one coefficient.

    Source
    ------
    common practice, no source: the order of the losses.

    Examples
    --------
    >>> y = event_yield(0.012, area_m2=100.0, runoff_frac=0.9, wetting_m=0.0005,
    ...                 first_flush_m3=0.1, screen_frac=0.9)
    >>> round(y.runoff_m3, 4), round(y.caught_m3, 4)
    (1.035, 0.8415)
    """
    not_negative("rain_m", rain_m)
    positive("area_m2", area_m2)
    share("runoff_frac", runoff_frac)
    not_negative("wetting_m", wetting_m)
    not_negative("first_flush_m3", first_flush_m3)
    share("screen_frac", screen_frac)
    fell_m3 = rain_m * area_m2
    wetted_m3 = min(rain_m, wetting_m) * area_m2
    runoff_m3 = runoff_frac * (fell_m3 - wetted_m3)
    diverted_m3 = min(runoff_m3, first_flush_m3)
    caught_m3 = screen_frac * (runoff_m3 - diverted_m3)
    return EventYield(
        fell_m3=fell_m3,
        wetting_m3=wetted_m3,
        splashed_m3=fell_m3 - wetted_m3 - runoff_m3,
        diverted_m3=diverted_m3,
        rejected_m3=runoff_m3 - diverted_m3 - caught_m3,
        caught_m3=caught_m3,
    )


def annual_yield_m3(
    rain_m: float, *, area_m2: float, runoff_frac: float, loss_m: float = 0.024
) -> float:
    """Water a roof gives in a year, by one coefficient and one yearly loss.

    Parameters
    ----------
    rain_m : float
        Rain of the year [m], 0 or more.
    area_m2 : float
        Plan area [m2], above 0.
    runoff_frac : float
        Efficiency of collection [-]; the source uses 0.80 to 0.85.
    loss_m : float
        Rain lost to wetting in the year [m]; the source uses 2 mm a month.

    Returns
    -------
    float
        Yield [m3].

    Raises
    ------
    RangeError (DOM-002, DOM-003)
        A negative or non-finite depth or area, or a share outside 0 to 1.

    Notes
    -----
    ``V = C (P - B) A``. A first guess only: it knows no dry spells and no storage.

    Source
    ------
    ENHEALTH_2010, appendix B.

    Examples
    --------
    >>> round(annual_yield_m3(0.750, area_m2=200.0, runoff_frac=0.8), 2)
    116.16
    """
    not_negative("rain_m", rain_m)
    positive("area_m2", area_m2)
    share("runoff_frac", runoff_frac)
    not_negative("loss_m", loss_m)
    return runoff_frac * max(0.0, rain_m - loss_m) * area_m2


def first_flush_volume_m3(area_m2: float, *, depth_m: float) -> float:
    """Volume to divert for a wanted depth of runoff over a roof [m3].

    >>> round(first_flush_volume_m3(108.0, depth_m=0.002), 3)
    0.216
    """
    positive("area_m2", area_m2)
    not_negative("depth_m", depth_m)
    return area_m2 * depth_m


def first_flush_depth_m(volume_m3: float, *, area_m2: float) -> float:
    """Depth of runoff that a first-flush chamber holds back from a roof [m].

    >>> round(first_flush_depth_m(0.216, area_m2=108.0), 6)
    0.002
    """
    not_negative("volume_m3", volume_m3)
    positive("area_m2", area_m2)
    return volume_m3 / area_m2


def wash_off_left_frac(depth_m: float, *, halving_m: float = 0.001) -> float:
    """Contamination of the runoff after some depth has run, against its start.

    Parameters
    ----------
    depth_m : float
        Runoff since the rain began [m], 0 or more.
    halving_m : float
        Depth in which contamination halves [m], above 0.

    Returns
    -------
    float
        Share left [-], 0 to 1.

    Raises
    ------
    RangeError (DOM-002)
        A depth is negative or not finite, or the halving depth is not above 0.

    Notes
    -----
    ``C / C0 = 2**(-depth / halving)``: the part that washes off, not what the roof itself gives.
    Measured halving depths vary widely between roofs and substances.

    Source
    ------
    MARTINSON_THOMAS_2005, abstract: halves for each millimetre flushed.

    Examples
    --------
    >>> wash_off_left_frac(0.002)
    0.25
    """
    not_negative("depth_m", depth_m)
    positive("halving_m", halving_m)
    return float(2.0 ** (-depth_m / halving_m))


def kept_wash_off_frac(rain_m: float, *, flush_m: float, halving_m: float = 0.001) -> float:
    """Mean contamination of the water kept after a first flush, against the first drop.

    Parameters
    ----------
    rain_m : float
        Runoff depth of the whole event [m], at least ``flush_m``.
    flush_m : float
        Depth diverted [m], 0 or more.
    halving_m : float
        Depth in which contamination halves [m], above 0.

    Returns
    -------
    float
        Mean share of the first contamination [-]; where nothing is kept, that of the last drop.

    Raises
    ------
    RangeError (DOM-002)
        A depth is negative or not finite.

    Notes
    -----
    The mean of `wash_off_left_frac` between the two depths.

    Source
    ------
    MARTINSON_THOMAS_2005, abstract, integrated.

    Examples
    --------
    >>> round(kept_wash_off_frac(0.010, flush_m=0.002), 5)
    0.04491
    """
    not_negative("flush_m", flush_m)
    not_negative("rain_m - flush_m", rain_m - flush_m)
    positive("halving_m", halving_m)
    first = wash_off_left_frac(flush_m, halving_m=halving_m)
    decay = math.log(2.0) * (rain_m - flush_m) / halving_m
    return first * (-math.expm1(-decay) / decay if decay > 0.0 else 1.0)
