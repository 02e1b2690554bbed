"""A garden with a crop: what must stand beside it."""

from __future__ import annotations

import pytest

from plan.texts import BARE, load, problems

HOUSE = (
    BARE
    + """
[site]
latitude = "46 deg"
[tank.t]
volume = "1 m3"
height = "1 m"
[use.g]
from = ["t"]
crop = "roots"
garden-area = "10 m2"
growing = { months = [5, 6, 7], reaches = "80 %" }
"""
)


def test_a_whole_one_reads() -> None:
    use = load(HOUSE).plan.uses["g"]
    assert use.crop == "roots" and use.growing.months == (5, 6, 7)
    assert use.growing.reaches_frac == pytest.approx(0.8)


@pytest.mark.parametrize(
    ("code", "old", "new"),
    [
        ("PLN-070", 'latitude = "46 deg"\n', ""),
        ("PLN-041", 'garden-area = "10 m2"\n', ""),
        ("PLN-041", 'crop = "roots"\n', 'per-day = "1 L/day"\n'),
        ("PLN-040", 'crop = "roots"\n', 'crop = "roots"\nper-day = "1 L/day"\n'),
        ("PLN-013", '"80 %"', "0"),
        ("PLN-014", '"roots"', '"rots"'),
    ],
)
def test_a_slip_is_told(code: str, old: str, new: str) -> None:
    assert HOUSE.count(old) == 1
    found = problems(HOUSE.replace(old, new))
    assert code in {p.code for p in found}
    assert all(p.next for p in found)


def test_an_area_without_a_want_names_both_that_would_do() -> None:
    (found,) = [
        p
        for p in problems(HOUSE.replace('crop = "roots"\n', 'per-day = "1 L/day"\n'))
        if "garden-area" in p.where
    ]
    assert "garden-depth or crop" in found.what
