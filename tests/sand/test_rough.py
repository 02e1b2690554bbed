"""Sand without sieves, and sand against what is published."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from roofspring.errors import RangeError, SieveError
from roofspring.sandfilter.sieve import (
    GradingCurve,
    criteria,
    criterion,
    jar_findings,
    jar_test,
    mesh_opening_m,
    meshes,
    parse_mesh,
    rough_effective_size,
    rough_findings,
    sand_findings,
    verdicts,
)
from sand.sands import curves, lognormal

TEN = criteria()["ten-states"]


@given(curve=curves())
@settings(deadline=None)
def test_the_interval_holds_the_size_that_sieves_would_find(curve: GradingCurve) -> None:
    d10_m = curve.size(0.10).size_m
    if d10_m is None:
        return
    shares = []
    for mesh in meshes().values():
        # Any opening the mesh may have, and the share that such a mesh would truly pass.
        least, most = curve.passing(0.5 * (mesh.low_m + mesh.high_m))
        if least == most:
            shares.append(parse_mesh(f"{mesh.name}={100 * least:.4f} %"))
    if shares:
        rough = rough_effective_size(shares)
        assert rough.low_m is None or rough.low_m <= d10_m * (1 + 1e-9)
        assert rough.high_m is None or rough.high_m >= d10_m * (1 - 1e-9)


def test_words_of_an_interval() -> None:
    fly, paint = parse_mesh("fly-screen=98 %"), parse_mesh("paint-strainer-190=3 %")
    assert rough_effective_size([fly, paint]).text == "between 0.170 mm and 1.60 mm"
    assert rough_effective_size([fly]).text == "finer than 1.60 mm"
    assert rough_effective_size([paint]).text == "coarser than 0.170 mm"
    middle = parse_mesh("tea-strainer=9 %")  # too near to a tenth to say anything
    assert rough_effective_size([middle]).text == "not bounded by these meshes"


@pytest.mark.parametrize(
    ("texts", "code"),
    [
        (("fly-screen=2 %",), "SIV-111"),
        (("paint-strainer-125=40 %",), "SIV-110"),
        (("fly-screen=90 %", "paint-strainer-125=3 %"), "SIV-141"),
    ],
)
def test_meshes_against_the_limits(texts: tuple[str, ...], code: str) -> None:
    rough = rough_effective_size([parse_mesh(t) for t in texts])
    assert [f.code for f in rough_findings(rough, chosen=TEN)] == [code]


@pytest.mark.parametrize(
    "text",
    ["sock=10 %", "fly-screen", "fly-screen=2", "fly-screen=120 %", "2 to 1 mm=10 %",
     "0 to 1 mm=10 %", "1 to 2 kg=10 %", "fly-screen=x %"],
)  # fmt: skip
def test_what_is_no_mesh_is_refused(text: str) -> None:
    with pytest.raises(SieveError, match="SIV-022"):
        parse_mesh(text)


def test_a_finer_mesh_cannot_pass_more() -> None:
    with pytest.raises(SieveError, match="SIV-022"):
        rough_effective_size([parse_mesh("fly-screen=30 %"), parse_mesh("tea-strainer=60 %")])


def test_the_opening_of_a_mesh_is_what_the_threads_leave() -> None:
    # By hand: 16 threads to the inch are 1.5875 mm apart; less 0.28 mm of thread.
    assert mesh_opening_m(16 / 0.0254, thread_m=0.28e-3) == pytest.approx(1.3075e-3)
    with pytest.raises(SieveError, match="SIV-022"):
        mesh_opening_m(1000.0, thread_m=1e-3)


@given(sand_m=st.floats(0.01, 1.0), silt_m=st.floats(0.0, 0.5))
@settings(deadline=None)
def test_a_jar_bounds_the_mass_of_silt(sand_m: float, silt_m: float) -> None:
    test = jar_test(sand_m, silt_m=silt_m)
    assert 0.0 <= test.low_frac <= test.high_frac <= test.height_frac + 1e-12
    again = jar_test(2 * sand_m, silt_m=2 * silt_m)
    assert again.low_frac == pytest.approx(test.low_frac)


def test_a_jar_against_a_limit() -> None:
    found = [
        [f.severity for f in jar_findings(jar_test(0.1, silt_m=s), limit_frac=0.005, source="x")]
        for s in (0.0, 0.001, 0.01)
    ]
    assert found == [[], ["note"], ["caution"]]
    with pytest.raises(RangeError, match="DOM-002"):
        jar_test(0.0, silt_m=0.01)


@pytest.mark.parametrize(
    ("d10_mm", "uniformity", "chosen", "codes"),
    [
        (0.25, 2.0, "ten-states", {"SIV-111": "note"}),  # household filters ask for finer
        (0.60, 2.0, "ten-states", {"SIV-111": "stop"}),
        (0.05, 2.0, "ten-states", {"SIV-110": "stop", "SIV-113": "caution"}),
        (0.33, 2.0, "ten-states", {"SIV-111": "caution"}),
        (0.33, 2.0, "huisman-wood-1974", {"SIV-111": "note"}),
        (0.28, 4.0, "visscher-1990", {"SIV-111": "note", "SIV-112": "note"}),
        (0.28, 4.0, "ten-states", {"SIV-111": "note", "SIV-112": "caution"}),
    ],
)  # fmt: skip
def test_a_sand_against_what_is_published(
    d10_mm: float, uniformity: float, chosen: str, codes: dict[str, str]
) -> None:
    curve = lognormal(d10_mm / 1e3, uniformity)
    rows = verdicts(curve)
    found = sand_findings(curve, rows, chosen=criterion(chosen), use="as it is")
    assert {f.code: f.severity for f in found if f.code < "SIV-120" and f.code > "SIV-106"} == codes
    mendable = sand_findings(curve, rows, chosen=criterion(chosen), use="to be prepared")
    assert "stop" not in {f.severity for f in mendable}


def test_what_the_sieves_do_not_reach_is_said() -> None:
    curve = GradingCurve((0.3e-3, 0.6e-3), (0.3, 0.5))
    rows = verdicts(curve)
    found = {f.code: f for f in sand_findings(curve, rows, chosen=TEN, use="as it is")}
    assert found["SIV-103"].got == "d10 finer than 0.300 mm; d60 coarser than 0.600 mm"
    assert "SIV-105" in found
    assert {r.ok for r in rows if r.quantity == "uniformity"} == {None}
    with pytest.raises(SieveError, match="SIV-021"):
        criterion("nobody")
