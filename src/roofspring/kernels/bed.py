"""A filter box behind a free weir: a linear reservoir with a throttle and an overflow.

With V the content above the weir crest, R the resistance (head over rate, a time) and q the inflow,
``dV/dt = q - min(V / R, throttle)``, held at the overflow lip. Every piece has a closed form.
"""

from __future__ import annotations

import math

from roofspring.kernels._jit import kernel


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
