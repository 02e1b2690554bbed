"""Other water in the plan, and how a tank is shut: what is read, refused and explained."""

from __future__ import annotations

import pytest

from plan.texts import GOOD, load, problems
from roofspring.plan.explain import explain

SOURCE = '\n[source.town]\nwater = "mains"\nto = "clean.inlet"\nsize = "3/4 in"\nair-gap = "2 in"\n'


def test_other_water_is_read_in_si() -> None:
    source = load(GOOD + SOURCE).plan.sources["town"]
    assert (source.water, source.to) == ("mains", "clean.inlet")
    assert source.size_m == pytest.approx(0.75 * 0.0254)
    assert source.air_gap_m == pytest.approx(2 * 0.0254)
    assert source.device is None


def test_what_is_left_out_is_explained_as_not_said() -> None:
    told = explain(load(GOOD + SOURCE), "town.device")
    assert (told.origin, told.text) == ("not given", "not said")
    assert explain(load(GOOD), "clean.opaque").text == "not said"


@pytest.mark.parametrize(
    ("old", "new", "code", "got"),
    [
        ('to = "clean.inlet"', 'to = "claen"', "PLN-021", "clean"),
        ('to = "clean.inlet"', 'to = "clean.overflow"', "PLN-023", "clean.inlet"),
        ('to = "clean.inlet"', 'to = "clean.hatch"', "PLN-022", "clean.inlet"),
        ('water = "mains"', 'water = "river"', "PLN-014", "mains"),
        ('water = "mains"\n', "", "PLN-012", "water"),
        ('air-gap = "2 in"', "air-gap = 2", "PLN-013", "2"),
    ],
)
def test_bad_ends_and_kinds_are_problems(old: str, new: str, code: str, got: str) -> None:
    assert old in SOURCE
    (problem,) = problems(GOOD + SOURCE.replace(old, new))
    assert problem.code == code and problem.line is not None
    assert got in " ".join((problem.what, problem.allowed, problem.next, problem.got))


def test_a_tank_stands_beside_another_tank() -> None:
    cover = 'cover = { walled-with = ["raw"] }'
    for tank, is_bad in (("raw", True), ("clean", False)):
        text = GOOD.replace(f"[tank.{tank}]", f"[tank.{tank}]\n{cover}")
        found = [p.code for p in problems(text)] if is_bad else []
        assert found == (["PLN-021"] if is_bad else [])
        if not is_bad:
            assert load(text).plan.tanks[tank].cover.walled_with == ("raw",)
