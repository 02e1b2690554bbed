"""Plans nobody should build: a clear list of problems, or a true run, and never one without end."""

from __future__ import annotations

import faulthandler
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, event, given, settings
from hypothesis import strategies as st

from network.build import record_of
from properties.graphs import plans
from properties.test_engine import sound
from roofspring.errors import PlanError, codes
from roofspring.network.simulate import simulate
from roofspring.plan.read import read_text

LONGEST_S = 300.0
"""A test that takes longer is taken for a hang: the whole test run ends and says where it stood."""

RAIN_MM = [0, 3, 0, 140, 0, 0, 0.1, 0, 30, 30, 0, 0]
QUANTITY = re.compile(r'"(\d+(?:\.\d+)?(?:e-?\d+)?) (m3|m2|mm|m|L|h|L/day|m3/h|m/h|L/s)"')
FACTORS = (1e-6, 1e-3, 0.03, 30.0, 1e3, 1e5)
PORTS = ("outlet", "overflow", "drain", "main", "side", "reject")


@pytest.fixture(autouse=True)
def _never_without_end() -> Iterator[None]:
    faulthandler.dump_traceback_later(LONGEST_S, exit=True)
    yield
    faulthandler.cancel_dump_traceback_later()


@st.composite
def wild_plans(draw: st.DrawFn) -> str:
    """A random plan, some of its numbers blown up or shrunk, and some pipes added at random."""
    text = f'format = 1\nname = "wild"\n{draw(plans())}'
    found = list(QUANTITY.finditer(text))
    at = draw(st.lists(st.integers(0, len(found) - 1), max_size=6, unique=True))
    for i in sorted(at, reverse=True):  # from the end, so that places before stay as they are
        match = found[i]
        if draw(st.integers(0, 9)) == 0:
            number = "0"
        else:
            number = f"{float(match[1]) * draw(st.sampled_from(FACTORS)):.6g}"
        text = f'{text[: match.start()]}"{number} {match[2]}"{text[match.end() :]}'
    parts = re.findall(r"^\[(?:tank|filter|roof|screen|diverter)\.(\w+)\]", text, re.MULTILINE)
    for i in range(draw(st.sampled_from([0, 0, 0, 1, 1, 2, 4]))):
        from_, to = draw(st.sampled_from(parts)), draw(st.sampled_from(parts))
        port = draw(st.sampled_from(PORTS))
        text += f'\n[pipe.extra{i}]\nfrom = "{from_}.{port}"\nto = "{to}"\n'
        if draw(st.booleans()):
            text += f'size = "{draw(st.sampled_from(["1 mm", "20 mm", "2 m"]))}"\nlength = "1 mm"\n'
    return text


@settings(max_examples=400, deadline=None, suppress_health_check=list(HealthCheck))
@given(text=wild_plans())
def test_problems_or_a_true_run(text: str) -> None:
    try:
        plan = read_text(text, path=Path("plan.toml")).plan
        result = simulate(plan, record_of(RAIN_MM))
    except PlanError as error:
        event("problems: " + ", ".join(sorted({p.code for p in error.problems}))[:40])
        assert error.problems
        assert all(p.code in codes() and p.what and p.next for p in error.problems)
    else:
        event("ran")
        sound(result)
