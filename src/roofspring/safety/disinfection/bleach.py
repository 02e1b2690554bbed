"""How much bleach: for a batch, for a shock, in millilitres and in drops."""

from __future__ import annotations

from roofspring.constants import Sourced
from roofspring.errors import Problem, RangeError
from roofspring.errors.limits import not_negative, positive, share

DROP_ML = Sourced(0.05, "mL", "EPA_EMERGENCY", "20 drops a millilitre")
HYPOCHLORITE_TO_CHLORINE = Sourced(0.9525, "-", "MORRIS_1966", "70.906 / 74.442, by mass, exact")
STRONGEST_PERCENT, WEAKEST_PERCENT = 20.0, 0.5
MOST_TO_DRINK = Sourced(4.0, "mg/L", "EPA_NPDWR", "most free chlorine in water that is drunk")
SHOCK = Sourced(
    50.0, "mg/L", "AHS_CISTERN", "for a cleaned tank, 6 hours; 1 L of 5.25 % for 1000 L"
)
SHOCK_HOURS = 6.0
CLEAR_DOSE = Sourced(1.875, "mg/L", "LANTAGNE_2008", "water under 10 NTU")
CLOUDY_DOSE = Sourced(3.75, "mg/L", "LANTAGNE_2008", "water of 10 to 100 NTU")
DEMAND_MG_PER_L = (0.3, 1.0, 3.0)
"""Chlorine that filtered roof water uses up, low, usual and high: an engineering choice. Measure:
dose a bottle, wait half an hour, test."""


def dose_wanted_mg_per_l(turbidity_ntu: float) -> float:
    """Published dose of household chlorination for a turbidity.

    Parameters
    ----------
    turbidity_ntu : float
        [NTU], up to 100.

    Returns
    -------
    float
        [mg/L]

    Raises
    ------
    RangeError (SAF-004)
        Too cloudy for chlorine.
    RangeError (DOM-002)
        Below 0.

    Source
    ------
    LANTAGNE_2008.

    Examples
    --------
    >>> dose_wanted_mg_per_l(1.0), dose_wanted_mg_per_l(30.0)
    (1.875, 3.75)
    """
    not_negative("turbidity_ntu", turbidity_ntu)
    if turbidity_ntu > 100.0:
        raise RangeError(
            Problem(
                "SAF-004",
                "this water is too cloudy for chlorine to work",
                where="turbidity_ntu",
                got=f"{turbidity_ntu:g} NTU",
                allowed="up to 100 NTU (LANTAGNE_2008)",
                next="settle and filter it first",
            )
        )
    return CLEAR_DOSE.value if turbidity_ntu < 10.0 else CLOUDY_DOSE.value


def bleach_ml(volume_m3: float, *, dose_mg_per_l: float, strength_percent: float) -> float:
    """Bleach for a dose.

    Parameters
    ----------
    volume_m3 : float
        Water to be dosed [m3].
    dose_mg_per_l : float
        Chlorine added [mg/L]: what is to be left plus what the water uses up.
    strength_percent : float
        Available chlorine of the bleach, g in 100 mL, as on the label; 0.5 to 20.

    Returns
    -------
    float
        Millilitres: ``litres x dose / (10 x strength)``. Bleach that is older than half a year is
        weaker than its label.

    Raises
    ------
    RangeError (DOM-002)
        Volume or dose below 0.
    RangeError (SAF-005)
        No bleach has this strength.

    Source
    ------
    LANTAGNE_2008; arithmetic.

    Examples
    --------
    >>> round(bleach_ml(1.0, dose_mg_per_l=2.0, strength_percent=6.0), 2)
    33.33
    """
    not_negative("volume_m3", volume_m3)
    not_negative("dose_mg_per_l", dose_mg_per_l)
    _strength(strength_percent)
    return volume_m3 * 1000.0 * dose_mg_per_l / (10.0 * strength_percent)


def bleach_drops(volume_ml: float) -> int:
    """Whole drops for a small amount of bleach, rounded up; drops differ between droppers.

    >>> bleach_drops(0.33)
    7
    """
    not_negative("volume_ml", volume_ml)
    return int(-(-volume_ml // DROP_ML.value))


def dose_given_mg_per_l(volume_ml: float, *, volume_m3: float, strength_percent: float) -> float:
    """Dose that an amount of bleach makes: the other way round.

    Parameters
    ----------
    volume_ml : float
        Bleach [mL].
    volume_m3 : float
        Water [m3].
    strength_percent : float
        As `bleach_ml`.

    Returns
    -------
    float
        [mg/L]

    Raises
    ------
    RangeError (DOM-002, SAF-005)
        As `bleach_ml`.

    Source
    ------
    Arithmetic.

    Examples
    --------
    >>> round(dose_given_mg_per_l(67.0, volume_m3=1.0, strength_percent=5.0), 2)
    3.35
    """
    not_negative("volume_ml", volume_ml)
    positive("volume_m3", volume_m3)
    _strength(strength_percent)
    return volume_ml * 10.0 * strength_percent / (volume_m3 * 1000.0)


def strength_by_mass_percent(mass_percent: float, *, density_kg_per_m3: float) -> float:
    """Strength in g of chlorine a 100 mL, from per cent of hypochlorite by mass.

    >>> round(strength_by_mass_percent(5.25, density_kg_per_m3=1080.0), 2)
    5.4
    """
    positive("mass_percent", mass_percent)
    share("mass_percent / 100", mass_percent / 100.0)
    positive("density_kg_per_m3", density_kg_per_m3)
    return mass_percent * density_kg_per_m3 / 1000.0 * HYPOCHLORITE_TO_CHLORINE.value


def shock_ml(volume_m3: float, *, strength_percent: float) -> float:
    """Bleach to disinfect a cleaned, empty-of-sludge tank once it is full.

    Parameters
    ----------
    volume_m3 : float
        Water in it [m3].
    strength_percent : float
        As `bleach_ml`.

    Returns
    -------
    float
        Millilitres for about 50 mg/L, left for six hours, then drained to soil away from streams.
        The filter is shut off all the while: chlorine kills its skin.

    Raises
    ------
    RangeError (DOM-002, SAF-005)
        As `bleach_ml`.

    Source
    ------
    AHS_CISTERN.

    Examples
    --------
    >>> round(shock_ml(1.0, strength_percent=5.25))
    952
    """
    return bleach_ml(volume_m3, dose_mg_per_l=SHOCK.value, strength_percent=strength_percent)


def _strength(strength_percent: float) -> None:
    if not WEAKEST_PERCENT <= strength_percent <= STRONGEST_PERCENT:
        raise RangeError(
            Problem(
                "SAF-005",
                "no liquid bleach has this strength",
                where="strength_percent",
                got=f"{strength_percent:g} %",
                allowed=f"{WEAKEST_PERCENT:g} to {STRONGEST_PERCENT:g} %",
                next="read the available chlorine on the label; household bleach has 3 to 8.25 %",
            )
        )
