"""Pipes part by part: losses that add up, air and water that stay, times, against closed forms."""

from __future__ import annotations

import math

import fluids
import pytest

from network.build import pipe, plan_of, use
from roofspring.constants import GRAVITY_M_PER_S2
from roofspring.errors import codes
from roofspring.hydraulics import fitting_k, flow_m3_per_s, loss_factor_of_kv
from roofspring.network.assemble import assemble
from roofspring.network.pipes import PipeRow, Pipes, assess_pipes
from roofspring.water import kinematic_viscosity_m2_per_s

UPPER = (
    '[tank.a]\nvolume = "2 m3"\nheight = "2 m"\nbase = "5 m"\noutlet = "5.1 m"\n'
    'overflow = "6.8 m"\n'
)
LOWER = (
    '[tank.b]\nvolume = "2 m3"\nheight = "2 m"\nbase = "1 m"\ninlet = "2.9 m"\noverflow = "2.7 m"\n'
)
USE = '[use.u]\nfrom = ["b"]\nper-day = "1 L/day"\n'
SIZED = 'size = "21 mm"\nlength = "12 m"\n'
DIPPED = 'profile = [["0 m", "5.1 m"], ["3 m", "4 m"], ["6 m", "4.5 m"], ["12 m", "2.9 m"]]\n'
HUMPED = (
    'profile = [["0 m", "5.1 m"], ["2 m", "4 m"], ["4 m", "4.8 m"], ["7 m", "3 m"], '
    '["8 m", "3.4 m"], ["12 m", "2.9 m"]]\n'
)


def assessed(more: str, *, lower: str = LOWER, to: str = "b") -> Pipes:
    return assess_pipes(plan_of(UPPER, lower, USE, pipe("p", "a", to, more)))


def row(more: str) -> PipeRow:
    (one,) = assessed(more).rows
    return one


def codes_of(more: str) -> list[tuple[str, str]]:
    return [(f.code, f.severity) for f in assessed(more).findings]


STRAINED = (
    SIZED + 'fittings = ["elbow 90", "tee run"]\nvalve = { kind = "throttle", kv = "2 m3/h" }\n'
    'strainer = { blocked = "20 %", k = 3 }\n'
)


def test_losses_in_series_add_to_the_head() -> None:
    found = row(STRAINED)
    assert found.head_m == pytest.approx(6.8 - 2.9)
    assert [(c.temp_degc, c.strainer) for c in found.cases] == [
        (4.0, "new"), (4.0, "clogged"), (20.0, "new"), (20.0, "clogged"),
    ]  # fmt: skip
    for case in found.cases:
        assert math.fsum(loss.head_m for loss in case.losses) == pytest.approx(found.head_m)
        assert [loss.what for loss in case.losses] == [
            "friction", "entry sharp", "elbow 90", "tee run", "strainer", "throttle valve", "exit",
        ]  # fmt: skip
    # A new strainer has its clean factor; clogged, 0.8 of what rinsing frees is shut as well.
    factor = {case.strainer: case.losses[4].k_factor for case in found.cases}
    assert factor["new"] == 3.0 and factor["clogged"] == pytest.approx(3.0 / (0.8 * 0.2) ** 2)
    assert found.best == found.cases[2] and found.worst == found.cases[1]


def test_each_loss_against_fluids() -> None:
    for case in row(STRAINED).cases:
        nu = kinematic_viscosity_m2_per_s(case.temp_degc)
        reynolds = fluids.Reynolds(V=case.speed_m_per_s, D=0.021, nu=nu)
        assert case.reynolds == pytest.approx(reynolds)
        f = fluids.friction.Churchill_1977(reynolds, 1.5e-6 / 0.021)
        k = fluids.K_from_f(fd=f, L=12.0, D=0.021)
        friction, entry, elbow, *_ = case.losses
        assert friction.head_m == pytest.approx(fluids.head_from_K(K=k, V=case.speed_m_per_s))
        for loss, name in ((entry, "entry sharp"), (elbow, "elbow 90")):
            other = fluids.head_from_K(K=fitting_k(name), V=case.speed_m_per_s)
            assert loss.head_m == pytest.approx(other)
        assert case.losses[5].k_factor == pytest.approx(fluids.Kv_to_K(2.0, 0.021), rel=2e-3)


def test_one_pipe_carries_what_the_pipe_formula_says() -> None:
    (case, _) = row(SIZED).cases
    flow = flow_m3_per_s(
        3.9, diameter_m=0.021, length_m=12.0, roughness_m=1.5e-6, k_sum=1.5, temp_degc=4.0
    )
    assert case.flow_m3_per_s == pytest.approx(flow, rel=1e-9)


def test_two_pipes_in_series_share_the_head_and_the_flow() -> None:
    plan = plan_of(
        UPPER,
        '[disinfection.uv]\nmethod = "uv"\ninlet = "4 m"\noutlet = "4 m"\n',
        '[tap.k]\nheight = "1 m"\n',
        use("u", "k", "1 L/day"),
        pipe("p", "a", "uv", SIZED),
        pipe("q", "uv", "k", 'size = "27 mm"\nlength = "5 m"\n'),
    )
    first, second = assess_pipes(plan).rows
    for one, two in zip(first.cases, second.cases, strict=True):
        assert one.flow_m3_per_s == two.flow_m3_per_s
        lost = math.fsum(loss.head_m for case in (one, two) for loss in case.losses)
        assert lost == pytest.approx(5.8)
    tap = second.cases[0].losses[-2]
    assert tap.what == "tap"
    assert tap.k_factor == pytest.approx(loss_factor_of_kv(1.5, diameter_m=0.027))
    assert second.surge_m is not None and first.surge_m is None


def test_slow_water_is_laminar() -> None:
    found = row(SIZED + 'valve = { kind = "throttle", kv = "20 L/h" }\n')
    assert {case.regime for case in found.cases} == {"laminar"}
    assert {case.regime for case in row(SIZED).cases} == {"turbulent"}


def test_a_tank_falls_in_the_time_of_the_closed_form() -> None:
    # A line of fittings alone is an orifice: t = 2 A (sqrt(h1) - sqrt(h0)) / (a sqrt(2 g / K)).
    short = 'size = "30 mm"\nlength = "1 mm"\nroughness = "0 mm"\nfittings = ["globe valve"]\n'
    low = LOWER.replace('inlet = "2.9 m"', 'inlet = "5 m"')
    plan = plan_of(UPPER, low, USE, pipe("p", "a", "b", short))
    (found,) = assess_pipes(plan).rows
    factor = math.pi * 0.03**2 / 4.0 * math.sqrt(2.0 * GRAVITY_M_PER_S2 / 11.5)
    exact = 2.0 * 1.0 * (math.sqrt(1.8) - math.sqrt(0.1)) / factor
    assert found.falls_s == pytest.approx(exact, rel=3e-3)


def test_a_straight_pipe_traps_nothing_and_says_that_its_run_is_not_known() -> None:
    assert codes_of(SIZED) == [("PIP-102", "note")]
    found = row(SIZED)
    assert (found.highs, found.lows) == ((), ()) and not found.has_profile
    assert found.drains_s is not None and math.isfinite(found.drains_s)


def test_a_dip_holds_water_and_its_crest_holds_air() -> None:
    found = assessed(SIZED + DIPPED + 'valve = { kind = "throttle", kv = "0.2 m3/h" }\n')
    (dipped,) = found.rows
    # From the crest at 4.5 m back to where the pipe falls through 4.5 m.
    held_m = 3.0 + 3.0 * 0.5 / 1.1
    assert dipped.holds_m3 == pytest.approx(held_m * math.pi * 0.021**2 / 4.0)
    assert dipped.drains_s == math.inf
    assert [(f.code, f.severity) for f in found.findings] == [
        ("PIP-105", "caution"), ("PIP-106", "note"),
    ]  # fmt: skip
    assert "6.00 m along" in found.findings[0].got
    fast = row(SIZED + DIPPED)
    assert fast.best.speed_m_per_s > fast.highs[0].sweep_m_per_s


def test_air_locks_a_line_whose_falls_outweigh_its_head() -> None:
    low = LOWER.replace('inlet = "2.9 m"', 'inlet = "5.3 m"')
    up_and_down = (
        'profile = [["0 m", "5.1 m"], ["2 m", "3.5 m"], ["4 m", "5.2 m"], ["7 m", "3.4 m"], '
        '["12 m", "5.3 m"]]\n'
    )
    found = assessed(SIZED + up_and_down, lower=low)
    (one,) = found.rows
    assert one.air_lock_m == pytest.approx(1.8) and one.head_m == pytest.approx(1.5)
    (lock,) = [f for f in found.findings if f.code == "PIP-104"]
    assert lock.severity == "stop"
    assert row(SIZED + HUMPED).air_lock_m == pytest.approx(1.8)
    assert "PIP-104" not in [code for code, _ in codes_of(SIZED + HUMPED)]


def test_a_profile_from_another_datum() -> None:
    off = DIPPED.replace("5.1", "5.4")
    (found,) = [f for f in assessed(SIZED + off).findings if f.code == "PIP-103"]
    assert "5.400 m against 5.100 m" in found.got and "a.outlet" in found.got
    assert "PIP-103" not in [code for code, _ in codes_of(SIZED + DIPPED)]


def test_a_line_over_its_grade_line_sucks() -> None:
    # Level until it drops: all of the friction lies before the drop, and the drop pulls.
    drops = 'profile = [["0 m", "5.1 m"], ["9.6 m", "5.0 m"], ["12 m", "2.9 m"]]\n'
    (found,) = [f for f in assessed(SIZED + drops).findings if f.code == "PIP-107"]
    assert found.severity == "caution"
    throttled = SIZED + drops + 'valve = { kind = "throttle", kv = "0.2 m3/h" }\n'
    assert "PIP-107" not in [code for code, _ in codes_of(throttled)]
    deep = LOWER.replace('"1 m"', '"-8 m"').replace("2.9", "-6.1").replace("2.7", "-6.3")
    far = 'size = "21 mm"\nlength = "60 m"\n' + (
        'profile = [["0 m", "5.1 m"], ["48 m", "5.0 m"], ["60 m", "-6.1 m"]]\n'
    )
    (parts,) = [f for f in assessed(far, lower=deep).findings if f.code == "PIP-107"]
    assert parts.severity == "stop"


@pytest.mark.parametrize(
    ("more", "lacks"),
    [
        ('length = "12 m"', "p: p.size"),
        (SIZED + 'valve = { kind = "stop", open = 0 }', "p: p is shut"),
    ],
)
def test_what_is_missing_is_said(more: str, lacks: str) -> None:
    found = assessed(more)
    assert found.rows == () and found.findings[0].code == "PIP-101"
    assert found.findings[0].got == lacks and found.not_computed[0].where == "pipe.p"
    bare = LOWER.replace('inlet = "2.9 m"\n', "")
    assert "p: b.inlet" in assessed(SIZED, lower=bare).findings[0].got


def test_a_pipe_that_climbs_over_the_store_carries_nothing() -> None:
    low = LOWER.replace('inlet = "2.9 m"', 'inlet = "7 m"')
    (found,) = assessed(SIZED, lower=low).rows
    assert found.best.flow_m3_per_s == 0.0 and found.best.regime == "laminar"
    assert found.fills_s == found.falls_s == math.inf
    hump = 'profile = [["0 m", "5.1 m"], ["5 m", "7 m"], ["12 m", "2.9 m"]]\n'
    over = assessed(SIZED + hump)
    assert over.rows[0].best.flow_m3_per_s == 0.0 and over.rows[0].suction_m == 0.0
    graph = assemble(plan_of(UPPER, LOWER, USE, pipe("p", "a", "b", SIZED + hump))).findings
    (told,) = [f for f in graph if f.code == "NET-108"]
    assert told.where == "pipe.p.profile"


def test_the_codes_are_described() -> None:
    assert {f"PIP-10{n}" for n in range(1, 8)} <= set(codes())
