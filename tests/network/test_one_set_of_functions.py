"""The engine's beds and skins are those of the sand filter's own functions: no copies."""

from __future__ import annotations

import ast
import inspect
import types

import numpy as np
import pytest

from network.build import PLAIN_ROOF, plan_of
from roofspring.network import laws, life
from roofspring.network.assemble import assemble
from roofspring.network.laws import bed_resistance_s
from roofspring.network.life import life_of
from roofspring.network.sand import sand_jobs
from roofspring.network.sieve_findings import sieve_findings
from roofspring.sandfilter.bed_study import study_bed
from roofspring.sandfilter.gravel import rule_named
from roofspring.sandfilter.ripening import DEFAULT_RIPENING, cleaning_named
from roofspring.sandfilter.sieve import GradingCurve, SieveTest, criterion
from roofspring.sandfilter.stock import wanted_sand
from roofspring.sandfilter.study import Bed, SandStudy, study_sand
from roofspring.workflows.sand_bed import month_temps, plan_case, skin_law

FILTER = """
[filter.f]
area = "0.25 m2"
sand-depth = "0.65 m"
d10 = "0.22 mm"
uniformity = 1.8
porosity = "42 %"
sieve = "sand.csv"
sand-top = "1.0 m"
weir = "1.05 m"
overflow = "1.5 m"
[filter.f.skin]
law = "by-water"
per-metre = 0.03
season = [4, 5]
season-factor = 2.5
[filter.f.care]
by = "rake"
[tank.t]
volume = "1 m3"
height = "1 m"
[pipe.a]
from = "r.outlet"
to = "t.inlet"
[pipe.b]
from = "t.outlet"
to = "f.inlet"
[pipe.c]
from = "f.outlet"
to = "u.inlet"
[tank.u]
volume = "1 m3"
height = "1 m"
"""
PLAN = plan_of(PLAIN_ROOF, FILTER)
PART = PLAN.filters["f"]


def study() -> SandStudy:
    bed = Bed(PART.area_m2, PART.sand_depth_m, PART.porosity_frac)
    wanted = wanted_sand(PART.d10_m, uniformity=PART.uniformity, chosen=criterion("ten-states"))
    return SandStudy(test=None, wanted=wanted, chosen=criterion("ten-states"), bed=bed)


def test_the_bed_of_a_run_and_that_of_the_answer_are_one() -> None:
    (job,) = sand_jobs(PLAN)
    case, _ = plan_case(
        PLAN, "f", job=job, study=study(), drain=None, temps_degc=month_temps(PLAN, None)
    )
    found = study_bed(case)
    assert case.sand_m / found.conductivity_20_m_per_s == bed_resistance_s(PART)
    assert case.crest_over_sand_m == pytest.approx(0.05)
    assert case.seasons[0].load_factor(120) == 2.5
    assert case.way == "rake"


def test_the_skin_of_a_run_and_that_of_the_answer_are_one() -> None:
    topology = assemble(PLAN).topology
    row = topology.nodes.index("f")
    arrays, law = life_of(topology), skin_law(PART)
    assert law is not None
    assert arrays.growth_per_m[row] == law.growth_per_m == 0.03
    assert arrays.cake_s_per_m[row] == law.cake_s_per_m == 0.0
    assert arrays.skin_left_frac[row] == cleaning_named("rake").skin_left_frac
    ours = vars(DEFAULT_RIPENING).values()
    assert set(np.asarray(arrays.rates).tolist()) == set(ours)


@pytest.mark.parametrize("module", [laws, life])
def test_no_formula_of_sand_is_written_again(module: types.ModuleType) -> None:
    """No power of the porosity or the grain, and no Carman constant, outside the sand filter."""
    for node in ast.walk(ast.parse(inspect.getsource(module))):
        if isinstance(node, ast.Constant):
            assert node.value not in (180.0, 180, 150.0, 1.066, 1.08), node.lineno
        if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Pow):
            assert "porosity" not in ast.unparse(node) and "grain" not in ast.unparse(node)


def curve(d10_mm: float, uniformity: float) -> GradingCurve:
    """A sand with just these two sizes: straight on semi-logarithmic paper."""
    slope = np.log(uniformity) / 0.5
    low = d10_mm * 1e-3 / np.exp(0.1 * slope)
    return GradingCurve((float(low), float(low * np.exp(slope))), (0.0, 1.0), "test sand")


def looked_at(d10_mm: float, uniformity: float) -> SandStudy:
    made = curve(d10_mm, uniformity)
    test = SieveTest(made, "passing-percent", (0.0, 1.0), 0.0, None, None, ())
    bare = study()
    return study_sand(
        test,
        wanted=bare.wanted,
        chosen=bare.chosen,
        bed=bare.bed,
        rule=rule_named("huisman-wood"),
        hole_m=3e-3,
        temp_degc=10.0,
    )


def test_a_file_that_agrees_with_the_plan_is_no_finding() -> None:
    (job,) = sand_jobs(PLAN)
    assert sieve_findings(job, looked_at(0.23, 1.7)) == ()


def test_a_file_that_contradicts_the_plan_says_which_one_the_run_took() -> None:
    """0.28 for 0.22 mm is 27 % more; K goes with the square of d10 (1 + 2 log10 U) (CARMAN_1937,
    HUISMAN_WOOD_1974): by hand 1.62 times."""
    (job,) = sand_jobs(PLAN)
    (finding,) = sieve_findings(job, looked_at(0.28, 1.8))
    assert (finding.code, finding.severity, finding.where) == ("SIV-150", "caution", "f")
    assert "+27 %" in finding.got and "1.62 times" in finding.got
    assert "which a run takes: d10 0.22 mm" in finding.limit


def test_a_sand_that_becomes_the_plans_only_when_cut_is_a_note() -> None:
    (job,) = sand_jobs(PLAN)
    (finding,) = sieve_findings(job, looked_at(0.14, 4.0))
    assert (finding.code, finding.severity) == ("SIV-151", "note")
    assert "−36 %" in finding.got and "+122 %" in finding.got
