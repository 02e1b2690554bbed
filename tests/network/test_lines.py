"""What the heights at the ends of a pipe say: datums, high points, hammer, backflow."""

from __future__ import annotations

import pytest

from network.build import pipe, plan_of, use
from roofspring.errors import Finding
from roofspring.network.assemble import assemble

UPPER = (
    '[tank.a]\nvolume = "2 m3"\nheight = "2 m"\nbase = "5 m"\noutlet = "5.1 m"\n'
    'overflow = "6.8 m"\n'
)
LOWER = (
    '[tank.b]\nvolume = "2 m3"\nheight = "2 m"\nbase = "1 m"\ninlet = "2.9 m"\noverflow = "2.7 m"\n'
)
USE = '[use.u]\nfrom = ["b"]\nper-day = "1 L/day"\n'


def lines(pipe_more: str, *, lower: str = LOWER, to: str = "b") -> list[Finding]:
    plan = plan_of(UPPER, lower, USE, pipe("p", "a", to, pipe_more))
    return [f for f in assemble(plan).findings if f.code > "NET-106"]


def test_a_good_line_says_nothing() -> None:
    assert lines('length = "8 m"') == []


def test_a_pipe_cannot_be_shorter_than_its_fall() -> None:
    (found,) = lines('length = "2 m"')
    assert found.code == "NET-107" and "2.20 m" in found.got and "datum" in found.what
    # Heights from two datums: the lower tank given above the sea.
    sea = LOWER.replace('"1 m"', '"61 m"').replace("2.9", "62.9").replace("2.7", "62.7")
    assert [f.code for f in lines('length = "8 m"', lower=sea)] == ["NET-107"]
    assert lines("") == []  # nobody gave the length


@pytest.mark.parametrize(
    ("high_m", "code", "severity"),
    [("4 m", "", ""), ("5.5 m", "NET-109", "caution"), ("6.8 m", "NET-108", "stop"),
     ("9 m", "NET-108", "stop")],
)  # fmt: skip
def test_a_high_point(high_m: str, code: str, severity: str) -> None:
    found = lines(f'length = "12 m"\nhigh-point = "{high_m}"')
    assert [(f.code, f.severity) for f in found] == ([(code, severity)] if code else [])
    if code == "NET-109":
        assert "siphon" in found[0].what


def test_hammer_is_told_once_with_the_worst_line() -> None:
    plan = plan_of(
        UPPER,
        '[tap.k]\nheight = "-12 m"\n[tap.l]\nheight = "4 m"\n',
        use("u", "k l", "1 L/day"),
        pipe("p", "a", "k", 'size = "20 mm"\nlength = "20 m"'),
        pipe("q", "a", "l", 'size = "20 mm"\nlength = "300 m"'),
    )
    (found,) = [f for f in assemble(plan).findings if f.code == "NET-110"]
    assert found.where == "pipe.p" and found.severity == "note"


def hammered(more: str) -> Finding | None:
    plan = plan_of(
        UPPER,
        '[tap.k]\nheight = "-12 m"\n',
        use("u", "k", "1 L/day"),
        pipe("p", "a", "k", f'size = "20 mm"\nlength = "20 m"\n{more}'),
    )
    found = [f for f in assemble(plan).findings if f.code == "NET-110"]
    return found[0] if found else None


def test_hammer_is_held_against_what_the_pipe_is_made_for() -> None:
    usual, copper = hammered(""), hammered('wall = "copper"')
    assert usual is not None and copper is not None and "60 m" in usual.limit

    def head(found: Finding) -> float:
        return float(found.got.split()[2].replace(",", ""))

    # The surge goes with the speed of the wave: 1250 against 400 m/s; 18.8 m stand there anyway.
    assert (head(copper) - 18.8) / (head(usual) - 18.8) == pytest.approx(1250 / 400, rel=0.02)
    weak = hammered('rated = "25 m"')
    assert weak is not None and weak.severity == "caution" and "25 m" in weak.limit
    assert hammered('rated = "160 m"') is None
    assert "seconds or more" in usual.next


def test_an_inlet_under_water_draws_back() -> None:
    low = LOWER.replace('inlet = "2.9 m"', 'inlet = "1.2 m"')
    (found,) = lines('length = "8 m"', lower=low)
    assert found.code == "NET-111" and "1,500 mm" in found.got
    assert lines('length = "8 m"\nvalve = { kind = "check" }', lower=low) == []
