"""Ways of raw water to a drinking tap: on graphs small enough to see the answer."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from network.build import dry, plan_of
from roofspring.network.simulate import simulate
from roofspring.safety import path_findings, raw_paths

PARTS = """
[roof.r]
area = "50 m2"
material = "metal"
[screen.leaf]
[first-flush.flush]
[tank.raw]
volume = "1 m3"
height = "1 m"
[filter.sand]
area = "0.2 m2"
[tank.clean]
volume = "1 m3"
height = "1 m"
[swale.ditch]
[tap.sink]
drinking = true
[tap.hose]
"""
SOUND = {
    "a": ("r", "leaf"),
    "b": ("leaf", "flush"),
    "c": ("flush", "raw"),
    "d": ("raw", "sand"),
    "e": ("sand", "clean"),
    "f": ("clean", "sink"),
    "g": ("raw.overflow", "ditch"),
}


def text_of(pipes: dict[str, tuple[str, str]], parts: str = PARTS) -> str:
    lines = (f'[pipe.{k}]\nfrom = "{a}"\nto = "{b}"' for k, (a, b) in pipes.items())
    return "\n".join((parts, *lines))


def test_a_sound_train_has_no_raw_way() -> None:
    assert raw_paths(plan_of(text_of(SOUND))) == ()
    assert list(path_findings(plan_of(text_of(SOUND)))) == []


@pytest.mark.parametrize(
    ("outlet", "wrong"),
    [("raw.overflow", "x"), ("leaf.reject", "x"), ("flush.drain", "x"), ("sand.overflow", "x")],
)
def test_every_side_door_into_the_clean_tank_is_seen(outlet: str, wrong: str) -> None:
    pipes = {k: v for k, v in SOUND.items() if v[0] != outlet} | {"x": (outlet, "clean")}
    plan = plan_of(text_of(pipes))
    found = raw_paths(plan)
    assert [p.wrong for p in found] == [wrong]
    assert found[0].parts[0] == "r" and found[0].parts[-1] == "sink"


def test_one_wrong_pipe_to_two_taps_is_one_finding() -> None:
    parts = PARTS.replace("[tap.hose]", "[tap.hose]\ndrinking = true")
    pipes = SOUND | {"x": ("raw.overflow", "clean"), "y": ("clean", "hose")}
    del pipes["g"]
    (found,) = path_findings(plan_of(text_of(pipes, parts)))
    assert found.code == "SAF-101" and found.got.endswith("hose, and to sink")


def test_every_wrong_pipe_is_told_at_once() -> None:
    pipes = SOUND | {"g": ("raw.overflow", "clean"), "x": ("sand.overflow", "clean"),
                     "y": ("leaf.reject", "clean")}  # fmt: skip
    plan = plan_of(text_of(pipes))
    assert sorted(f.where for f in path_findings(plan)) == ["pipe.g", "pipe.x", "pipe.y"]
    for path in raw_paths(plan):
        assert path.parts[0] == "r" and path.parts[-1] == "sink" and path.wrong in path.pipes
        assert len(path.parts) == len(path.pipes) + 1


def test_a_cleaning_drain_stands_shut() -> None:
    assert raw_paths(plan_of(text_of(SOUND | {"x": ("raw.drain", "clean")}))) == ()


def test_a_tap_that_nobody_drinks_from_does_not_matter() -> None:
    assert raw_paths(plan_of(text_of(SOUND | {"x": ("raw", "hose")}))) == ()


def test_a_drinking_tap_on_the_raw_tank() -> None:
    pipes = SOUND | {"f": ("raw", "sink")}
    (found,) = raw_paths(plan_of(text_of(pipes)))
    assert found.wrong == "f"


def test_no_barrier_at_all_is_its_own_finding() -> None:
    pipes = {"a": ("r", "raw"), "f": ("raw", "sink")}
    (found,) = path_findings(plan_of(text_of(pipes)))
    assert (found.code, found.severity, found.where) == ("SAF-102", "stop", "sink")


def test_a_disinfection_step_counts_as_a_barrier() -> None:
    pipes = {"a": ("r", "raw"), "b": ("raw", "lamp"), "f": ("lamp", "sink")}
    parts = PARTS + '[disinfection.lamp]\nmethod = "uv"\n'
    assert raw_paths(plan_of(text_of(pipes, parts))) == ()


def test_the_run_says_how_much_went_that_way() -> None:
    pipes = SOUND | {"g": ("raw.overflow", "clean")}
    plan = plan_of(text_of(pipes))
    (found,) = path_findings(plan, simulate(plan, dry(30)))
    assert "no water took this way in the run, but nothing stops it" in found.got


def test_a_doubtful_roof_is_named_only_where_people_drink() -> None:
    shingle = text_of(SOUND, PARTS.replace('"metal"', '"asphalt-shingle"'))
    assert [f.code for f in path_findings(plan_of(shingle))] == ["SAF-103"]
    assert list(path_findings(plan_of(shingle.replace("drinking = true\n", "")))) == []


@settings(max_examples=100, deadline=None)
@given(st.sets(st.sampled_from(sorted(SOUND))))
def test_taking_pipes_away_never_opens_a_raw_way(gone: set[str]) -> None:
    pipes = {k: v for k, v in SOUND.items() if k not in gone}
    assert raw_paths(plan_of(text_of(pipes))) == ()
