"""A store that an on-off float valve fills while water leaves it steadily."""

from __future__ import annotations

import math

from roofspring.kernels._jit import kernel

MOST_TURNS_COUNT = 8  # in a step, besides whole rounds


@kernel
def on_off_room(
    content_m3: float,
    dt_s: float,
    shut_m3: float,
    low_m3: float,
    is_open: float,
    feed_m3_per_s: float,
    leaving_m3_per_s: float,
) -> tuple[float, float]:
    """Volume let in, and whether the valve then stands open.

    It opens when the content has fallen to the low level and shuts when it has risen to the high
    one. Whole rounds of filling and falling are skipped in one piece.
    """
    v_m3, let_in_m3, left_s = content_m3, 0.0, dt_s
    if v_m3 >= shut_m3:
        is_open = 0.0
    elif v_m3 <= low_m3:
        is_open = 1.0
    rise_m3_per_s = feed_m3_per_s - leaving_m3_per_s
    for _ in range(MOST_TURNS_COUNT):
        if left_s <= 0.0:
            break
        if is_open > 0.0:
            t_s = math.inf
            if rise_m3_per_s > 0.0:
                t_s = (shut_m3 - v_m3) / rise_m3_per_s
            run_s = min(t_s, left_s)
            let_in_m3 += feed_m3_per_s * run_s
            if t_s > left_s:
                break
            v_m3, is_open = shut_m3, 0.0
        else:
            t_s = math.inf
            if leaving_m3_per_s > 0.0:
                t_s = (v_m3 - low_m3) / leaving_m3_per_s
            run_s = min(t_s, left_s)
            if t_s > left_s:
                break
            v_m3, is_open = low_m3, 1.0
        left_s -= run_s
        if is_open > 0.0 and rise_m3_per_s > 0.0 and leaving_m3_per_s > 0.0:
            band_m3 = shut_m3 - low_m3
            fill_s = band_m3 / rise_m3_per_s
            round_s = fill_s + band_m3 / leaving_m3_per_s
            if 0.0 < round_s <= left_s:
                rounds = math.floor(left_s / round_s)
                let_in_m3 += rounds * feed_m3_per_s * fill_s
                left_s -= rounds * round_s
    return let_in_m3, is_open
