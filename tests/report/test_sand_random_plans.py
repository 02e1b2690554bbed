"""Whatever filters a plan has, with heights given or left out, the sand is answered."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import networkx as nx
import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from report.random_plans import plans
from roofspring.network.sand import sand_jobs
from roofspring.plan.geometry import brim_volume_m3, inside_height_m
from roofspring.plan.graph import flow_graph
from roofspring.plan.model import Plan, Tank
from roofspring.plan.read import LoadedPlan, read_plan
from roofspring.report.sand_chapter import sand_part
from roofspring.report.sand_page import sand_sections
from roofspring.workflows import write_demo
from roofspring.workflows.sand_look import Seen, look
from roofspring.workflows.sand_request import SandRequest


class Shown:
    """Something told by a few words: the whole of it is too long for a failing example."""

    def __init__(self, words: str, whole: LoadedPlan | Plan) -> None:
        self.words, self.whole = words, whole

    def __repr__(self) -> str:
        return self.words


def has_shape(tank: Tank) -> bool:
    """Whether a tank's shape is complete, as reading a plan makes sure."""
    try:
        return inside_height_m(tank) > 0.0 and brim_volume_m3(tank) > 0.0
    except ValueError:
        return False


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Shown:
    folder: Path = tmp_path_factory.mktemp("any")
    write_demo(folder)
    return Shown("the demo", read_plan(folder))


@settings(suppress_health_check=[HealthCheck.filter_too_much])  # many plans have no filter
@given(made=plans(most=6).map(lambda made: Shown(*made)), more=st.integers(1, 2))
def test_any_filter_is_answered(demo: Shown, made: Shown, more: int) -> None:
    loaded, plan = demo.whole, made.whole
    assert isinstance(loaded, LoadedPlan) and isinstance(plan, Plan)
    assume(all(has_shape(tank) for tank in plan.tanks.values()))  # or reading would refuse it
    assume(bool(plan.filters) and nx.is_directed_acyclic_graph(flow_graph(plan)))
    jobs = sand_jobs(plan)
    assert sum(len(job.filters) for job in jobs) == len(plan.filters)
    for job in jobs[:more]:
        others = tuple(j for j in jobs if j is not job)
        answer = look(
            SandRequest(path=loaded.path),
            loaded=replace(loaded, plan=plan),
            jobs=(job, *others),
            seen=Seen(),
        )
        json.dumps(answer.to_dict(), allow_nan=False)
        facts = answer.facts()
        ids = [section.id for section in sand_sections(facts, pictures=False)]
        assert {"first", "checks", "loss", "guide"} <= set(ids)
        part = sand_part(facts, filters=answer.filters, sentence=answer.sentence, pictures=False)
        assert part.filters == job.filters
        named = {f.where for f in answer.findings if f.code.startswith("BED")}
        assert all(set(where.split(", ")) <= set(job.filters) for where in named)
