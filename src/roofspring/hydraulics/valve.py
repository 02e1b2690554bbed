"""Valves: flow coefficients, and the float valve that feeds a tank.

``kv_m3_per_h`` is the flow in m3/h of water at a pressure drop of 1 bar, the form in which valves
are sold; it is the one quantity here that is not in SI.
"""

from __future__ import annotations

import math

from roofspring.constants import GRAVITY_M_PER_S2, SECONDS_PER_HOUR
from roofspring.errors.limits import finite, not_negative, positive, share

_PA_PER_BAR = 1e5
_KV_DENSITY_KG_PER_M3 = 1000.0  # the reference water of the coefficient


def loss_factor_of_kv(kv_m3_per_h: float, *, diameter_m: float) -> float:
    """Loss factor K of a valve, on the velocity in a pipe of the given bore.

    Parameters
    ----------
    kv_m3_per_h : float
        Flow coefficient [m3/h at 1 bar], above 0.
    diameter_m : float
        Inside diameter of the pipe [m], above 0.

    Returns
    -------
    float
        K [-].

    Raises
    ------
    RangeError (DOM-002)
        A value not above 0.

    Notes
    -----
    ``K = 1.6e9 D**4 / Kv**2`` with D in metres; the factor is the rounded one of the standard.

    Source
    ------
    IEC_60534, flow coefficient Kv.

    Examples
    --------
    >>> round(loss_factor_of_kv(1.7, diameter_m=0.021), 1)
    107.7
    """
    positive("kv_m3_per_h", kv_m3_per_h)
    positive("diameter_m", diameter_m)
    return 1.6e9 * diameter_m**4 / kv_m3_per_h**2


def kv_of_seat_m3_per_h(seat_m: float, *, discharge_frac: float = 0.7) -> float:
    """Flow coefficient of an open valve from the bore of its seat.

    Parameters
    ----------
    seat_m : float
        Diameter of the seat [m], above 0.
    discharge_frac : float
        Discharge coefficient of the seat [-], 0 to 1.

    Returns
    -------
    float
        Kv [m3/h at 1 bar]. Time a bucket on the real valve when you can.

    Raises
    ------
    RangeError (DOM-002, DOM-003)
        A seat not above 0, or a coefficient outside 0 to 1.

    Notes
    -----
    The seat taken as an orifice: ``Kv = 3600 Cd a sqrt(2 x 1 bar / 1000 kg/m3)``.

    Source
    ------
    IEC_60534 for Kv; Torricelli's law.

    Examples
    --------
    >>> round(kv_of_seat_m3_per_h(0.00635), 2)
    1.13
    """
    positive("seat_m", seat_m)
    share("discharge_frac", discharge_frac)
    area_m2 = math.pi * seat_m**2 / 4.0
    speed_m_per_s = math.sqrt(2.0 * _PA_PER_BAR / _KV_DENSITY_KG_PER_M3)
    return SECONDS_PER_HOUR * discharge_frac * area_m2 * speed_m_per_s


def float_valve_opening_frac(level_m: float, *, shut_m: float, band_m: float) -> float:
    """How far a float valve stands open at a level: 1 a band below the shut level, 0 at it.

    >>> float_valve_opening_frac(0.25, shut_m=0.5, band_m=0.5)
    0.5
    """
    finite("level_m", level_m)
    positive("band_m", band_m)
    return min(1.0, max(0.0, (shut_m - level_m) / band_m))


def float_valve_flow_m3_per_s(
    head_m: float, *, kv_m3_per_h: float, opening_frac: float = 1.0
) -> float:
    """Flow through a float valve under a head.

    Parameters
    ----------
    head_m : float
        Head over the valve [m]; zero or less gives no flow.
    kv_m3_per_h : float
        Flow coefficient when open [m3/h at 1 bar], 0 or more.
    opening_frac : float
        From `float_valve_opening_frac` [-], 0 to 1.

    Returns
    -------
    float
        Flow [m3/s].

    Raises
    ------
    RangeError (DOM-002, DOM-003)
        A head that is no number, a negative coefficient, or an opening outside 0 to 1.

    Notes
    -----
    ``Q = Kv x sqrt(dP / 1 bar / specific gravity)`` with ``dP = rho g h``: the density cancels.

    Source
    ------
    IEC_60534, flow coefficient Kv.

    Examples
    --------
    >>> round(float_valve_flow_m3_per_s(0.3, kv_m3_per_h=1.7) * 60e3, 2)
    4.86
    """
    finite("head_m", head_m)
    not_negative("kv_m3_per_h", kv_m3_per_h)
    share("opening_frac", opening_frac)
    drop_bar = _KV_DENSITY_KG_PER_M3 * GRAVITY_M_PER_S2 * max(0.0, head_m) / _PA_PER_BAR
    return kv_m3_per_h * opening_frac * math.sqrt(drop_bar) / SECONDS_PER_HOUR
