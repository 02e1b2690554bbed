"""Sands for the tests: the invented one of Alder Bench, and any that hypothesis can think of."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from hypothesis import strategies as st

from roofspring.sandfilter.sieve import GradingCurve, series

ASTM_M = tuple(s for s in series("astm")[::-1] if 0.06e-3 <= s <= 5e-3)

PIT = """\
sieve mm,retained g
before,500.2
2.36,27.0
1.18,48.0
0.600,92.0
0.300,172.0
0.150,124.0
0.075,25.0
pan,11.6
total,499.6
"""


def write(folder: Path, text: str, name: str = "sand.csv") -> Path:
    """A file with a text."""
    path = folder / name
    path.write_text(text, "utf-8")
    return path


def lognormal(d10_m: float, uniformity: float, *, name: str = "smooth") -> GradingCurve:
    """A smooth sand cut off at 0.1 and 99.9 %, by its effective size and uniformity."""
    from scipy.special import ndtri

    z10, z60 = float(ndtri(0.1)), float(ndtri(0.6))
    sigma = np.log(uniformity) / (z60 - z10)
    shares = np.concatenate([np.linspace(0.001, 0.05, 8), np.linspace(0.1, 0.9, 33), [0.95, 0.999]])
    sizes = d10_m * np.exp(sigma * (ndtri(shares) - z10))
    shares[0], shares[-1] = 0.0, 1.0  # closed ends, as of a sand that was sieved through enough
    return GradingCurve(tuple(sizes.tolist()), tuple(shares.tolist()), name)


@st.composite
def curves(draw: st.DrawFn) -> GradingCurve:
    """A sand on 4 to 15 standard sieves, ends open or closed."""
    sizes = draw(st.lists(st.sampled_from(ASTM_M), min_size=4, max_size=15, unique=True))
    steps = draw(st.lists(st.integers(0, 1000), min_size=len(sizes) + 1, max_size=len(sizes) + 1))
    whole = sum(steps) or 1
    shares = [min(1.0, sum(steps[: k + 1]) / whole) for k in range(len(sizes))]
    return GradingCurve(tuple(sorted(sizes)), tuple(shares))
