"""Lamps by the dose that they were proven for, and the water that shades them.

NSF/ANSI 55 as told by the trade press: class A gives 40 mJ/cm2 or more at its alarm point; class B,
with 16, is supplemental only. So a class B lamp may change no number.
"""

from __future__ import annotations

import numpy as np
import pytest

from network.build import dry, plan_of
from roofspring.network.simulate import simulate
from roofspring.plan.model import Plan
from roofspring.report.section import draw_section
from roofspring.safety.answer import SafetyAnswer
from roofspring.safety.assess import assess_safety
from roofspring.safety.paths import all_routes, board, graph_findings, raw_paths
from roofspring.safety.tap_water import tap_water
from safety.test_plan_checks import LAMP_ONLY, SOUND, changed, found

CLASS_B = ('"40 mJ/cm2"', '"16 mJ/cm2"')
LAMP = SOUND[SOUND.index("[disinfection.lamp]") : SOUND.index("[swale.ditch]")]
NO_LAMP = (LAMP, "[diverter.lamp]\n")
FROM_LAMP = ('from = "lamp"', 'from = "lamp.main"')
SAND = SOUND[SOUND.index("[filter.sand]") : SOUND.index("[tank.clean]")]
LATER = (
    '[disinfection.kettle]\nmethod = "{}"\n'
    '[pipe.on]\nfrom = "kettle"\nto = "sink"\nsize = "20 mm"\nlength = "5 m"\nlead = false\n'
)
TO_LATER = ('from = "lamp"\nto = "sink"', 'from = "lamp"\nto = "kettle"')


def assessed(plan: Plan) -> SafetyAnswer:
    return assess_safety(plan, provenance=simulate(plan, dry(1)).provenance, households=20)


def test_a_lamp_that_is_not_counted_changes_no_number() -> None:
    """The same plan with a plain fitting in the place of the lamp gives the same answer."""
    weak, without = changed(CLASS_B), changed(NO_LAMP, FROM_LAMP)
    pairs = list(zip(all_routes(weak), all_routes(without), strict=True))
    assert pairs
    for one, other in pairs:
        assert (one.parts, one.barriers, one.log10) == (other.parts, other.barriers, other.log10)
    a, b = assessed(weak), assessed(without)
    assert a.water is not None and b.water is not None
    assert a.water.after_steps == b.water.after_steps == frozenset()
    for mine, bare in zip(a.risk, b.risk, strict=True):
        assert mine == bare
    assert {o.name for r in a.risk for o in r.options} >= {"uv"}


@pytest.mark.parametrize("said", ["40 mJ/cm2", "400 J/m2", "186 mJ/cm2"])
def test_a_proven_lamp_is_counted_whatever_its_unit(said: str) -> None:
    plan = changed(('"40 mJ/cm2"', f'"{said}"'))
    assert found(plan) == {}
    assert tap_water(plan, all_routes(plan)).after_steps == {"uv"}


def test_a_lamp_without_a_dose_counts_as_before_and_is_told() -> None:
    plan = changed(LAMP_ONLY)
    assert set(found(plan)) == {"SAF-155"}
    assert tap_water(plan, all_routes(plan)).after_steps == {"uv"}


@pytest.mark.parametrize(
    ("method", "severity"),
    [("boiling", "caution"), ("chlorine", "caution"), ("cartridge", "stop")],
)
def test_it_is_a_stop_where_nothing_else_disinfects(method: str, severity: str) -> None:
    seen = found(changed(CLASS_B, TO_LATER, more=LATER.format(method)))["SAF-156"]
    assert (seen.severity, seen.where, seen.source) == (severity, "lamp", "NSF_55")


def test_a_proven_lamp_beside_it_does_not_excuse_the_other_way() -> None:
    """Two lamps side by side: water by the weak one passes no other."""
    proven = LAMP.replace(".lamp]", ".other]")
    more = (
        proven + '[pipe.o1]\nfrom = "clean"\nto = "other"\nlead = false\n'
        '[pipe.o2]\nfrom = "other"\nto = "sink"\nlead = false\n'
    )
    plan = changed(CLASS_B, more=more)
    assert found(plan)["SAF-156"].severity == "stop"
    assert tap_water(plan, all_routes(plan)).after_steps == frozenset()


def test_alone_it_leaves_the_water_raw() -> None:
    text = SOUND.replace(SAND, "[diverter.sand]\n").replace('from = "sand"', 'from = "sand.main"')
    plan = plan_of(text.replace(*CLASS_B))
    (path,) = raw_paths(plan)
    assert path.tap == "sink" and not path.wrong
    assert assessed(plan).sentence.startswith("Not as drawn: unfiltered roof water can reach")
    assert raw_paths(plan_of(text)) == ()


def test_a_dark_lamp_is_told_where_the_search_kept_another_way() -> None:
    """Of two lamps side by side each is looked at, though one route says what both do."""
    dark = LAMP.replace("shuts-off = true", "shuts-off = false")
    more = (
        dark.replace(".lamp]", ".other]")
        + '[pipe.o1]\nfrom = "clean"\nto = "other"\nlead = false\n'
        '[pipe.o2]\nfrom = "other"\nto = "sink"\nlead = false\n'
    )
    plan = changed(("shuts-off = true", "shuts-off = false"), more=more)
    said = [f for f in graph_findings(plan, all_routes(plan)) if f.code == "SAF-147"]
    assert {f.where: f.got for f in said} == dict.fromkeys(
        ("lamp", "other"), "then sand is all there is"
    )


def test_shade_is_told_with_what_is_left() -> None:
    """By hand, Beer and Lambert: 0.7 squared is 49 %; the mean (1 - 0.49) / -ln 0.49 is 71 %."""
    assert np.isclose((1 - 0.49) / -np.log(0.49), 0.71, atol=0.006)
    seen = found(changed(('"85 %"', '"70 %"')))["SAF-157"]
    assert "49 % is left at 2 cm, 71 % in the mean" in seen.got and seen.severity == "caution"
    assert found(changed(('"85 %"', '"75 %"'))) == {}


def test_the_board_names_both_checks_only_where_a_lamp_stands() -> None:
    about = ("lamps proven for less than counts", "water that takes the lamp's light")
    for plan, state in ((changed(), "nothing found"),
                        (changed(NO_LAMP, FROM_LAMP), "does not apply")):  # fmt: skip
        states = {row.about: row.state for row in board(plan, [], ())}
        assert [states[a] for a in about] == [state, state]


@pytest.mark.parametrize(("pairs", "is_told"), [((), False), ((CLASS_B,), True)])
def test_the_drawing_says_that_a_lamp_is_not_counted(
    pairs: tuple[tuple[str, str], ...], is_told: bool
) -> None:
    svg = draw_section(changed(*pairs)).svg
    assert "UV light" in svg
    assert ("not counted" in svg) == is_told
