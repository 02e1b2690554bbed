"""The height checks: a sound train passes, and each slip of one height is seen for what it is.

The rules are common practice or engineering choices, as each check says; the losses in them are the
pipe formulas that tests/reference holds against published numbers. What is tested here is that the
right heights are compared, that the height to change really mends the fault, and that water is
never said to run uphill.
"""

from __future__ import annotations

import math
import re
import tomllib
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from network.build import DEMO, plan_of
from roofspring.network.levels import LevelsAnswer, assess_levels
from roofspring.network.levels.lines import runs
from roofspring.plan.model import Plan

MENDED = (
    DEMO.read_text("utf-8")
    .replace('weir = "5.62 m"', 'weir = "5.65 m"')
    .replace("# no throttle", 'throttle = "0.12 m/h"')
)


def answer_of(text: str) -> LevelsAnswer:
    return assess_levels(Plan.model_validate(tomllib.loads(text)))


def changed(*pairs: tuple[str, str], text: str = MENDED) -> str:
    for old, new in pairs:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return text


def failing(answer: LevelsAnswer) -> set[tuple[str, str]]:
    return {(c.code, c.where) for c in answer.checks if c.ok is False}


def test_the_mended_demo_holds_everywhere() -> None:
    answer = answer_of(MENDED)
    assert len(answer.checks) > 30
    assert all(c.ok for c in answer.checks)
    assert answer.findings == ()
    assert answer.sentence.startswith(f"All {len(answer.checks)} level checks hold")


# One height moved, and the one check that must see it.
SLIPS = [
    (('eave = "8.75 m"', 'eave = "8.59 m"'), "LVL-001", "cabin.eave over cabin.outlet"),
    (
        ('outlet = "8.20 m"', 'outlet = "8.36 m"'),
        "LVL-002",
        "leaf-screen.inlet over leaf-screen.outlet",
    ),
    (('outlet = "8.60 m"', 'outlet = "8.40 m"'), "LVL-003", "cabin.outlet over leaf-screen.inlet"),
    (('outlet = "6.60 m"', 'outlet = "6.22 m"'), "LVL-004", "raw.outlet over sand-a.inlet"),
    (('inlet = "7.90 m"', 'inlet = "7.76 m"'), "LVL-005", "raw.inlet over raw.overflow"),
    (('height = "1.05 m"', 'height = "3.90 m"'), "LVL-012", "clean.outlet over kitchen.height"),
    (('height = "1.05 m"', 'height = "5.40 m"'), "LVL-017", "clean.overflow over kitchen.height"),
    (('rim = "-1.40 m"', 'rim = "3.70 m"'), "LVL-010", "cistern.overflow over lower-swale.rim"),
    (
        ('overflow = "3.80 m"', 'overflow = "1.85 m"'),
        "LVL-011",
        "cistern.overflow over cistern.outlet",
    ),
    (('inlet = "5.44 m"', 'inlet = "5.65 m"'), "LVL-009", "sand-a.weir over clean.inlet"),
]  # fmt: skip


@pytest.mark.parametrize(("slip", "code", "where"), SLIPS, ids=[s[1] + s[2][:6] for s in SLIPS])
def test_a_slip_is_seen(slip: tuple[str, str], code: str, where: str) -> None:
    assert (code, where) in failing(answer_of(changed(slip)))


SAND_A = MENDED[MENDED.index("[filter.sand-a]") : MENDED.index("[filter.sand-b]")]
FILTER_SLIPS = [
    ('inlet = "6.22 m"', 'inlet = "6.16 m"', "LVL-006"),
    ('weir = "5.65 m"', 'weir = "5.59 m"', "LVL-007"),
    ('overflow = "6.13 m"', 'overflow = "5.95 m"', "LVL-008"),
    ('base = "4.70 m"', 'base = "5.00 m"', "LVL-013"),
    ('rim = "6.40 m"', 'rim = "6.20 m"', "LVL-014"),
    ('weir = "5.65 m"', 'weir = "5.75 m"', "LVL-015"),
]


@pytest.mark.parametrize(("old", "new", "code"), FILTER_SLIPS)
def test_a_slip_at_the_filter_is_seen(old: str, new: str, code: str) -> None:
    answer = answer_of(MENDED.replace(SAND_A, changed((old, new), text=SAND_A)))
    assert code in {c for c, _ in failing(answer)}


def _height_text(name: str, text: str) -> tuple[int, int]:
    """Where the value of ``raw.overflow`` stands in the demo's text."""
    part, _, key = name.rpartition(".")
    start = re.search(rf"^\[[a-z-]+\.{re.escape(part)}\]$", text, re.M)
    assert start is not None, name
    value = re.compile(rf'^{re.escape(key)} = "([^"]*)"', re.M).search(text, start.end())
    assert value is not None, name
    return value.span(1)


@pytest.mark.parametrize(("slip", "code", "where"), SLIPS, ids=[s[1] + s[2][:6] for s in SLIPS])
def test_the_change_that_is_told_mends_the_check(
    slip: tuple[str, str], code: str, where: str
) -> None:
    text = changed(slip)
    check = next(c for c in answer_of(text).checks if (c.code, c.where) == (code, where))
    assert check.change_to_m is not None
    told = re.fullmatch(r"(raise|lower) (\S+) to (-?[\d.]+) (m)", check.change)
    assert told is not None
    verb, name, to, _ = told.groups()
    assert name == check.change_where
    i, j = _height_text(name, text)
    was = float(text[i:j].removesuffix(" m"))
    assert (float(to) > was) == (verb == "raise")
    after = answer_of(text[:i] + f"{to} m" + text[j:])
    assert (code, where) not in failing(after)


UPHILL = """
[roof.r]
area = "100 m2"
material = "metal"
[tank.a]
volume = "2 m3"
height = "1 m"
base = "1 m"
outlet = "1.1 m"
overflow = "1.9 m"
[tank.b]
volume = "2 m3"
height = "1 m"
base = "{base} m"
inlet = "{inlet} m"
[disinfection.lamp]
method = "uv"
inlet = "{lamp} m"
[pipe.p]
from = "r"
to = "a"
[pipe.q]
from = "a.outlet"
to = "lamp"
[pipe.s]
from = "lamp"
to = "b"
"""


@pytest.mark.parametrize(
    ("inlet", "lamp", "where"),
    [
        (0.9, 1.0, None),
        (2.5, 1.0, "a.overflow over b.inlet"),
        (0.9, 2.5, "a.overflow over lamp.inlet"),
    ],
)
def test_water_is_not_led_uphill_whatever_it_passes(
    inlet: float, lamp: float, where: str | None
) -> None:
    answer = assess_levels(plan_of(UPHILL.format(base=inlet - 0.95, inlet=inlet, lamp=lamp)))
    seen = {w for code, w in failing(answer) if code == "LVL-017"}
    assert seen == ({where} if where else set())
    assert ("stop" in {f.severity for f in answer.findings if f.code == "LVL-017"}) == bool(where)


@settings(max_examples=60, deadline=None)
@given(inlet=st.floats(-3.0, 4.0), lamp=st.floats(-3.0, 4.0))
def test_what_is_said_to_hold_can_flow(inlet: float, lamp: float) -> None:
    """Hydrostatics: from a full tank at 1.9 m, nothing reaches what stands higher."""
    answer = assess_levels(plan_of(UPHILL.format(base=inlet - 0.95, inlet=inlet, lamp=lamp)))
    if not failing(answer):
        assert max(inlet, lamp) <= 1.9


def test_a_tap_behind_a_lamp_is_checked_from_its_tank() -> None:
    text = UPHILL.format(base=-0.05, inlet=0.9, lamp=1.0)
    text += '[tap.sink]\nheight = "2.4 m"\n[pipe.t]\nfrom = "lamp"\nto = "sink"\n'
    seen = failing(assess_levels(plan_of(text)))
    assert {
        ("LVL-012", "a.outlet over sink.height"),
        ("LVL-017", "a.overflow over sink.height"),
    } <= seen


@pytest.mark.parametrize(
    "shut", ['valve = { kind = "stop", open = 0 }', 'strainer = { blocked = "100 %" }']
)
def test_a_line_that_is_shut_is_said_to_be_shut(shut: str) -> None:
    feed = 'from = "raw.outlet"\nto = "sand-a.inlet"\nsize = "21 mm"\nlength = "4 m"\n'
    i = MENDED.index(feed)
    j = MENDED.index("\n\n", i)
    answer = answer_of(MENDED[:i] + feed + shut + MENDED[j:])
    found = [f for f in answer.findings if f.code == "LVL-018"]
    assert [f.where for f in found] == ["pipe.feed-a"]
    assert all(math.isfinite(c.need_m) for c in answer.checks)


def test_a_missing_height_is_a_note_not_a_pass() -> None:
    answer = answer_of(changed(('overflow = "7.75 m"\n', "")))
    assert all(c.ok is not False for c in answer.checks)
    answer = answer_of(MENDED.replace('sand-top = "5.60 m"\n', ""))
    open_ = [c for c in answer.checks if c.ok is None]
    assert {c.missing[0] for c in open_} == {"sand-a.sand-top", "sand-b.sand-top"}
    assert {f.code for f in answer.findings} == {"LVL-020"}
    assert "could not be made" in answer.sentence


def test_a_plan_without_heights_says_so() -> None:
    answer = assess_levels(plan_of('[roof.r]\narea = "9 m2"\nmaterial = "metal"\n'))
    assert answer.checks == ()
    assert answer.sentence == "The plan gives too few heights to say whether water will flow."


def test_the_throttle_that_is_told_passes_the_design_rate() -> None:
    """Torricelli: Q = Cd A sqrt(2 g h), Cd 0.61 for a sharp edge; g of CGPM_1901, 9.80665."""
    answer = answer_of(changed(("# no throttle", "# none"), text=DEMO.read_text("utf-8")))
    (found,) = [f for f in answer.findings if f.code == "LVL-016"]
    words = re.search(r"hole of ([\d.]+) mm passes ([\d.]+) m/h at ([\d.]+) m of", found.next)
    assert words is not None
    hole_mm, rate_m_per_h, head_m = map(float, words.groups())
    flow = 0.61 * math.pi / 4.0 * (hole_mm / 1000.0) ** 2 * math.sqrt(2.0 * 9.80665 * head_m)
    # The hole is told to a tenth of a millimetre: 2 % of the bore, 4 % of the flow.
    assert flow * 3600.0 / 0.25 == pytest.approx(rate_m_per_h, rel=0.05)


def test_us_units_are_said_throughout() -> None:
    text = DEMO.read_text("utf-8").replace('show = "metric"', 'show = "us"')
    answer = answer_of(text)
    (weir,) = [f for f in answer.findings if f.code == "LVL-007"]
    assert weir.got.endswith(" in") and " ft; tried: " in weir.next


def test_json_has_the_stable_keys() -> None:
    rows: list[dict[str, Any]] = answer_of(MENDED).to_dict()["checks"]
    for row in rows:
        assert row.keys() >= {"code", "where", "state", "have_m", "need_m", "margin_m", "ok"}
        assert row["margin_m"] == pytest.approx(row["have_m"] - row["need_m"])


def test_ways_of_a_plan_in_a_circle_end() -> None:
    """A hand-built graph may run in a circle; every way is still listed, and ends."""
    text = UPHILL.format(base=-0.05, inlet=0.9, lamp=1.0).replace(
        '[pipe.s]\nfrom = "lamp"\nto = "b"', '[pipe.s]\nfrom = "lamp"\nto = "turn"'
    )
    text += (
        "[diverter.turn]\n"
        '[pipe.back]\nfrom = "turn.main"\nto = "lamp"\n[pipe.on]\nfrom = "turn.side"\nto = "b"\n'
    )
    plan = plan_of(text)
    assert [[c.pipe_id for c in way] for way in runs(plan)] == [["q", "s", "on"]]
    found = [f for f in assess_levels(plan).findings if f.code == "LVL-022"]
    assert [f.where for f in found] == ["lamp, turn"]
    assert assess_levels(plan).states == ()
