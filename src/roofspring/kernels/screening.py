"""Many designs of one roof and three stores through one daily record, side by side.

The daily rule for each design, after Jenkins (yield after spillage) for both stores that are drawn
from: uses draw on what the clean tank and then the cistern held at the start of the day; the raw
tank takes what the roof gives; the filter passes what there is, up to its rate; what the clean tank
has no room for runs to the cistern; what the raw tank and the cistern have no room for spills.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from roofspring.kernels._jit import kernel

FloatArray = npt.NDArray[np.float64]

SCREEN_LANES = 64
"""Designs carried side by side, so that the processor's wide registers are used."""

# Rows of a design, and rows of room to work in.
CATCH_M2, FLUSH_M3, RAW_M3, FILTER_M3, CLEAN_M3, CISTERN_M3 = range(6)
DESIGN_ROWS = 6
WORK_ROWS = DESIGN_ROWS + 6

SHORT_FRAC = 1e-9
"""A day that misses by a smaller share of its want is not short."""


@kernel
def screen_designs(
    rain_m: FloatArray,
    want_m3: FloatArray,
    designs: FloatArray,
    start_frac: float,
    first: int,
    last: int,
    served_m3: FloatArray,
    short_days: FloatArray,
    spilled_m3: FloatArray,
    work: FloatArray,
) -> None:
    """Fill the totals of designs ``first`` to ``last``.

    ``rain_m`` and ``want_m3`` are (n,). ``designs`` is (DESIGN_ROWS, m): catch area times runoff,
    first flush of each wet day, room in the raw tank, what the filter passes in a day, room in the
    clean tank and in the cistern. ``work`` (WORK_ROWS, SCREEN_LANES) is room to work in.
    ``spilled_m3`` is what the raw tank and the cistern had no room for.
    """
    catch, flush, raw_full = work[0], work[1], work[2]
    rate, clean_full, cistern_full = work[3], work[4], work[5]
    raw, clean, cistern = work[6], work[7], work[8]
    served, short, spilled = work[9], work[10], work[11]
    for begin in range(first, last, SCREEN_LANES):
        used = min(SCREEN_LANES, last - begin)
        for j in range(SCREEN_LANES):
            # Idle lanes repeat the last design; their totals are not kept.
            design = begin + min(j, used - 1)
            for row in range(DESIGN_ROWS):
                work[row, j] = designs[row, design]
            raw[j] = start_frac * raw_full[j]
            clean[j] = start_frac * clean_full[j]
            cistern[j] = start_frac * cistern_full[j]
            served[j] = 0.0
            short[j] = 0.0
            spilled[j] = 0.0
        for i in range(rain_m.size):
            rain, want = rain_m[i], want_m3[i]
            enough = want * (1.0 - SHORT_FRAC)
            for j in range(SCREEN_LANES):
                from_clean = min(want, clean[j])
                from_cistern = min(want - from_clean, cistern[j])
                there = raw[j] + max(0.0, catch[j] * rain - flush[j])
                through = min(there, rate[j])
                left = there - through
                raw[j] = min(left, raw_full[j])
                cleaned = clean[j] + through
                held = min(cleaned, clean_full[j])
                clean[j] = held - from_clean
                below = cistern[j] + (cleaned - held)
                kept = min(below, cistern_full[j])
                cistern[j] = kept - from_cistern
                got = from_clean + from_cistern
                served[j] += got
                short[j] += 1.0 if got < enough else 0.0
                spilled[j] += (left - raw[j]) + (below - kept)
        for j in range(used):
            served_m3[begin + j] = served[j]
            short_days[begin + j] = short[j]
            spilled_m3[begin + j] = spilled[j]
