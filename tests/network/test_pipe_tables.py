"""Pre-solved flow tables of feed pipes against the direct solution and against the fluids package.

The flow of a feed is read between points at equal steps of the root of the head. It is worst where
laminar flow passes into turbulent flow. The bounds asserted here stand in decision 0005.
"""

from __future__ import annotations

import math
from typing import Any

import fluids
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from roofspring.constants import GRAVITY_M_PER_S2
from roofspring.kernels.net import HEAD_POINTS_COUNT
from roofspring.network.laws import FEED_DEGC, PipeLaw, pipe_flow_m3_per_s, pipe_law
from roofspring.plan.model import Pipe
from roofspring.water import kinematic_viscosity_m2_per_s

ELBOW_K, ENTRY_AND_EXIT_K = 0.9, 1.5
OF_FULL_FRAC = 0.001
RELATIVE_FRAC = 0.005
RELATIVE_FROM_HEAD_FRAC = 0.01


@st.composite
def feeds(draw: st.DrawFn) -> tuple[Pipe, float]:
    """A pipe with elbows and perhaps a valve, and the greatest head it sees [m]."""
    block: dict[str, Any] = {
        "from": "a.outlet",
        "to": "b.inlet",
        "size": f"{draw(st.floats(6.0, 110.0))!r} mm",
        "length": f"{draw(st.floats(0.2, 60.0))!r} m",
        "fittings": ["elbow 90"] * draw(st.integers(0, 8)),
    }
    kv = draw(st.sampled_from([None, 0.5, 1.7, 6.0]))
    if kv is not None:
        block["valve"] = {"kind": "float", "kv": f"{kv} m3/h"}
    return Pipe.model_validate(block), draw(st.floats(0.05, 12.0))


def read_between(law: PipeLaw, head_m: float) -> float:
    """As the engine reads a table."""
    roots = np.linspace(0.0, 1.0, HEAD_POINTS_COUNT)
    return float(np.interp(math.sqrt(head_m / law.head_m), roots, law.flow_m3_per_s))


def fluids_flow_m3_per_s(pipe: Pipe, head_m: float, *, more_k: float = 0.0) -> float:
    """The flow at which the fluids package finds this head lost."""
    assert pipe.size_m is not None
    bore_m, nu = pipe.size_m, float(kinematic_viscosity_m2_per_s(FEED_DEGC))
    k_sum = ENTRY_AND_EXIT_K + ELBOW_K * len(pipe.fittings) + more_k
    if pipe.valve is not None and pipe.valve.kv_m3_per_s is not None:
        k_sum += fluids.Kv_to_K(pipe.valve.kv_m3_per_s * 3600.0, bore_m)

    def excess_m(speed: float) -> float:
        reynolds = fluids.Reynolds(V=speed, D=bore_m, nu=nu)
        f = fluids.friction.Churchill_1977(reynolds, pipe.roughness_m / bore_m)
        k = f * pipe.length_m / bore_m + k_sum
        return float(fluids.head_from_K(K=k, V=speed, g=GRAVITY_M_PER_S2)) - head_m

    speed = brentq(excess_m, 1e-9, 1.1 * math.sqrt(2 * GRAVITY_M_PER_S2 * head_m / 1.5), xtol=1e-14)
    return float(speed) * math.pi * bore_m**2 / 4.0


@settings(max_examples=150, deadline=None)
@given(feed=feeds(), head_frac=st.floats(1e-4, 1.0))
def test_direct_solution_is_that_of_fluids(feed: tuple[Pipe, float], head_frac: float) -> None:
    pipe, most_head_m = feed
    head_m = head_frac * most_head_m
    direct = pipe_flow_m3_per_s(pipe, head_m, temp_degc=FEED_DEGC)
    # The standard's 1.6e9 is a rounded factor: fluids keeps 1.604e9, so 0.1 % of the flow.
    slack = 2e-3 if pipe.valve is not None else 1e-7
    assert direct == pytest.approx(fluids_flow_m3_per_s(pipe, head_m), rel=slack)


@settings(max_examples=150, deadline=None)
@given(feed=feeds(), parts=st.lists(st.floats(0.0, 1.0), min_size=20, max_size=20))
def test_table_keeps_its_bound(feed: tuple[Pipe, float], parts: list[float]) -> None:
    pipe, most_head_m = feed
    law = pipe_law([pipe], most_head_m=most_head_m)
    full = pipe_flow_m3_per_s(pipe, most_head_m, temp_degc=FEED_DEGC)
    for part in parts:
        head_m = part * most_head_m
        direct = pipe_flow_m3_per_s(pipe, head_m, temp_degc=FEED_DEGC)
        error = abs(read_between(law, head_m) - direct)
        assert error <= OF_FULL_FRAC * full
        if part >= RELATIVE_FROM_HEAD_FRAC:
            assert error <= RELATIVE_FRAC * direct


@pytest.mark.parametrize("bore_mm", [8.0, 16.0, 21.0, 35.0, 60.0, 100.0])
@pytest.mark.parametrize("length_m", [1.0, 10.0, 50.0])
def test_table_keeps_its_bound_from_laminar_to_turbulent(bore_mm: float, length_m: float) -> None:
    pipe = Pipe.model_validate(
        {"from": "a.outlet", "to": "b.inlet", "size": f"{bore_mm} mm", "length": f"{length_m} m"}
    )
    assert pipe.size_m is not None
    nu = float(kinematic_viscosity_m2_per_s(FEED_DEGC))
    # The greatest head is 40 times that at which flow would be laminar at Re 2000.
    speed = 2000.0 * nu / pipe.size_m
    laminar_m = 32.0 * nu * length_m * speed / (GRAVITY_M_PER_S2 * pipe.size_m**2)
    law = pipe_law([pipe], most_head_m=40.0 * laminar_m)
    full = law.flow_m3_per_s[-1]
    reached = []
    for head_m in np.geomspace(0.4 * laminar_m, 40.0 * laminar_m, 300):
        direct = fluids_flow_m3_per_s(pipe, float(head_m))
        reached.append(direct / (math.pi * pipe.size_m**2 / 4.0) * pipe.size_m / nu)
        error = abs(read_between(law, float(head_m)) - direct)
        assert error <= OF_FULL_FRAC * full
        assert error <= RELATIVE_FRAC * direct
    assert reached[0] < 1000.0 and reached[-1] > 4000.0


def test_table_of_two_pipes_one_behind_the_other_is_that_of_one_as_long() -> None:
    half, whole = (
        Pipe.model_validate(
            {"from": "a.outlet", "to": "b.inlet", "size": "21 mm", "length": length}
        )
        for length in ("3 m", "6 m")
    )
    law = pipe_law([half, half], most_head_m=0.5)
    for head_m in np.linspace(0.02, 0.5, 49):
        # The joint has an exit and an entry, which the long pipe has not.
        direct = fluids_flow_m3_per_s(whole, float(head_m), more_k=ENTRY_AND_EXIT_K)
        both = read_between(law, float(head_m))
        assert abs(both - direct) <= OF_FULL_FRAC * law.flow_m3_per_s[-1]
