"""Loss factors of fittings and strainers: head lost is K times the velocity head."""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from types import MappingProxyType

from roofspring.errors.limits import known, not_negative, part_share, share


@dataclass(frozen=True)
class Fitting:
    """One row of the fittings table: loss factor ``k`` [-] and where it comes from."""

    name: str
    k: float
    note: str
    source: str
    seen: str


@cache
def fittings() -> Mapping[str, Fitting]:
    """The fittings table by name, in the order of the file.

    >>> fittings()["exit"].k
    1.0
    """
    path = resources.files("roofspring.hydraulics").joinpath("tables/fittings.csv")
    rows = csv.DictReader(path.read_text("utf-8").splitlines())
    return MappingProxyType(
        {
            row["fitting"]: Fitting(
                row["fitting"], float(row["k"]), row["note"], row["source"], row["seen"]
            )
            for row in rows
        }
    )


def fitting_names() -> tuple[str, ...]:
    """Names a plan may use, in the order of the file.

    >>> "elbow 90" in fitting_names()
    True
    """
    return tuple(fittings())


def fitting_k(name: str) -> float:
    """Loss factor of one fitting [-]; an unknown name is a `RangeError` (DOM-004).

    >>> fitting_k("tee branch")
    1.8
    """
    known("fitting", name, fitting_names())
    return fittings()[name].k


def screen_k(open_frac: float) -> float:
    """Loss factor of a clean wire screen across a pipe, on the velocity in the pipe.

    Parameters
    ----------
    open_frac : float
        Open area over whole area [-], above 0 and below 1.

    Returns
    -------
    float
        K [-].

    Raises
    ------
    RangeError (DOM-003)
        The share is not above 0 and below 1.

    Notes
    -----
    ``K = 1.3 (1 - f) + (1 / f - 1)**2``, for wire meshes in turbulent flow.

    Source
    ------
    IDELCHIK_1986, circular wire screens.

    Examples
    --------
    >>> screen_k(0.5)
    1.65
    """
    part_share("open_frac", open_frac)
    return 1.3 * (1.0 - open_frac) + (1.0 / open_frac - 1.0) ** 2


def strainer_k(blocked_frac: float, *, k0: float) -> float:
    """Loss factor of a partly blocked strainer.

    Parameters
    ----------
    blocked_frac : float
        Share of the openings that is blocked [-], 0 to 1. At 1 nothing passes: K is infinite.
    k0 : float
        Loss factor when clean [-], 0 or more.

    Returns
    -------
    float
        K [-].

    Raises
    ------
    RangeError (DOM-002, DOM-003)
        ``k0`` is negative or not finite, or the share is outside 0 to 1.

    Notes
    -----
    ``K = K0 / (1 - c)**2``: the same flow through fewer openings, at a velocity 1 / (1 - c) higher.

    Source
    ------
    common practice, no source: velocity head in the openings left.

    Examples
    --------
    >>> round(strainer_k(0.8, k0=2.0), 9)
    50.0
    """
    share("blocked_frac", blocked_frac)
    not_negative("k0", k0)
    return k0 / (1.0 - blocked_frac) ** 2 if blocked_frac < 1.0 else float("inf")
