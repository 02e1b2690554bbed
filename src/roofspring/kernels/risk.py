"""Years of drinking, day by day: what a person swallows, and the chance that it infects.

Random numbers are drawn by the caller and handed in, so that the same ones can be used with and
without a barrier, and compiled and plain code give the same bits.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from roofspring.kernels._jit import kernel

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

EXPONENTIAL, APPROXIMATE, TABLED = 0, 1, 2
"""Laws of dose and response; ``TABLED + i`` is row ``i`` of the tables of an exact law."""


@kernel
def hazard(dose: float, law: int, first: float, second: float, table: FloatArray) -> float:
    """Minus the logarithm of the chance to get away with a dose.

    ``first`` and ``second`` are the chance of one organism and nothing (exponential), or alpha and
    beta (approximate beta-Poisson). A row of ``table`` (k, 3 + g) begins with the slope at no
    dose, the logarithm of its first dose and its step; then come logarithms of hazards.
    """
    if dose <= 0.0:
        return 0.0
    if law == EXPONENTIAL:
        return first * dose
    if law == APPROXIMATE:
        return first * float(math.log1p(dose / second))
    row = table[law - TABLED]
    place = (math.log(dose) - row[1]) / row[2]
    if place <= 0.0:
        return float(row[0] * dose)
    last = len(row) - 4
    i = min(int(place), last - 1)
    part = min(place - i, 1.0)
    return float(math.exp(row[3 + i] * (1.0 - part) + row[4 + i] * part))


@kernel
def drink_years(
    present: FloatArray,
    level: FloatArray,
    prevalence_frac: FloatArray,
    ln_median: FloatArray,
    ln_spread: float,
    most_per_l: float,
    viable_frac: FloatArray,
    low_log10: FloatArray,
    high_log10: FloatArray,
    raw_frac: FloatArray,
    year: IntArray,
    place_frac: FloatArray,
    after_log10: FloatArray,
    cups: FloatArray,
    cup_l: float,
    law: IntArray,
    first: FloatArray,
    second: FloatArray,
    table: FloatArray,
    chance_frac: FloatArray,
) -> None:
    """Fill ``chance_frac`` (m,), the chance of at least one infection in each of m person-years.

    ``present`` (m, n) is even between 0 and 1, ``level`` (m, n) is normal. A day's water holds
    organisms when ``present`` is below the prevalence; where it lies below that is even again, and
    tells how many cups are drunk. ``cups`` are cumulative chances of 0, 1, 2 ... cups.
    ``low_log10``, ``high_log10``, ``raw_frac`` (r, n) are the barriers of each of r calendar years
    and the share of the water that goes round them; ``place_frac`` (m, 1) or (m, n) is where
    between low and high they truly stand; ``after_log10`` (m,) works on all.
    """
    persons, days = present.shape
    daily = place_frac.shape[1] > 1
    ln10 = math.log(10.0)
    for i in range(persons):
        row = year[i]
        later = math.exp(-ln10 * after_log10[i]) * viable_frac[i] * cup_l
        total = 0.0
        for d in range(days):
            if present[i, d] >= prevalence_frac[i]:
                continue
            thirst, drunk = present[i, d] / prevalence_frac[i], 0
            while drunk < len(cups) - 1 and thirst >= cups[drunk]:
                drunk += 1
            if drunk == 0:
                continue
            per_l = min(math.exp(ln_median[i] + ln_spread * level[i, d]), most_per_l)
            where = place_frac[i, d] if daily else place_frac[i, 0]
            low, raw = low_log10[row, d], raw_frac[row, d]
            passed = math.exp(-ln10 * (low + where * (high_log10[row, d] - low)))
            dose = per_l * drunk * later * (raw + (1.0 - raw) * passed)
            total += hazard(dose, law[i], first[i], second[i], table)
        chance_frac[i] = -math.expm1(-total)
