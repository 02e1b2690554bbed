"""Chlorine: how strong for how long, in what tank, and what is left after a time.

Strength times time (CT) is in mg/L times minutes, as every table of the trade has it.
"""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Literal

from roofspring.constants import Sourced
from roofspring.errors import Problem, RangeError
from roofspring.errors.limits import finite, known, not_negative, positive

FOLDER = "roofspring.safety.disinfection"

Method = Literal["table", "regression"]

PH_LEAST, PH_TABLE_MOST, PH_MOST = 6.0, 8.0, 9.0
CHLORINE_LEAST, CHLORINE_MOST = 0.4, 3.0
COLDEST_DEGC, WARMEST_DEGC = 0.5, 25.0
GIARDIA_MOST_LOG10, VIRUS_MOST_LOG10 = 3.0, 4.0
"""Ends of the published tables (EPA_815_R_20_003, B-1, as far as it was read; EPA_1991, E-7)."""

WARM_FROM_DEGC = Sourced(12.5, "degC", "SMITH_1995", "where the two regressions meet")
MINUTE_S = 60.0


def rows(name: str) -> list[dict[str, str]]:
    """The rows of one table of this folder."""
    text = resources.files(FOLDER).joinpath(f"tables/{name}.csv").read_text("utf-8")
    return list(csv.DictReader(text.splitlines()))


@cache
def _giardia() -> dict[tuple[float, float, float], float]:
    return {
        (float(r["temp_degc"]), float(r["ph"]), float(r["chlorine_mg_per_l"])): float(
            r["ct_mg_min_per_l"]
        )
        for r in rows("giardia_ct")
    }


def giardia_ct_mg_min_per_l(
    log10: float,
    *,
    temp_degc: float,
    ph: float,
    chlorine_mg_per_l: float,
    method: Method = "table",
) -> float:
    """Strength times time that inactivates Giardia.

    Parameters
    ----------
    log10 : float
        Log reduction wanted [-], 0 to 3.
    temp_degc : float
        [degrees C]. Above 25 counts as 25; below 0.5 nothing is published.
    ph : float
        6 to 9. Cells over 8 were not read: there the table's place is taken by the regression at
        the next colder row, rounded up to whole numbers, and never less than the cell of pH 8.
    chlorine_mg_per_l : float
        Free chlorine at the END of the contact [mg/L], up to 3; weaker than 0.4 counts as 0.4.
    method : str
        ``table``: the next colder, more alkaline, stronger cell, all of which ask for more.
        ``regression``: a formula that falls below none of the cells that we hold.

    Returns
    -------
    float
        CT [mg min/L].

    Raises
    ------
    RangeError (SAF-003)
        Outside the published table.
    RangeError (DOM-002, DOM-004)
        A value below 0; another method.

    Notes
    -----
    Below 3 log the CT goes with the log reduction. Regression, under 12.5 degrees C:
    ``0.353 L (12.006 + exp(2.46 - 0.073 T + 0.125 C + 0.389 pH))``; from there on
    ``0.361 L (-2.261 + exp(2.69 - 0.065 T + 0.111 C + 0.361 pH))``. Two transcriptions of the last
    constant differ (-2.216); the effect is under a tenth of a per cent.

    Source
    ------
    EPA_815_R_20_003, table B-1, as quoted: 96 of its 588 cells, those of pH 6, 7, 7.5 and 8 at
    0.4, 1, 2 and 3 mg/L. The other cells were found in no text that could be read, and are not made
    up: the next cell held, or over pH 8 the regression, asks for as much or more. SMITH_1995, as
    quoted.

    Examples
    --------
    >>> giardia_ct_mg_min_per_l(3.0, temp_degc=10.0, ph=7.0, chlorine_mg_per_l=1.0)
    112.0
    """
    known("method", method, ("table", "regression"))
    not_negative("log10", log10)
    inside("log10", log10, 0.0, GIARDIA_MOST_LOG10)
    temp = _temperature(temp_degc)
    inside("ph", ph, PH_LEAST, PH_MOST)
    not_negative("chlorine_mg_per_l", chlorine_mg_per_l)
    inside("chlorine_mg_per_l", chlorine_mg_per_l, 0.0, CHLORINE_MOST)
    chlorine = max(chlorine_mg_per_l, CHLORINE_LEAST)
    part = log10 / GIARDIA_MOST_LOG10
    if method == "regression":
        return part * _regression(temp, ph, chlorine)
    temps, phs, strengths = ({key[i] for key in _giardia()} for i in range(3))
    cell = (
        max(t for t in temps if t <= temp),
        min(p for p in phs if p >= min(ph, PH_TABLE_MOST)),
        min(c for c in strengths if c >= chlorine),
    )
    held = _giardia()[cell]
    if ph > PH_TABLE_MOST:
        held = max(held, float(math.ceil(_regression(cell[0], ph, chlorine))))
    return held * part


def _regression(temp_degc: float, ph: float, chlorine_mg_per_l: float) -> float:
    """CT of 3 log by the published formula [mg min/L]."""
    t, c = temp_degc, chlorine_mg_per_l
    if t < WARM_FROM_DEGC.value:
        return 3.0 * 0.353 * (12.006 + math.exp(2.46 - 0.073 * t + 0.125 * c + 0.389 * ph))
    return 3.0 * 0.361 * (-2.261 + math.exp(2.69 - 0.065 * t + 0.111 * c + 0.361 * ph))


def virus_ct_mg_min_per_l(log10: float, *, temp_degc: float, ph: float) -> float:
    """Strength times time that inactivates viruses, by the table.

    Parameters
    ----------
    log10 : float
        Log reduction wanted [-], up to 4.
    temp_degc : float
        [degrees C]; above 25 counts as 25.
    ph : float
        6 to 10. Between 9 and 10 counts as 10, for nothing is published between.

    Returns
    -------
    float
        CT [mg min/L]: the least of the cells that are as cold or colder and take as much or more.

    Raises
    ------
    RangeError (SAF-003)
        Outside the published table.

    Source
    ------
    EPA_1991, table E-7, as quoted: 22 of its 36 cells. Viruses in clumps can need far more than the
    table, which is for single ones (THURSTON_2003).

    Examples
    --------
    >>> virus_ct_mg_min_per_l(4.0, temp_degc=10.0, ph=7.5)
    6.0
    """
    not_negative("log10", log10)
    inside("log10", log10, 0.0, VIRUS_MOST_LOG10)
    temp = _temperature(temp_degc)
    inside("ph", ph, PH_LEAST, 10.0)
    if log10 == 0.0:
        return 0.0
    band = "6 to 9" if ph <= PH_MOST else "10"
    table = {
        (float(r["temp_degc"]), r["ph_band"], float(r["log10"])): float(r["ct_mg_min_per_l"])
        for r in rows("virus_ct")
    }
    asked = [ct for (t, b, log), ct in table.items() if t <= temp and b == band and log >= log10]
    return min(asked)


@dataclass(frozen=True)
class Baffling:
    """A state of a contact tank: share of the mean stay that nine tenths of the water exceeds."""

    state: str
    factor: float
    words: str
    source: str
    seen: str


@cache
def baffling() -> dict[str, Baffling]:
    """Every state by its name.

    >>> baffling()["unbaffled"].factor
    0.1
    """
    return {
        r["state"]: Baffling(r["state"], float(r["factor"]), r["words"], r["source"], r["seen"])
        for r in rows("baffling")
    }


def contact_time_s(volume_m3: float, *, flow_m3_per_s: float, state: str = "unbaffled") -> float:
    """Time that nine tenths of the water stays in contact.

    Parameters
    ----------
    volume_m3 : float
        Water in contact at the LOWEST level [m3].
    flow_m3_per_s : float
        Highest flow [m3/s].
    state : str
        Of the tank, a name in `baffling`.

    Returns
    -------
    float
        [s]

    Raises
    ------
    RangeError (DOM-002, DOM-004)
        A value out of range; an unknown state.

    Source
    ------
    PA_DEP.

    Examples
    --------
    >>> contact_time_s(1.0, flow_m3_per_s=0.010 / 60.0) / 60.0
    10.0
    """
    positive("volume_m3", volume_m3)
    positive("flow_m3_per_s", flow_m3_per_s)
    known("state", state, baffling())
    return baffling()[state].factor * volume_m3 / flow_m3_per_s


def ct_mg_min_per_l(
    chlorine_mg_per_l: float, *, time_s: float, decay_per_day: float = 0.0
) -> float:
    """Strength times time of a batch in which chlorine decays.

    Parameters
    ----------
    chlorine_mg_per_l : float
        At the start [mg/L].
    time_s : float
        Time left alone [s].
    decay_per_day : float
        First-order decay [1/day]; 0 for a strength measured at the end.

    Returns
    -------
    float
        CT [mg min/L]: ``C0 / k (1 - exp(-k t))``.

    Raises
    ------
    RangeError (DOM-002)
        A value below 0.

    Source
    ------
    Closed form.

    Examples
    --------
    >>> round(ct_mg_min_per_l(2.0, time_s=7200.0, decay_per_day=2.4), 1)
    217.5
    """
    not_negative("chlorine_mg_per_l", chlorine_mg_per_l)
    not_negative("time_s", time_s)
    not_negative("decay_per_day", decay_per_day)
    minutes = time_s / MINUTE_S
    k = decay_per_day / 1440.0
    if k * minutes < 1e-12:
        return chlorine_mg_per_l * minutes
    return chlorine_mg_per_l / k * -math.expm1(-k * minutes)


def chlorine_left_mg_per_l(
    chlorine_mg_per_l: float, *, time_s: float, decay_per_day: float
) -> float:
    """Chlorine left after a time.

    Parameters
    ----------
    chlorine_mg_per_l, time_s, decay_per_day : float
        As `ct_mg_min_per_l`. Cool filtered water in a clean tank loses 0.1 to 0.5 a day, warm water
        or sludge 1 to 3: our choice; measure.

    Returns
    -------
    float
        [mg/L]

    Raises
    ------
    RangeError (DOM-002)
        A value below 0.

    Source
    ------
    Closed form.

    Examples
    --------
    >>> round(chlorine_left_mg_per_l(2.0, time_s=86400.0, decay_per_day=1.2), 3)
    0.602
    """
    not_negative("chlorine_mg_per_l", chlorine_mg_per_l)
    not_negative("time_s", time_s)
    not_negative("decay_per_day", decay_per_day)
    return chlorine_mg_per_l * math.exp(-decay_per_day * time_s / 86400.0)


def mixed_residual_frac(stay_days: float, *, decay_per_day: float) -> float:
    """Share of the chlorine left in a mixed tank that is dosed at its inlet.

    >>> round(mixed_residual_frac(5.0, decay_per_day=0.3), 3)
    0.4
    """
    not_negative("stay_days", stay_days)
    not_negative("decay_per_day", decay_per_day)
    return 1.0 / (1.0 + decay_per_day * stay_days)


def acid_frac(ph: float, *, temp_degc: float) -> float:
    """Share of free chlorine that is hypochlorous acid, the part that works fast.

    Parameters
    ----------
    ph : float
        0 to 14.
    temp_degc : float
        [degrees C], 0 to 40.

    Returns
    -------
    float
        ``1 / (1 + 10**(pH - pKa))``, ``pKa = 3000/T - 10.0686 + 0.0253 T``, T in kelvin.

    Raises
    ------
    RangeError (SAF-003)
        Outside pH 0 to 14 or 0 to 40 degrees C.

    Source
    ------
    MORRIS_1966, from memory.

    Examples
    --------
    >>> round(acid_frac(7.0, temp_degc=20.0), 2), round(acid_frac(8.0, temp_degc=20.0), 2)
    (0.79, 0.28)
    """
    inside("ph", ph, 0.0, 14.0, source="MORRIS_1966")
    inside("temp_degc", temp_degc, 0.0, 40.0, source="MORRIS_1966")
    kelvin = temp_degc + 273.15
    pka = 3000.0 / kelvin - 10.0686 + 0.0253 * kelvin
    return float(1.0 / (1.0 + 10.0 ** (ph - pka)))


def _temperature(temp_degc: float) -> float:
    finite("temp_degc", temp_degc)
    if temp_degc < COLDEST_DEGC:
        inside("temp_degc", temp_degc, COLDEST_DEGC, WARMEST_DEGC)
    return min(temp_degc, WARMEST_DEGC)


TABLES = "EPA_815_R_20_003, B-1; EPA_1991, E-7"


def inside(name: str, value: float, low: float, high: float, *, source: str = TABLES) -> None:
    """Refuse a value that lies outside what is published (SAF-003)."""
    if not low <= value <= high:
        raise RangeError(
            Problem(
                "SAF-003",
                "nothing is published for this: the table ends before it",
                where=name,
                got=f"{value:g}",
                allowed=f"{low:g} to {high:g} ({source})",
                next="change the water (warmer, less alkaline), or use light or boiling instead",
            )
        )
