"""Every kind of way to a drinking tap, on graphs small enough to see the answer."""

from __future__ import annotations

from dataclasses import replace
from typing import cast

import networkx as nx
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from network.build import dry, plan_of
from roofspring.network.simulate import simulate
from roofspring.plan.model import Plan
from roofspring.safety.paths import all_routes, graph_findings, series_log10, ways
from roofspring.safety.paths.graph import ALWAYS, BACK, OPENED, STORM, TURNED, Way
from roofspring.safety.tap_water import filter_means
from roofspring.sandfilter.removal import GROUPS, range_law
from safety.test_paths import PARTS, SOUND, text_of

TIGHT = PARTS.replace('height = "1 m"', 'height = "1 m"\nmesh = "1 mm"')
LAMP = '[disinfection.lamp]\nmethod = "uv"\n'
DOSE = '[disinfection.dose]\nmethod = "chlorine"\n'


def plan_with(more: str = "", pipes: dict[str, tuple[str, str]] | None = None) -> Plan:
    return plan_of(text_of({**SOUND, **(pipes or {})}, TIGHT + more))


def codes(plan: Plan) -> list[str]:
    return sorted(f.code for f in graph_findings(plan, all_routes(plan)))


def test_one_train_is_one_route() -> None:
    (route,) = all_routes(plan_with())
    assert route.parts == ("r", "leaf", "flush", "raw", "sand", "clean", "sink")
    assert route.barriers == ("sand",) and route.when == ALWAYS and not route.is_bypass
    # A household filter of unknown age, published ends: new sand to ripe (WHO_GDWQ_2011).
    assert route.log10["viruses"] == (0.0, 2.0)
    assert set(route.to_dict()) >= {"from", "to", "parts", "barriers", "log10", "bypass"}


def test_the_weakest_comes_first_and_is_a_bypass() -> None:
    first, second = all_routes(plan_with(pipes={"g": ("raw.overflow", "clean")}))
    assert (first.when, first.barriers, first.is_bypass) == (STORM, (), True)
    assert second.barriers == ("sand",) and not second.is_bypass


def test_a_lamp_after_the_filter_adds_and_one_beside_it_does_not() -> None:
    """Worst path, published worked example: 3 and 3.5 log in a row are 6.5, past the sand 3.5."""
    pipes = {"f": ("clean", "lamp"), "h": ("lamp", "sink")}
    ranges = {"sand": dict.fromkeys(("bacteria", "viruses", "protozoa"), (3.0, 3.0))}
    (route,) = all_routes(plan_with(LAMP, pipes), filter_log10=ranges)
    assert route.log10["protozoa"][0] == pytest.approx(3.0 + 2.5)  # HIJNEN_2006, low end
    assert series_log10(
        [dict.fromkeys(route.log10, (3.0, 3.0)), dict.fromkeys(route.log10, (3.5, 3.5))]
    )["bacteria"] == (6.5, 6.5)
    worst, *_ = all_routes(plan_with(LAMP, {**pipes, "g": ("raw.overflow", "clean")}),
                           filter_log10=ranges)  # fmt: skip
    assert worst.barriers == ("lamp",) and worst.is_bypass
    assert "SAF-108" in codes(plan_with(LAMP, {**pipes, "g": ("raw.overflow", "clean")}))


def test_two_filters_in_a_row_count_once_and_beside_each_other_are_both_told() -> None:
    second = '[filter.two]\narea = "0.2 m2"\n'
    (row,) = all_routes(plan_with(second, {"e": ("sand", "two"), "h": ("two", "clean")}))
    assert row.barriers == ("sand", "two") and row.log10["bacteria"][1] == 3.0
    both = all_routes(plan_with(second, {"h": ("raw", "two"), "i": ("two", "clean")}))
    assert {r.barriers for r in both} == {("sand",), ("two",)}


def test_a_diverter_in_its_other_position() -> None:
    turn = "[diverter.turn]\n"
    pipes = {"d": ("raw", "turn"), "h": ("turn.main", "sand"), "i": ("turn.side", "clean")}
    plan = plan_with(turn, pipes)
    assert [r.when for r in all_routes(plan)] == [TURNED, ALWAYS]
    assert "SAF-104" in codes(plan)
    by_month = plan_with("[diverter.turn]\nside-months = [1, 2]\n", pipes)
    assert [r.when for r in all_routes(by_month)] == [ALWAYS, ALWAYS]
    assert "SAF-104" not in codes(by_month)


def test_a_drain_that_ends_in_the_clean_tank() -> None:
    plan = plan_with(pipes={"x": ("raw.drain", "clean")})
    found = [f for f in graph_findings(plan, all_routes(plan)) if f.code == "SAF-105"]
    assert [f.severity for f in found] == ["stop"]
    assert {r.when for r in all_routes(plan)} == {ALWAYS, OPENED}


def test_a_hose_needs_a_guard() -> None:
    plan = plan_with(pipes={"x": ("clean", "hose")})
    assert BACK in {r.when for r in all_routes(plan)}
    assert "SAF-106" in codes(plan)
    guarded = plan_of(
        text_of(
            {**SOUND, "x": ("clean", "hose")},
            TIGHT.replace("[tap.hose]", "[tap.hose]\nguard = true"),
        )
    )
    assert "SAF-106" not in codes(guarded)


def test_ground_water_comes_back_where_the_swale_stands_higher() -> None:
    text = text_of(
        {**SOUND, "x": ("clean.overflow", "ditch")},
        TIGHT.replace("[tank.clean]", '[tank.clean]\nbase = "0 m"\noverflow = "0.9 m"'),
    )
    low, high = (text.replace("[swale.ditch]", f'[swale.ditch]\nrim = "{z} m"') for z in (0.5, 1.2))
    assert "SAF-107" not in codes(plan_of(low))
    assert "SAF-107" in codes(plan_of(high))
    assert all_routes(plan_of(high))[0].start == "ditch"


def test_chlorine_before_the_sand() -> None:
    pipes = {"d": ("raw", "dose"), "h": ("dose", "sand")}
    assert "SAF-110" in codes(plan_with(DOSE, pipes))
    after = {"f": ("clean", "dose"), "h": ("dose", "sink")}
    assert "SAF-110" not in codes(plan_with(DOSE, after))
    # Behind the last barrier stands no store, and two kinds of barrier stand in a row.
    assert not {"SAF-109", "SAF-115"} & set(codes(plan_with(DOSE, after)))


def test_a_lamp_in_raw_water() -> None:
    pipes = {"d": ("raw", "lamp"), "h": ("lamp", "clean")}
    assert "SAF-111" in codes(plan_with(LAMP, pipes))


@pytest.mark.parametrize(
    ("old", "new", "code"),
    [
        ('mesh = "1 mm"', "", "SAF-155"),
        ('mesh = "1 mm"', 'mesh = "1.6 mm"', "SAF-112"),
        ('mesh = "1 mm"', 'mesh = "1 mm"\nopaque = false', "SAF-113"),
        ('mesh = "1 mm"', 'mesh = "1 mm"\nreused = true', "SAF-114"),
    ],
)
def test_openings_light_and_used_containers(old: str, new: str, code: str) -> None:
    assert code in codes(plan_of(text_of(SOUND, TIGHT.replace(old, new))))
    assert code == "SAF-155" or code not in codes(plan_with())


def test_a_store_behind_the_filter_and_a_missing_sample_tap_are_told() -> None:
    told = {"SAF-109", "SAF-115", "SAF-116"}
    no_taps = TIGHT.replace('mesh = "1 mm"', 'mesh = "1 mm"\nsample-tap = false')
    assert told <= set(codes(plan_of(text_of(SOUND, no_taps))))
    sampled = plan_of(text_of(SOUND | {"x": ("raw", "hose")}, no_taps))
    assert "SAF-116" not in codes(sampled)


def test_nothing_is_said_where_nobody_drinks() -> None:
    text = text_of(SOUND, PARTS.replace("drinking = true\n", ""))
    plan = plan_of(text)
    assert all_routes(plan) == () and list(graph_findings(plan, ())) == []


def test_a_plan_of_many_parallel_parts_is_searched_quickly() -> None:
    """Forty stages of two ways each have a million million simple paths; the search has none."""
    parts = ['[roof.r]\narea = "9 m2"\nmaterial = "slate"\n[tap.sink]\ndrinking = true']
    pipes: dict[str, tuple[str, str]] = {}
    before = "r"
    for i in range(40):
        names = (f"a{i}", f"b{i}", f"c{i}")
        parts += [f'[tank.{name}]\nvolume = "1 m3"\nheight = "1 m"' for name in names]
        pipes |= {f"p{i}": (before, f"a{i}"), f"q{i}": (f"a{i}", f"b{i}"),
                  f"s{i}": (f"a{i}.overflow", f"c{i}"), f"t{i}": (f"b{i}", f"c{i}")}  # fmt: skip
        before = f"c{i}"
    pipes["end"] = (before, "sink")
    routes = all_routes(plan_of(text_of(pipes, "\n".join(parts))))
    assert 1 <= len(routes) <= 3


KINDS = {
    "tank": ('[tank.{}]\nvolume = "1 m3"\nheight = "1 m"', ("outlet", "overflow", "drain")),
    "filter": ('[filter.{}]\narea = "1 m2"', ("outlet", "overflow", "drain")),
    "diverter": ("[diverter.{}]", ("main", "side")),
    "lamp": ('[disinfection.{}]\nmethod = "uv"', ("outlet",)),
    "dose": ('[disinfection.{}]\nmethod = "chlorine"', ("outlet",)),
}


@st.composite
def small_plans(draw: st.DrawFn) -> Plan:
    """A roof, up to seven parts in the order of the flow, and a drinking tap, joined at random."""
    kinds = draw(st.lists(st.sampled_from(sorted(KINDS)), min_size=1, max_size=7))
    names = ["r", *(f"{kind}{i}" for i, kind in enumerate(kinds)), "sink"]
    parts = ['[roof.r]\narea = "9 m2"\nmaterial = "slate"\n[tap.sink]\ndrinking = true']
    parts += [KINDS[k][0].format(n) for k, n in zip(kinds, names[1:], strict=False)]
    pipes = {"p0": ("r", draw(st.sampled_from(names[1:])))}
    for i, kind in enumerate(kinds, start=1):
        for port in KINDS[kind][1]:
            if draw(st.integers(0, 3)):
                to = draw(st.sampled_from(names[i + 1 :]))
                pipes[f"p{i}-{port}"] = (f"{names[i]}.{port}", to)
    return plan_of(text_of(pipes, "\n".join(parts)))


@settings(max_examples=150, deadline=None)
@given(small_plans())
def test_it_finds_what_listing_every_path_finds(plan: Plan) -> None:
    """Against every simple path, one by one: the same sets of barriers and mishaps."""
    graph: nx.MultiDiGraph[object] = nx.MultiDiGraph()
    graph.add_nodes_from(p for p, _ in plan.parts())
    by_edge: dict[object, Way] = {}
    for way in ways(plan):
        key = graph.add_edge(way.from_part, way.to_part, way=way)
        by_edge[way.from_part, way.to_part, key] = way
    expected = set()
    for edges in nx.all_simple_edge_paths(graph, "r", "sink"):
        path = [by_edge[tuple(edge)] for edge in cast("list[tuple[object, ...]]", edges)]
        steps = frozenset(w.barrier for w in path) - {""}
        expected.add((steps, max(w.when for w in path)))
    # A mishap must be told where no way that is as open passes fewer barriers; others may be.
    must = {
        (steps, when)
        for steps, when in expected
        if when <= STORM
        or not any(s <= steps and w <= when and (s, w) != (steps, when) for s, w in expected)
    }
    found = all_routes(plan)
    assert must <= {(r.mechanisms, r.when) for r in found} <= expected
    passed = {b for r in found for b in r.barriers}
    reached = {
        f for f in plan.filters
        if any(w.from_part == f and w.barrier and nx.has_path(graph, w.to_part, "sink")
               for w in ways(plan))
        and nx.has_path(graph, "r", f)
    }  # fmt: skip
    assert reached <= passed


def test_a_filter_faster_than_any_published_one_counts_as_new_sand_on_its_ways_too() -> None:
    """BELLAMY_1985 tested up to 0.40 m/h; over it the low end is that of new sand."""
    plan = plan_with()
    ripe = simulate(plan, dry(5))
    full = np.ones_like(ripe.ripeness_frac)
    ripe = replace(
        ripe, ripeness_frac=full, sand_m=0.0 * full + 0.7, filter_rate_m_per_s=0.0 * full
    )
    fast = replace(ripe, filter_rate_m_per_s=full * 0.41 / 3600.0)
    warm = np.full(len(ripe.days), 20.0)
    for group in GROUPS:
        law = range_law(group)
        low, high = filter_means(ripe, warm)["sand"][group]
        assert filter_means(fast, warm)["sand"][group] == pytest.approx((law.new_low_log10, high))
        assert low > law.new_low_log10


def test_many_holes_many_barriers_and_many_taps_make_few_kinds_of_way() -> None:
    """Each hole is told once for each tap, by its weakest way: 60 buried tanks, not 60 x 32 x 6."""
    parts = ['[roof.r]\narea = "9 m2"\nmaterial = "slate"']
    pipes: dict[str, tuple[str, str]] = {}
    before = "r"
    methods = ("uv", "chlorine", "boiling", "cartridge")
    for i in range(20):
        parts += [
            f'[tank.{name}]\nvolume = "1 m3"\nheight = "1 m"\nbase = "{-i} m"\n'
            f'ground = "{0.5 - i} m"'
            for name in (f"a{i}", f"b{i}", f"d{i}")
        ]
        parts.append(f'[filter.f{i}]\narea = "1 m2"\n[disinfection.u{i}]\n'
                     f'method = "{methods[i % 4]}"\n[diverter.v{i}]')  # fmt: skip
        pipes |= {
            f"p{i}": (before, f"a{i}"), f"q{i}": (f"a{i}", f"f{i}"), f"r{i}": (f"f{i}", f"v{i}"),
            f"s{i}": (f"v{i}.main", f"b{i}"), f"t{i}": (f"v{i}.side", f"d{i}"),
            f"u{i}": (f"b{i}", f"u{i}"), f"v{i}": (f"u{i}", f"d{i}"),
            f"w{i}": (f"a{i}.overflow", f"d{i}"), f"x{i}": (f"a{i}.drain", f"b{i}"),
        }  # fmt: skip
        before = f"d{i}"
    for k in range(5):
        parts.append(f"[tap.sink{k}]\ndrinking = true")
        pipes[f"end{k}"] = (before, f"sink{k}")
    routes = all_routes(plan_of(text_of(pipes, "\n".join(parts))))
    by_tap = [[r for r in routes if r.tap == f"sink{k}"] for k in range(5)]
    ground = [r for r in by_tap[0] if r.start.startswith("ground:")]
    assert len({r.start for r in ground}) == 60 and len(ground) <= 2 * 60
    # Taps that the same tank feeds have the same ways, each by its own last pipe.
    shapes = [{(r.start, r.parts[:-1], r.when) for r in some} for some in by_tap]
    assert all(s == shapes[0] for s in shapes)
    assert all(r.pipes[-1] == f"end{k}" for k in range(5) for r in by_tap[k])
