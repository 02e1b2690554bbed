"""A filter box behind a free weir: a linear reservoir with a throttle and an overflow.

With V the content above the weir crest, R the resistance (head over rate, a time) and q the inflow,
``dV/dt = q - min(V / R, throttle)``, held at the overflow lip. Every piece has a closed form; so
has the flow of a float valve that opens in step with the level below it.
"""

from __future__ import annotations

import math

from roofspring.kernels._jit import kernel
from roofspring.kernels.net import HOLDS, ON_OFF

MOST_TURNS_COUNT = 8  # of an on-off valve in a step, besides whole rounds


@kernel
def bed_outflow(content_m3: float, resistance_s: float, throttle_m3_per_s: float) -> float:
    """Flow through the sand at a content above the weir."""
    return min(content_m3 / resistance_s, throttle_m3_per_s)


@kernel
def bed_time_to_fill(
    content_m3: float,
    target_m3: float,
    inflow_m3_per_s: float,
    resistance_s: float,
    throttle_m3_per_s: float,
) -> float:
    """Time for the content to rise to the target under a steady inflow; infinite when never."""
    if content_m3 >= target_m3:
        return 0.0
    knee_m3 = throttle_m3_per_s * resistance_s
    t_s = 0.0
    v_m3 = content_m3
    if v_m3 < knee_m3:
        aim_m3 = min(knee_m3, target_m3)
        level_off_m3 = inflow_m3_per_s * resistance_s
        if level_off_m3 <= aim_m3:
            return math.inf
        t_s = resistance_s * math.log1p((aim_m3 - v_m3) / (level_off_m3 - aim_m3))
        v_m3 = aim_m3
    if v_m3 < target_m3:
        rise_m3_per_s = inflow_m3_per_s - throttle_m3_per_s
        if rise_m3_per_s <= 0.0:
            return math.inf
        t_s += (target_m3 - v_m3) / rise_m3_per_s
    return t_s


@kernel
def bed_time_to_fall(
    content_m3: float, target_m3: float, resistance_s: float, throttle_m3_per_s: float
) -> float:
    """Time for the content to fall to the target with no inflow; infinite when never."""
    if content_m3 <= target_m3:
        return 0.0
    knee_m3 = throttle_m3_per_s * resistance_s
    t_s, v_m3 = 0.0, content_m3
    if v_m3 > knee_m3:
        low_m3 = max(knee_m3, target_m3)
        t_s = (v_m3 - low_m3) / throttle_m3_per_s
        v_m3 = low_m3
    if v_m3 > target_m3:
        if target_m3 <= 0.0:
            return math.inf
        t_s += resistance_s * math.log(v_m3 / target_m3)
    return t_s


@kernel
def bed_advance(
    content_m3: float,
    inflow_m3_per_s: float,
    dt_s: float,
    resistance_s: float,
    throttle_m3_per_s: float,
    capacity_m3: float,
) -> tuple[float, float, float]:
    """Content, volume through the sand and volume over the lip after a steady inflow.

    Exact: the step is cut where the throttle lets go or takes hold, and where the box is full.
    """
    knee_m3 = throttle_m3_per_s * resistance_s
    v_m3, through_m3, spilled_m3 = content_m3, 0.0, 0.0
    if v_m3 > capacity_m3:
        spilled_m3 = v_m3 - capacity_m3
        v_m3 = capacity_m3
    left_s = dt_s
    for _ in range(6):
        if left_s <= 0.0:
            break
        at_lip_m3_per_s = bed_outflow(capacity_m3, resistance_s, throttle_m3_per_s)
        if v_m3 >= capacity_m3 and inflow_m3_per_s >= at_lip_m3_per_s:
            through_m3 += at_lip_m3_per_s * left_s
            spilled_m3 += (inflow_m3_per_s - at_lip_m3_per_s) * left_s
            break
        if v_m3 > knee_m3 or (v_m3 == knee_m3 and inflow_m3_per_s >= throttle_m3_per_s):
            rise_m3_per_s = inflow_m3_per_s - throttle_m3_per_s
            t_s = left_s
            next_m3 = v_m3 + rise_m3_per_s * left_s
            if rise_m3_per_s > 0.0 and next_m3 >= capacity_m3:
                t_s = min(left_s, (capacity_m3 - v_m3) / rise_m3_per_s)
                next_m3 = capacity_m3
            elif rise_m3_per_s < 0.0 and next_m3 <= knee_m3:
                t_s = min(left_s, (knee_m3 - v_m3) / rise_m3_per_s)
                next_m3 = knee_m3
        else:
            level_off_m3 = inflow_m3_per_s * resistance_s
            aim_m3 = min(knee_m3, capacity_m3)
            t_s = left_s
            next_m3 = v_m3 + (v_m3 - level_off_m3) * math.expm1(-left_s / resistance_s)
            if level_off_m3 > aim_m3 and next_m3 >= aim_m3:
                t_s = min(
                    left_s,
                    resistance_s * math.log1p((aim_m3 - v_m3) / (level_off_m3 - aim_m3)),
                )
            next_m3 = min(next_m3, aim_m3)
        through_m3 += max(0.0, inflow_m3_per_s * t_s + (v_m3 - next_m3))
        v_m3 = next_m3
        left_s -= t_s
    return v_m3, through_m3, spilled_m3


@kernel
def bed_in_band(
    content_m3: float,
    dt_s: float,
    shut_m3: float,
    low_m3: float,
    feed_m3_per_s: float,
    resistance_s: float,
    throttle_m3_per_s: float,
) -> tuple[float, float]:
    """Content, and volume let in, while a valve opens in step with the level below its shut level.

    ``dV/dt = feed (shut - V) / (shut - low) - min(V / R, throttle)``: linear on either side of the
    knee. Where the sand takes more than all of the feed, the content falls out of the band.
    """
    knee_m3 = throttle_m3_per_s * resistance_s
    opens_per_s = feed_m3_per_s / (shut_m3 - low_m3)
    v_m3, let_in_m3, left_s = content_m3, 0.0, dt_s
    for _ in range(4):
        if left_s <= 0.0:
            break
        if v_m3 <= low_m3 and feed_m3_per_s <= bed_outflow(low_m3, resistance_s, throttle_m3_per_s):
            v_m3, _, _ = bed_advance(
                v_m3, feed_m3_per_s, left_s, resistance_s, throttle_m3_per_s, math.inf
            )
            let_in_m3 += feed_m3_per_s * left_s
            break
        rise_at_knee = opens_per_s * (shut_m3 - knee_m3) - throttle_m3_per_s
        if v_m3 > knee_m3 or (v_m3 == knee_m3 and rise_at_knee >= 0.0):
            rate_per_s, pull_m3_per_s = opens_per_s, throttle_m3_per_s
        else:
            rate_per_s, pull_m3_per_s = opens_per_s + 1.0 / resistance_s, 0.0
        rest_m3 = (opens_per_s * shut_m3 - pull_m3_per_s) / rate_per_s
        t_s = left_s
        next_m3 = v_m3 + (v_m3 - rest_m3) * math.expm1(-rate_per_s * left_s)
        if rest_m3 < v_m3:
            stop_m3 = max(knee_m3, low_m3) if v_m3 > knee_m3 else low_m3
            crosses = next_m3 < stop_m3
        else:
            stop_m3 = knee_m3
            crosses = v_m3 < knee_m3 < next_m3
        if crosses:
            t_s = min(left_s, math.log((v_m3 - rest_m3) / (stop_m3 - rest_m3)) / rate_per_s)
            next_m3 = stop_m3
        stood_m3_s = rest_m3 * t_s + (v_m3 - next_m3) / rate_per_s
        let_in_m3 += max(0.0, opens_per_s * (shut_m3 * t_s - stood_m3_s))
        v_m3 = next_m3
        left_s -= t_s
    return v_m3, let_in_m3


@kernel
def bed_on_off(
    content_m3: float,
    dt_s: float,
    shut_m3: float,
    low_m3: float,
    is_open: float,
    feed_m3_per_s: float,
    resistance_s: float,
    throttle_m3_per_s: float,
) -> tuple[float, float, float]:
    """Content, volume let in, and whether the valve stands open: it opens at the low level and
    shuts at the high one. Whole rounds of filling and falling are skipped in one piece."""
    v_m3, let_in_m3, left_s = content_m3, 0.0, dt_s
    if v_m3 >= shut_m3:
        is_open = 0.0
    elif v_m3 <= low_m3:
        is_open = 1.0
    for _ in range(MOST_TURNS_COUNT):
        if left_s <= 0.0:
            break
        if is_open > 0.0:
            t_s = bed_time_to_fill(v_m3, shut_m3, feed_m3_per_s, resistance_s, throttle_m3_per_s)
            if t_s > left_s:
                v_m3, _, _ = bed_advance(
                    v_m3, feed_m3_per_s, left_s, resistance_s, throttle_m3_per_s, math.inf
                )
                let_in_m3 += feed_m3_per_s * left_s
                break
            v_m3, is_open = shut_m3, 0.0
            let_in_m3 += feed_m3_per_s * t_s
        else:
            t_s = bed_time_to_fall(v_m3, low_m3, resistance_s, throttle_m3_per_s)
            if t_s > left_s:
                v_m3, _, _ = bed_advance(
                    v_m3, 0.0, left_s, resistance_s, throttle_m3_per_s, math.inf
                )
                break
            v_m3, is_open = low_m3, 1.0
        left_s -= t_s
        if is_open > 0.0:
            fill_s = bed_time_to_fill(
                low_m3, shut_m3, feed_m3_per_s, resistance_s, throttle_m3_per_s
            )
            round_s = fill_s + bed_time_to_fall(shut_m3, low_m3, resistance_s, throttle_m3_per_s)
            if 0.0 < round_s <= left_s:
                rounds = math.floor(left_s / round_s)
                let_in_m3 += rounds * feed_m3_per_s * fill_s
                left_s -= rounds * round_s
    return v_m3, let_in_m3, is_open


@kernel
def bed_under_valve(
    content_m3: float,
    dt_s: float,
    shut_m3: float,
    band_m3: float,
    acts: int,
    is_open: float,
    feed_m3_per_s: float,
    resistance_s: float,
    throttle_m3_per_s: float,
) -> tuple[float, float, float]:
    """Content at the end, volume let in, and how an on-off valve then stands.

    The box is fed by float valves alone, from behind which ``feed_m3_per_s`` can come. Above the
    shut level the valves wait; a band below it they stand open.
    """
    v_m3, let_in_m3, left_s = content_m3, 0.0, dt_s
    low_m3 = shut_m3 - band_m3
    if acts == ON_OFF:
        return bed_on_off(
            v_m3, left_s, shut_m3, low_m3, is_open, feed_m3_per_s, resistance_s, throttle_m3_per_s
        )
    wait_s = min(left_s, bed_time_to_fall(v_m3, shut_m3, resistance_s, throttle_m3_per_s))
    if wait_s > 0.0:
        v_m3, _, _ = bed_advance(v_m3, 0.0, wait_s, resistance_s, throttle_m3_per_s, math.inf)
        left_s -= wait_s
        if left_s > 0.0:
            v_m3 = shut_m3
    if left_s > 0.0 and v_m3 < low_m3:
        fill_s = min(
            left_s,
            bed_time_to_fill(v_m3, low_m3, feed_m3_per_s, resistance_s, throttle_m3_per_s),
        )
        v_m3, _, _ = bed_advance(
            v_m3, feed_m3_per_s, fill_s, resistance_s, throttle_m3_per_s, math.inf
        )
        let_in_m3 += feed_m3_per_s * fill_s
        left_s -= fill_s
        if left_s > 0.0:
            v_m3 = low_m3
    if left_s <= 0.0:
        return v_m3, let_in_m3, 1.0
    hold_m3_per_s = bed_outflow(low_m3, resistance_s, throttle_m3_per_s)
    if acts == HOLDS:
        if feed_m3_per_s >= hold_m3_per_s:
            let_in_m3 += hold_m3_per_s * left_s
        else:
            v_m3, _, _ = bed_advance(
                v_m3, feed_m3_per_s, left_s, resistance_s, throttle_m3_per_s, math.inf
            )
            let_in_m3 += feed_m3_per_s * left_s
    else:
        v_m3, in_band_m3 = bed_in_band(
            v_m3, left_s, shut_m3, low_m3, feed_m3_per_s, resistance_s, throttle_m3_per_s
        )
        let_in_m3 += in_band_m3
    return v_m3, let_in_m3, 1.0
