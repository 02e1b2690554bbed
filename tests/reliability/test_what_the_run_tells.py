"""What the supply answer says of snow, cleaning and unfiltered water, by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from network.build import PLAIN_ROOF, dry, pipe, plan_of, record_of, tank, use
from roofspring.errors import Finding
from roofspring.reliability.supply import assess_supply

POND = (PLAIN_ROOF, tank("t", volume_m3=900.0, start=0.0), pipe("p", "r", "t"))


def of_code(findings: tuple[Finding, ...], code: str) -> list[Finding]:
    return [f for f in findings if f.code == code]


def test_snow_that_slides_off_is_told_and_changes_with_the_roof() -> None:
    # 10 mm on each of 40 days at -5 degrees C on 100 m2, then 20 days at 10: 40 m3 melt.
    air = np.array([-5.0] * 40 + [10.0] * 325)
    record = replace(record_of([10.0] * 40 + [0.0] * 325), tmin_degc=air - 1.0, tmax_degc=air + 1.0)
    caught = {}
    for lost in (0.0, 0.25, 1.0):
        roof = PLAIN_ROOF + f"snow-lost = {lost}\n"
        plan = plan_of(roof, *POND[1:], use("u", "t", "10 L/day"))
        answer, _ = assess_supply(plan, record)
        caught[lost] = answer.caught_m3
        assert bool(of_code(answer.findings, "SUP-106")) == (lost > 0.0)
    assert [caught[x] for x in (0.0, 0.25, 1.0)] == pytest.approx([40.0, 30.0, 0.0], abs=1e-9)


def test_snow_run_off_like_rain_where_the_plan_says_so() -> None:
    air = np.array([-5.0] * 365)
    record = replace(record_of([10.0] * 365), tmin_degc=air - 1.0, tmax_degc=air + 1.0)
    ends = {}
    for snow in ("held", "as-rain"):
        plan = plan_of(f'[rain]\nsnow = "{snow}"\n', *POND, use("u", "t", "10 L/day"))
        answer, _ = assess_supply(plan, record)
        ends[snow] = answer.caught_m3
    assert ends == pytest.approx({"held": 0.0, "as-rain": 365.0})


def test_cleanings_and_their_waste_are_told() -> None:
    text = (
        tank("raw", volume_m3=900.0, start=1.0, more='base = "5 m"\n')
        + tank("clean", volume_m3=900.0, start=0.1)
        + '[filter.f]\narea = "1 m2"\ncare = { every = "30 days", waste = "24 h" }\n'
        + pipe("a", "raw", "f", 'valve = { kind = "float" }')
        + pipe("b", "f", "clean")
    )
    answer, run = assess_supply(plan_of(PLAIN_ROOF, text, use("u", "clean", "1 L/day")), dry(366))
    count = int((run.cleaned > 0).sum())
    (finding,) = of_code(answer.findings, "SUP-107")
    assert count in (11, 12, 13) and f"cleaned {count} times" in finding.what
    assert run.total_m3(kind="waste") > 0.0


def test_the_share_of_unfiltered_water_in_what_a_use_got() -> None:
    # All that this house drinks comes off the roof past no sand; the other's comes through it.
    answer, _ = assess_supply(plan_of(*POND, use("u", "t", "50 L/day")), record_of([5.0] * 30))
    assert answer.uses[0].raw_frac == 1.0


def test_steps_that_cannot_be_short_enough_are_counted() -> None:
    plan = plan_of(
        '[run]\ntolerance = "0.0001 mm"\nwet-step = "24 h"\ndry-step = "24 h"\n',
        PLAIN_ROOF,
        tank("a", volume_m3=0.05, start=0.0, more='base = "2 m"\n'),
        tank("b", volume_m3=90.0, start=0.0, more='base = "0 m"\ninlet = "2 m"\n'),
        pipe("p", "r", "a"),
        pipe("q", "a", "b", 'size = "20 mm"'),
        use("u", "b", "10 L/day"),
    )
    answer, run = assess_supply(plan, record_of([5.0, 60.0, 0.0, 30.0, 0.0]))
    found = of_code(answer.findings, "SUP-109")
    assert bool(found) == (run.forced_count > 0) and run.forced_count > 0
