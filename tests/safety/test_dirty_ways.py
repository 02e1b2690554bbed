"""Raw water that gets round the sand but passes a later step, and what is led back.

The rules are those of the handbook of sanitary surveys that the checks follow: raw water into the
clean store is a stop whatever stands behind it, and each diverter is tried in both positions.
"""

from __future__ import annotations

import numpy as np
import pytest

from network.build import dry, plan_of
from roofspring.errors import Finding
from roofspring.network.simulate import simulate
from roofspring.plan.model import Plan
from roofspring.report.safety_block import first_steps
from roofspring.safety.assess import assess_safety
from roofspring.safety.headline import answer_with
from roofspring.safety.paths import all_routes, board, graph_findings
from roofspring.safety.paths.graph import STORM
from roofspring.safety.tap_water import tap_water
from safety.test_plan_checks import SOUND, changed, found

OVERFLOW = (('from = "raw.overflow"\nto = "ditch"', 'from = "raw.overflow"\nto = "clean"'),)
FLUSH = (
    '[first-flush.ff]\ndepth = "1 mm"\n[pipe.f1]\nfrom = "ff"\nto = "raw"\nlead = false\n'
    '[pipe.f2]\nfrom = "ff.drain"\nto = "{to}"\nlead = false\n'
)
INTO_FLUSH = ('from = "r"\nto = "raw"', 'from = "r"\nto = "ff"')
INTO_TURN = ('from = "raw"\nto = "sand"', 'from = "raw"\nto = "turn"')
TURN = (
    '[diverter.turn]\nposition = "{at}"\n[pipe.d1]\nfrom = "turn.main"\nto = "sand"\nlead = false\n'
    '[pipe.d2]\nfrom = "turn.side"\nto = "clean"\nlead = false\n'
)


def answered(plan: Plan) -> str:
    run = simulate(plan, dry(1)).provenance
    return assess_safety(plan, provenance=run, households=20).sentence


def test_a_lamp_does_not_excuse_raw_water_in_the_clean_store() -> None:
    plan = changed(*OVERFLOW)
    finding = found(plan)["SAF-108"]
    assert (finding.severity, finding.where) == ("stop", "pipe.spill")
    assert answered(plan).startswith("Not as drawn: unfiltered roof water can run past the filter")
    assert "SAF-108" not in found(changed())


@pytest.mark.parametrize(("to", "code", "severity"), [
    ("clean", "SAF-108", "stop"), ("raw", "SAF-118", "caution"), ("ditch", "", ""),
])  # fmt: skip
def test_a_first_flush_that_runs_back(to: str, code: str, severity: str) -> None:
    seen = found(changed(INTO_FLUSH, more=FLUSH.format(to=to)))
    assert {c for c in seen if c in ("SAF-108", "SAF-118")} == ({code} if code else set())
    if code:
        assert (seen[code].severity, seen[code].where) == (severity, "pipe.f2")


@pytest.mark.parametrize(("at", "code", "severity", "where"), [
    ("main", "SAF-104", "caution", "sink"), ("side", "SAF-108", "stop", "pipe.d2"),
])  # fmt: skip
def test_a_diverter_is_tried_in_both_positions(
    at: str, code: str, severity: str, where: str
) -> None:
    plan = changed(INTO_TURN, more=TURN.format(at=at))
    seen = found(plan)
    assert (seen[code].severity, seen[code].where) == (severity, where)
    rows = {c for row in board(plan, list(seen.values()), ()) for c in row.codes}
    assert code in rows


def test_a_lamp_counts_from_nothing_in_water_that_is_not_clear() -> None:
    """NSF_55, scope: class A is for visually clear water; read in the trade press."""
    (dirty,) = [r for r in all_routes(changed(*OVERFLOW)) if "sand" not in r.mechanisms]
    assert {low for low, _ in dirty.log10.values()} == {0.0}
    assert dirty.log10["bacteria"][1] > 4.0
    (clear,) = [r for r in all_routes(changed(*OVERFLOW)) if "sand" in r.mechanisms]
    assert clear.log10["bacteria"][0] >= 4.0


def test_a_cartridge_clears_water_for_a_lamp_but_is_no_barrier_of_its_own() -> None:
    sand = SOUND[SOUND.index("[filter.sand]") : SOUND.index("[tank.clean]")]
    text = SOUND.replace(sand, '[disinfection.sand]\nmethod = "cartridge"\n')
    seen = {f.code: f for f in graph_findings(plan_of(text), all_routes(plan_of(text)))}
    assert "SAF-111" not in seen
    assert seen["SAF-109"].severity == "caution" and seen["SAF-109"].got == "uv"
    alone = plan_of(text.replace('"uv"', '"cartridge"'))
    (finding,) = [f for f in graph_findings(alone, all_routes(alone)) if f.code == "SAF-109"]
    assert (finding.severity, finding.got) == ("stop", "cartridge")


def test_the_lamp_takes_nothing_out_of_what_went_round_the_sand() -> None:
    plan = changed(*OVERFLOW)
    water = tap_water(plan, all_routes(plan))
    assert water.after_steps == frozenset() and water.raw_mean_frac == 1.0
    np.testing.assert_allclose(water.by_group["bacteria"].mean_log10(1.0), 0.0, atol=1e-12)


def test_without_a_filter_there_is_nothing_to_go_round() -> None:
    plan = plan_of(
        '[roof.r]\narea = "50 m2"\nmaterial = "metal"\n[tank.t]\nvolume = "1 m3"\nheight = "1 m"\n'
        '[tap.sink]\ndrinking = true\n[pipe.a]\nfrom = "r"\nto = "t"\n'
        '[pipe.b]\nfrom = "t"\nto = "sink"\n'
    )
    provenance = simulate(changed(), dry(1)).provenance
    answer = assess_safety(plan, provenance=provenance, households=20)
    assert answer.water is not None and answer.water.raw_mean_frac == 1.0
    names = {o.name for r in answer.risk for o in r.options}
    assert names == {"uv", "chlorine", "boiling"}
    assert not any("round the filter" in line for line in (*answer.evidence, *answer.change))


def test_a_stop_comes_before_any_number_in_the_sentence() -> None:
    plan = changed()
    provenance = simulate(plan, dry(1)).provenance
    fine = assess_safety(plan, provenance=provenance, households=20)
    assert "STOP" not in fine.sentence and not fine.sentence.startswith("Not as")
    seen = answer_with(fine, [
        Finding("LVL-007", "stop", "the weir is low", where="sand"),
        Finding("SAF-132", "stop", "the newest test of lead lies over its limit", where="sink"),
    ])  # fmt: skip
    assert [f.code for f in seen.findings if f.severity == "stop"] == ["SAF-132", "LVL-007"]
    assert seen.sentence.startswith(
        "Not as it stands: the newest test of lead lies over its limit. One more finding says STOP."
    )
    assert "Published goals" not in seen.sentence
    lid = changed(('"locked"', '"loose"'))
    assert answered(lid).startswith("Not as it stands: at clean, a loose lid")
    both = changed(*OVERFLOW, ('"locked"', '"loose"'))
    assert answered(both).startswith("Not as drawn: ") and "Also, at clean" in answered(both)


def test_however_many_stops_there_are_boiling_is_told() -> None:
    plan = changed(*OVERFLOW)
    provenance = simulate(plan, dry(1)).provenance
    answer = assess_safety(plan, provenance=provenance, households=20)
    stops = [Finding("SAF-154", "stop", "a loose lid", where=f"t{i}", next="lock it")
             for i in range(9)]  # fmt: skip
    steps = first_steps(answer_with(answer, stops))
    assert len(steps) == 5 and steps[-1].endswith("boil what is drunk.")
    assert steps[3].startswith("7 more are marked STOP")


def test_a_change_that_does_nothing_is_not_told_as_one() -> None:
    """The lines of one germ stand beside one number of the same years."""
    plan = changed(*OVERFLOW)
    provenance = simulate(plan, dry(1)).provenance
    first, *rest = assess_safety(plan, provenance=provenance, households=20).change
    assert first.startswith("As it is, over the same days and cups")
    assert any(line.endswith("always ripe and warm: hardly a change.") for line in rest)
    assert not any("one tap alone" in line for line in rest)


def test_routes_of_rain_that_hard_rain_opens_are_the_only_stops() -> None:
    open_ways = [r for r in all_routes(changed(*OVERFLOW)) if r.when <= STORM]
    assert {r.is_bypass for r in open_ways} == {True, False}


def test_a_dark_lamp_is_a_stop_where_nothing_else_stands() -> None:
    sand = SOUND[SOUND.index("[filter.sand]") : SOUND.index("[tank.clean]")]
    text = SOUND.replace(sand, "[diverter.sand]\n").replace('from = "sand"', 'from = "sand.main"')
    plan = plan_of(text.replace("shuts-off = true", "shuts-off = false"))
    finding = {f.code: f for f in graph_findings(plan, all_routes(plan))}["SAF-147"]
    assert (finding.severity, finding.got) == ("stop", "then nothing stands before a tap")
