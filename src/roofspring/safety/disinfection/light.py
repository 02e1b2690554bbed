"""Ultraviolet light: the dose that counts, and what the water takes of it."""

from __future__ import annotations

import math

from roofspring.constants import Sourced
from roofspring.errors.limits import known, not_negative, positive, share
from roofspring.safety.disinfection.chlorine import inside, rows

CLASS_A = Sourced(40.0, "mJ/cm2", "NSF_55", "least at the alarm point of class A; B is no barrier")
TRANSMITTANCE_LEAST = Sourced(0.75, "-", "NSF_55", "of 1 cm of water; from memory")


def uv_log10(dose_mj_per_cm2: float, *, agent: str) -> float:
    """Log reduction that a proven dose is credited with.

    Parameters
    ----------
    dose_mj_per_cm2 : float
        Proven dose [mJ/cm2], 0 or more.
    agent : str
        ``cryptosporidium``, ``giardia`` or ``virus`` (adenovirus, the most stubborn).

    Returns
    -------
    float
        The last step of the table that is reached [-], at most 4.

    Raises
    ------
    RangeError (DOM-002, DOM-004)
        A dose below 0; another agent.

    Source
    ------
    EPA_LT2_2006, 40 CFR 141.720(d)(1).

    Examples
    --------
    >>> [uv_log10(40.0, agent=a) for a in ("cryptosporidium", "giardia", "virus")]
    [4.0, 4.0, 0.5]
    """
    not_negative("dose_mj_per_cm2", dose_mj_per_cm2)
    steps = _steps(agent)
    return max((log for log, dose in steps.items() if dose <= dose_mj_per_cm2), default=0.0)


def uv_dose_mj_per_cm2(log10: float, *, agent: str) -> float:
    """Dose for a log reduction: that of the next step of the table.

    >>> uv_dose_mj_per_cm2(4.0, agent="virus")
    186.0
    """
    not_negative("log10", log10)
    steps = _steps(agent)
    inside("log10", log10, 0.0, max(steps), source="EPA_LT2_2006, 40 CFR 141.720(d)(1)")
    return min((dose for log, dose in steps.items() if log >= log10), default=0.0)


def _steps(agent: str) -> dict[float, float]:
    table = rows("uv_dose")
    known("agent", agent, dict.fromkeys(r["agent"] for r in table))
    return {float(r["log10"]): float(r["dose_mj_per_cm2"]) for r in table if r["agent"] == agent}


def absorbance_per_cm(transmittance_frac: float) -> float:
    """Absorbance of 1 cm of water from its transmittance.

    >>> round(absorbance_per_cm(0.75), 4)
    0.1249
    """
    share("transmittance_frac", transmittance_frac)
    positive("transmittance_frac", transmittance_frac)
    return -math.log10(transmittance_frac)


def water_factor_frac(transmittance_frac: float, *, path_m: float) -> float:
    """Mean intensity over the depth of water, as a share of that at the lamp's sleeve.

    Parameters
    ----------
    transmittance_frac : float
        Of 1 cm of water at 254 nm [-], above 0.
    path_m : float
        Depth of water that the light crosses [m], above 0.

    Returns
    -------
    float
        ``(1 - 10**(-A L)) / (A L ln 10)``.

    Raises
    ------
    RangeError (DOM-002, DOM-003)
        A value out of range.

    Source
    ------
    BOLTON_LINDEN_2003, from memory.

    Examples
    --------
    >>> round(water_factor_frac(0.75, path_m=0.02), 3)
    0.76
    """
    positive("path_m", path_m)
    x = absorbance_per_cm(transmittance_frac) * path_m * 100.0 * math.log(10.0)
    return 1.0 if x < 1e-12 else -math.expm1(-x) / x
