"""Parts that add up to what they are parts of."""

from __future__ import annotations

import numpy as np

from roofspring.rain.record import FloatArray


def close_sums(parts: FloatArray, totals: FloatArray) -> FloatArray:
    """Scale each row of ``parts`` (n, k), 0 or more and not all 0, to its total (n,).

    What rounding leaves over goes to the greatest part of the row.
    """
    scaled: FloatArray = parts * (totals / parts.sum(axis=1))[:, None]
    rows = np.arange(len(scaled))
    scaled[rows, scaled.argmax(axis=1)] += totals - scaled.sum(axis=1)
    return scaled
