"""Snow that lies on a roof, day by day."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from roofspring.kernels._jit import kernel

FloatArray = npt.NDArray[np.float64]


@kernel
def lie_and_melt(
    snow_m: FloatArray,
    thaw_m: FloatArray,
    store_m: float,
    melt_m: FloatArray,
    lying_m: FloatArray,
) -> None:
    """Fill ``melt_m`` and ``lying_m`` (n,): snow falls, then as much melts as the thaw can.

    What lies is never the small rest of a subtraction: a thaw of all of it leaves exactly 0.
    """
    lying = store_m
    for i in range(snow_m.size):
        lying += snow_m[i]
        melt = min(lying, thaw_m[i])
        lying -= melt
        melt_m[i] = melt
        lying_m[i] = lying
