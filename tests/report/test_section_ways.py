"""Ways without a barrier, drawn over the section: their pipes, letters, legend and other water."""

from __future__ import annotations

import itertools
import tomllib
from xml.etree import ElementTree

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from report.random_plans import plans, whole
from roofspring.errors import Finding
from roofspring.plan.model import Plan
from roofspring.report._ways import MOST, shown_ways
from roofspring.report.section import SectionDrawing, draw_section
from roofspring.safety.paths import all_routes, graph_findings, path_findings

SVG = "{http://www.w3.org/2000/svg}"

WELL = """
[source.old-well]
water = "well"
to = "cistern"
[source.town]
water = "mains"
to = "clean"
"""


def drawn(plan: Plan, findings: tuple[Finding, ...] = ()) -> SectionDrawing:
    return draw_section(plan, findings=findings, ways=shown_ways(plan, all_routes(plan)))


def group(drawing: SectionDrawing, name: str) -> ElementTree.Element:
    root = ElementTree.fromstring(drawing.svg)
    (found,) = [g for g in root.iter(f"{SVG}g") if g.get("id") == name]
    return found


def texts(drawing: SectionDrawing) -> list[str]:
    root = ElementTree.fromstring(drawing.svg)
    return ["".join(t.itertext()) for t in root.iter(f"{SVG}text")]


def with_sources(plan: Plan) -> Plan:
    sources = {
        name: type(plan)
        .model_validate(tomllib.loads('format = 1\nname = "x"\n' + WELL))
        .sources[name]
        for name in ("old-well", "town")
    }
    return plan.model_copy(update={"sources": sources})


def test_the_raw_overflow_of_the_demo_is_way_a_and_is_dashed(demo_plan: Plan) -> None:
    """The demo's planted fault: the raw overflow ends in the cistern."""
    (way, *_) = shown_ways(demo_plan, all_routes(demo_plan))
    assert way.is_open and way.letter == "A"
    assert all("raw-overflow" in r.pipes for r in way.routes)
    assert {r.start for r in way.routes} == {"cabin", "woodshed"}
    drawing = drawn(demo_plan)
    lines = [p for p in group(drawing, "way-A").iter(f"{SVG}path") if p.get("class") == "way"]
    assert len(lines) >= 5
    assert any(t.startswith("unfiltered roof water, when it rains hard") for t in texts(drawing))
    style = ElementTree.fromstring(drawing.svg).find(f"{SVG}style")
    assert style is not None and ".rs .way{fill:none;stroke:#b3141c" in (style.text or "")


def test_a_mishap_has_dots_and_a_letter_of_its_own(demo_plan: Plan) -> None:
    ways = shown_ways(demo_plan, all_routes(demo_plan))
    assert [w.is_open for w in ways] == sorted((w.is_open for w in ways), reverse=True)
    hose = next(w for w in ways if "hose" in w.words)
    paths = group(drawn(demo_plan), f"way-{hose.letter}").iter(f"{SVG}path")
    assert {p.get("class") for p in paths} == {"way mishap", "tip-way"}


def test_a_plan_without_such_ways_has_neither_red_nor_its_legend(demo_plan: Plan) -> None:
    kept = {k: p for k, p in demo_plan.pipes.items() if k not in ("raw-overflow", "to-house")}
    plan = demo_plan.model_copy(
        update={"pipes": kept, "taps": {"kitchen": demo_plan.taps["kitchen"]}}
    )
    drawing = drawn(plan.model_copy(update={"uses": {}, "pipes": {
        k: p for k, p in kept.items() if k != "to-yard"}}))  # fmt: skip
    assert "way-A" not in drawing.svg and not any(t.startswith("Red:") for t in texts(drawing))


def test_other_water_is_drawn_with_its_name_and_its_finding(demo_plan: Plan) -> None:
    plan = with_sources(demo_plan)
    routes = all_routes(plan)
    findings = (*path_findings(plan, routes=routes), *graph_findings(plan, routes))
    drawing = drawn(plan, findings)
    assert {"old-well (well)", "town (mains)"} <= set(texts(drawing))
    number = 1 + next(i for i, f in enumerate(findings) if f.where == "source.old-well")
    assert f"mark {number}" in {b.what for b in drawing.boxes}
    words = [w.words for w in shown_ways(plan, routes)]
    assert any(w.startswith("water of old-well (well)") for w in words)
    assert not any("mains" in w for w in words)  # treated before it came


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(plans(), st.booleans())
def test_nothing_written_overlaps_on_any_plan(made: tuple[str, Plan], is_drinking: bool) -> None:
    plan = whole(made[1])
    taps = {t: tap.model_copy(update={"drinking": is_drinking}) for t, tap in plan.taps.items()}
    plan = plan.model_copy(update={"taps": taps})
    ways = shown_ways(plan, all_routes(plan))
    assert len(ways) <= MOST
    drawing = draw_section(plan, ways=ways)
    ElementTree.fromstring(drawing.svg)
    hits = [(a.what, b.what) for a, b in itertools.combinations(drawing.boxes, 2) if a.hits(b)]
    assert hits == []
    for box in drawing.boxes:
        assert box.x0 >= 0 and box.y0 >= 0 and box.x1 <= drawing.width_px
    assert sum(b.what.startswith("way") for b in drawing.boxes) >= len(ways)


@pytest.mark.parametrize("where", ["source.town", "source.nowhere"])
def test_a_finding_on_other_water_that_is_not_there_has_no_mark(
    demo_plan: Plan, where: str
) -> None:
    finding = Finding("SAF-140", "stop", "x", where=where, next="y")
    drawing = drawn(with_sources(demo_plan), (finding,))
    assert ("mark 1" in {b.what for b in drawing.boxes}) == (where == "source.town")
