"""Return periods: of the yearly maximum (AEP), and of all storms (ARI)."""

from __future__ import annotations

import math
from typing import Literal

from roofspring.errors import Problem, RangeError

Kind = Literal["ARI", "AEP"]
"""``ARI``: mean years between storms that great. ``AEP``: one over the chance in any one year."""


def aep_of_ari(ari_years: float) -> float:
    """Chance that a year holds a storm of an average recurrence interval.

    Parameters
    ----------
    ari_years : float
        Above 0.

    Returns
    -------
    float
        Annual exceedance probability [-].

    Raises
    ------
    RangeError (REC-086)
        Not above 0.

    Notes
    -----
    ``AEP = 1 - exp(-1 / ARI)``: storms come at random.

    Source
    ------
    LANGBEIN_1949.

    Examples
    --------
    >>> round(aep_of_ari(2.0), 5)
    0.39347
    """
    if not ari_years > 0.0:
        raise RangeError(bad_period(f"{ari_years:g} years", "above 0 years"))
    return -math.expm1(-1.0 / ari_years)


def ari_of_aep(aep_frac: float) -> float:
    """Average recurrence interval of a chance per year; the inverse of `aep_of_ari`.

    Parameters
    ----------
    aep_frac : float
        Between 0 and 1.

    Returns
    -------
    float
        [years]

    Raises
    ------
    RangeError (REC-086)
        Not between 0 and 1.

    Source
    ------
    LANGBEIN_1949.

    Examples
    --------
    >>> round(ari_of_aep(0.01), 2)
    99.50
    """
    if not 0.0 < aep_frac < 1.0:
        raise RangeError(bad_period(f"a chance of {aep_frac:g}", "between 0 and 1"))
    return -1.0 / math.log1p(-aep_frac)


def to_kind(return_years: float, *, kind: Kind, wanted: Kind) -> float:
    """The same rarity in the other kind of return period [years]."""
    if kind == wanted:
        return return_years
    if kind == "ARI":
        return 1.0 / aep_of_ari(return_years)
    return ari_of_aep(1.0 / return_years)


def bad_period(got: str, allowed: str) -> Problem:
    """Problem REC-086."""
    return Problem(
        "REC-086",
        "a return period or chance is outside its limits",
        got=got,
        allowed=allowed,
        next="give years, such as 10, and say whether they are ARI or AEP",
    )
