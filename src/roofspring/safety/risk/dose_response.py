"""From what is swallowed to the chance of an infection: three published laws."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from roofspring.errors import Problem, RangeError
from roofspring.errors.limits import part_share, positive

FloatArray = npt.NDArray[np.float64]

SERIES_BELOW = 0.05
"""Doses under which the exact law is summed as a series: the difference would lose its digits."""
ASYMPTOTE_ABOVE = 600.0
"""Doses over which the leading term for large arguments is used, before numbers overflow."""


def exponential_frac(dose_count: npt.ArrayLike, *, per_organism_frac: float) -> FloatArray:
    """Chance of infection when each organism has the same chance, whoever swallows it.

    Parameters
    ----------
    dose_count : array of float
        Organisms swallowed, 0 or more; a mean, so it need not be whole.
    per_organism_frac : float
        Chance that one organism infects [-], above 0 and below 1.

    Returns
    -------
    array of float
        Chance of infection [-].

    Raises
    ------
    RangeError (DOM-002, DOM-003)
        A dose below 0 or not a number; a chance outside its range.

    Notes
    -----
    ``1 - exp(-r D)``; half are infected by ``ln 2 / r`` organisms.

    Source
    ------
    HAAS_1999, single-hit models.

    Examples
    --------
    >>> round(float(exponential_frac(1.0, per_organism_frac=0.0199)), 6)
    0.019703
    """
    part_share("per_organism_frac", per_organism_frac)
    return np.asarray(-np.expm1(-per_organism_frac * _doses(dose_count)), dtype=np.float64)


def beta_from_n50(n50_count: float, *, alpha: float) -> float:
    """Beta of the approximate law from the dose that infects half.

    Parameters
    ----------
    n50_count : float
        Organisms that infect half of those who swallow them, above 0.
    alpha : float
        Shape, above 0.

    Returns
    -------
    float
        ``N50 / (2**(1/alpha) - 1)``.

    Raises
    ------
    RangeError (DOM-002)
        A value that is not above 0.

    Source
    ------
    HAAS_1999.

    Examples
    --------
    >>> round(beta_from_n50(890.0, alpha=0.144), 2)
    7.29
    """
    positive("n50_count", n50_count)
    positive("alpha", alpha)
    return float(n50_count / (2.0 ** (1.0 / alpha) - 1.0))


def approximate_beta_poisson_frac(
    dose_count: npt.ArrayLike, *, alpha: float, beta: float
) -> FloatArray:
    """Chance of infection when the chance of one organism differs between people, approximately.

    Parameters
    ----------
    dose_count : array of float
        Organisms swallowed, 0 or more.
    alpha, beta : float
        Above 0. See `approximation_holds` before you use it.

    Returns
    -------
    array of float
        Chance of infection [-].

    Raises
    ------
    RangeError (DOM-002)
        A value out of range.

    Notes
    -----
    ``1 - (1 + D/beta)**-alpha``. With a small beta it can exceed ``1 - exp(-D)``, the chance to
    swallow even one organism: then it is wrong, and `exact_beta_poisson_frac` is the law.

    Source
    ------
    HAAS_1999.

    Examples
    --------
    >>> round(float(approximate_beta_poisson_frac(1.0, alpha=0.144, beta=7.285)), 5)
    0.01835
    """
    positive("alpha", alpha)
    positive("beta", beta)
    hazard = alpha * np.log1p(_doses(dose_count) / beta)
    return np.asarray(-np.expm1(-hazard), dtype=np.float64)


def approximation_holds(*, alpha: float, beta: float) -> bool:
    """Whether the approximate law may stand for the exact one: beta well over 1 and over alpha.

    Parameters
    ----------
    alpha, beta : float
        Above 0.

    Returns
    -------
    bool
        True when ``beta > (22 alpha)**0.5`` and ``beta > 1``, the trade's rule for a close fit.

    Source
    ------
    XIE_2017, the criterion for a small error, from memory; beta above 1 is our addition.

    Examples
    --------
    >>> approximation_holds(alpha=0.144, beta=7.285), approximation_holds(alpha=0.04, beta=0.055)
    (True, False)
    """
    return beta > 1.0 and beta > math.sqrt(22.0 * alpha)


def exact_beta_poisson_frac(dose_count: npt.ArrayLike, *, alpha: float, beta: float) -> FloatArray:
    """Chance of infection when the chance of one organism differs between people, exactly.

    Parameters
    ----------
    dose_count : array of float
        Organisms swallowed, 0 or more.
    alpha, beta : float
        Of the beta law of the chances, above 0.

    Returns
    -------
    array of float
        Chance of infection [-].

    Raises
    ------
    RangeError (DOM-002)
        A value out of range.

    Notes
    -----
    ``1 - 1F1(alpha, alpha + beta, -D)``, Kummer's function. Small doses are summed as a series,
    very large ones take the leading term ``Gamma(a+b)/Gamma(b) D**-a (1 + a (1-b) / D)``.

    Source
    ------
    HAAS_1999; TEUNIS_2008 for its use.

    Examples
    --------
    >>> round(float(exact_beta_poisson_frac(1.0, alpha=0.04, beta=0.055)), 5)
    0.27276
    """
    from scipy.special import gammaln, hyp1f1  # late: slow to import

    positive("alpha", alpha)
    positive("beta", beta)
    dose = np.atleast_1d(_doses(dose_count))
    small, large = dose < SERIES_BELOW, dose > ASYMPTOTE_ABOVE
    middle = ~(small | large)
    chance = np.empty_like(dose)
    term, total = np.ones(int(small.sum())), np.zeros(int(small.sum()))
    for n in range(12):
        term = term * -dose[small] * (alpha + n) / ((alpha + beta + n) * (n + 1.0))
        total -= term
    chance[small] = total
    chance[middle] = 1.0 - hyp1f1(alpha, alpha + beta, -dose[middle])
    far = dose[large]
    lead = gammaln(alpha + beta) - gammaln(beta) - alpha * np.log(far)
    # The next term, a (1 - b) / D, keeps the join to the middle smooth.
    chance[large] = 1.0 - np.exp(lead) * (1.0 + alpha * (1.0 - beta) / far)
    return np.asarray(chance.reshape(np.shape(dose_count)), dtype=np.float64)


def _doses(dose_count: npt.ArrayLike) -> FloatArray:
    dose = np.asarray(dose_count, dtype=np.float64)
    if not np.all(np.isfinite(dose)) or np.any(dose < 0.0):
        raise RangeError(
            Problem(
                "DOM-002",
                "a dose is a number of organisms, and one of these is not",
                where="dose_count",
                got=str(dose_count)[:60],
                allowed="finite values, 0 or more",
                next="check the counts; a result below detection is not a negative number, "
                "see how to read a result",
            )
        )
    return dose
