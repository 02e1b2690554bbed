"""The dictionary of names and the signatures of the formulas say the same."""

from __future__ import annotations

import importlib
import inspect
import re

import pytest

from docs.write import DOCS
from roofspring.units import SUFFIXES

MODULES = (
    "roofspring.water",
    "roofspring.catchment",
    "roofspring.hydraulics",
    "roofspring.sandfilter",
    "roofspring.sandfilter.sieve",
    "roofspring.sandfilter.stock",
    "roofspring.sandfilter.gravel",
    "roofspring.sandfilter.underdrain",
    "roofspring.sandfilter.study",
    "roofspring.sandfilter.cleaning",
    "roofspring.sandfilter.falling_head",
    "roofspring.sandfilter.headloss",
    "roofspring.sandfilter.heights",
    "roofspring.sandfilter.oxygen",
    "roofspring.sandfilter.removal",
    "roofspring.sandfilter.ripening",
    "roofspring.sandfilter.run_length",
    "roofspring.sandfilter.skin",
    "roofspring.sandfilter.throttle",
    "roofspring.sandfilter.wall",
    "roofspring.structure",
    "roofspring.garden",
    "roofspring.costs",
    "roofspring.reliability.reference",
    "roofspring.safety.disinfection",
    "roofspring.safety.inspection",
    "roofspring.safety.materials",
    "roofspring.safety.risk",
)
PAGE = (DOCS / "nomenclature.md").read_text("utf-8")
ROWS = re.findall(r"^\| `(\w+)` \| (.*?) ?\| (.+) \|$", PAGE, re.MULTILINE)


def _parameters() -> dict[str, str]:
    """Every argument of the public formulas that is not text, with one place where it stands."""
    found = {}
    for name in MODULES:
        module = importlib.import_module(name)
        for thing, value in vars(module).items():
            if thing.startswith("_") or not inspect.isfunction(value):
                continue
            if not value.__module__.startswith(name):
                continue
            for parameter in inspect.signature(value).parameters.values():
                if parameter.annotation not in ("str", "str | None"):
                    found[parameter.name] = f"{name}.{thing}"
    return found


def test_every_argument_has_its_row_and_no_row_is_left_over() -> None:
    names = [name for name, _, _ in ROWS]
    parameters = _parameters()
    assert len(parameters) > 50
    assert len(names) == len(set(names))
    assert not {n: at for n, at in parameters.items() if n not in names}
    assert not set(names) - set(parameters)


@pytest.mark.parametrize(("name", "unit", "meaning"), ROWS)
def test_the_unit_is_that_of_the_name(name: str, unit: str, meaning: str) -> None:
    suffixes = [end for end in SUFFIXES if name.endswith(end)]
    expected = SUFFIXES[max(suffixes, key=len)] if suffixes else ""
    assert unit == expected
    assert meaning[0].islower() or meaning[0].isdigit() or meaning.startswith(("Reynolds", "Hazen"))
