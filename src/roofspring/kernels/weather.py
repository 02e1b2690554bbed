"""Day by day through invented weather: wet and dry days, departures that last, days that follow."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from roofspring.kernels._jit import kernel

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
ByteArray = npt.NDArray[np.uint8]

ROWS = 8
"""Rows of the counts by month: rain, wet days, rain of wet days and its square, days after a dry
day, wet ones among them, days after a wet day, wet ones among them."""


@kernel
def wet_days(
    uniform: FloatArray,
    chance: FloatArray,
    year: IntArray,
    month: IntArray,
    state: int,
    wet: ByteArray,
) -> None:
    """Fill ``wet`` (n,) with 1 for each wet day.

    ``chance`` (years, 12, states) is that of a wet day after each state. In a state the last day
    is bit 0 and the day before it bit 1; there are 2 states for an order of 1 and 4 for one of 2.
    """
    mask = chance.shape[2] - 1
    now = state
    for i in range(uniform.size):
        rain = 1 if uniform[i] < chance[year[i], month[i], now] else 0
        wet[i] = rain
        now = (2 * now + rain) & mask


@kernel
def lasting(noise: FloatArray, lag: float, fresh: float, departure: FloatArray) -> None:
    """Fill ``departure`` (n,): each is ``lag`` times the one before and ``fresh`` times noise."""
    last = noise[0]
    departure[0] = last
    for i in range(1, noise.size):
        last = lag * last + fresh * noise[i]
        departure[i] = last


@kernel
def tally(
    depth_m: FloatArray, at: IntArray, wet_day_m: float, by_month: FloatArray, by_year: FloatArray
) -> None:
    """Add up a daily record by month and by year, in arrays that start at zero.

    ``at`` (n,) counts months from the start. ``by_month`` is (ROWS, months) and ``by_year``
    (2, years): longest dry spell that has lasted up to a day of that year, and most rain in a day.
    """
    spell = 0
    before = 0
    for i in range(depth_m.size):
        depth = depth_m[i]
        m = at[i]
        y = m // 12
        wet = 1 if depth >= wet_day_m else 0
        by_month[0, m] += depth
        if wet == 1:
            by_month[1, m] += 1.0
            by_month[2, m] += depth
            by_month[3, m] += depth * depth
            spell = 0
        else:
            spell += 1
            by_year[0, y] = max(by_year[0, y], float(spell))
        by_year[1, y] = max(by_year[1, y], depth)
        if i > 0:
            by_month[4 + 2 * before, m] += 1.0
            by_month[5 + 2 * before, m] += float(wet)
        before = wet


@kernel
def follow(
    first: int,
    place: IntArray,
    low: IntArray,
    high: IntArray,
    order: IntArray,
    features: FloatArray,
    weight: FloatArray,
    rain_m: FloatArray,
    temp_degc: FloatArray,
    memory_m: float,
    keep_frac: float,
    cumulative: FloatArray,
    uniform: FloatArray,
    distance: FloatArray,
    near: FloatArray,
    which: IntArray,
    chosen: IntArray,
) -> None:
    """Fill ``chosen`` (n,) with days of a record, each the day after one that is like the last.

    ``order`` (m,) are days of the record by season, with their ``features`` (3, m): root of the
    rain, root of the rain kept in memory, temperature. Those between ``low`` and ``high`` (366,)
    of a place in the year are its window, and ``weight`` (366, 3) turns differences there into
    distances. The rank of the neighbour is drawn from ``cumulative`` (k,); ``near`` (k,),
    ``which`` (k,) and ``distance``, as long as the widest window, are room to work in.
    """
    day = first
    memory = memory_m
    chosen[0] = day
    for i in range(1, place.size):
        p = place[i - 1]
        rain = np.sqrt(rain_m[day])
        wetness = np.sqrt(memory)
        temp = temp_degc[day]
        count = high[p] - low[p]
        rank = 0
        while rank < cumulative.size - 1 and uniform[i] >= cumulative[rank]:
            rank += 1
        want = min(rank + 1, count)
        # Distances first, in a loop the compiler can widen; then the few that are nearest.
        by_rain = features[0, low[p] : high[p]]
        by_wetness = features[1, low[p] : high[p]]
        by_temp = features[2, low[p] : high[p]]
        of_rain, of_wetness, of_temp = weight[p, 0], weight[p, 1], weight[p, 2]
        for j in range(by_rain.size):
            a = (by_rain[j] - rain) * of_rain
            b = (by_wetness[j] - wetness) * of_wetness
            c = (by_temp[j] - temp) * of_temp
            distance[j] = a * a + b * b + c * c
        for j in range(want):
            near[j] = np.inf
        for j in range(count):
            d = distance[j]
            if d < near[want - 1]:
                slot = want - 1
                while slot > 0 and near[slot - 1] > d:
                    near[slot] = near[slot - 1]
                    which[slot] = which[slot - 1]
                    slot -= 1
                near[slot] = d
                which[slot] = order[low[p] + j]
        day = which[want - 1] + 1
        chosen[i] = day
        memory = keep_frac * memory + rain_m[day]
