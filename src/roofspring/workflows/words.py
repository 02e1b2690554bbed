"""Explain a value, a code, or this installation; begin a new plan."""

from __future__ import annotations

import importlib.metadata
import platform
import re
from pathlib import Path
from typing import Any

from roofspring import __version__
from roofspring.constants import SECONDS_PER_DAY
from roofspring.errors import OutputError, PlanError, Problem, codes
from roofspring.errors.names import did_you_mean
from roofspring.files import make_folder, write_text_atomic
from roofspring.garden import crops, house_wants, household_wants, livestock_wants
from roofspring.network.assemble import assemble
from roofspring.plan.explain import explain
from roofspring.plan.new import NewPlanAnswers, new_plan
from roofspring.plan.read import PLAN_FILE, read_plan
from roofspring.sources import cite
from roofspring.units import UnitSet, show
from roofspring.workflows.opening import located


def explain_value(path: Path, field: str) -> dict[str, Any]:
    """Value, origin, source and limits of one field of a plan, such as ``raw.overflow``.

    Raises
    ------
    PlanError
        The plan has problems, or no such field (PLN-050).
    """
    loaded = read_plan(path)
    found = explain(loaded, field)
    value, origin, source = found.text, found.origin, found.source
    if origin == "derived":
        with located(loaded):
            for a in assemble(loaded.plan).assumptions:
                if found.where.endswith(a.where):
                    value = (
                        show(float(a.value), a.kind, units=loaded.plan.show)
                        if a.kind
                        else f"{a.value:g}"
                        if isinstance(a.value, float)
                        else a.value
                    )
                    source = a.source
    where = f"given in {loaded.path.name} line {found.line}" if origin == "given" else origin
    return {
        "where": found.where,
        "about": found.about,
        "value": value,
        "origin": where,
        "source": _cited(source),
        "allowed": found.allowed,
        "published": _published(found.where, loaded.plan.show),
    }


def _published(where: str, units: UnitSet) -> list[dict[str, str]]:
    """What others found that people, animals, houses and crops want, for the wants of a use."""
    key = where.rpartition(".")[2]
    if not where.startswith("use."):
        return []
    tables = {
        "per-person": household_wants,
        "per-animal": livestock_wants,
        "per-day": house_wants,
    }
    if key in tables:
        return [
            {
                "what": want.what,
                "least": show(want.least_m3_per_day / SECONDS_PER_DAY, "daily_flow", units=units),
                "most": show(want.most_m3_per_day / SECONDS_PER_DAY, "daily_flow", units=units),
                "note": want.note,
                "source": _cited(want.source),
            }
            for want in tables[key]().values()
        ]
    if key == "crop":
        return [
            {
                "what": name,
                "least": f"{min(crop.initial_factor, crop.end_factor):.2f}",
                "most": f"{crop.middle_factor:.2f}",
                "note": "times the evaporation of grass",
                "source": _cited(crop.source),
            }
            for name, crop in crops().items()
        ]
    return []


def _cited(source: str) -> str:
    try:
        return cite(source) if source else ""
    except KeyError:  # a plain statement
        return source


def explain_code(code: str) -> dict[str, str]:
    """What an error or finding code means and what to do.

    Raises
    ------
    PlanError (PLN-061)
        No such code.
    """
    known, plain = codes(), code.strip().upper()
    entry = known.get(plain)
    if entry is None:
        digits = re.fullmatch(r"([A-Z]{3})[- ]?0*([0-9]{1,3})", plain)
        meant = f"{digits[1]}-{int(digits[2]):03}" if digits else plain
        near = [c for c in known if c[:3] == meant[:3] or c[3:] == meant[3:]]
        otherwise = "every code is in docs/errors.md"
        if Path(code).exists():
            otherwise = "name a value after the plan, like raw.overflow"
        raise PlanError(
            Problem(
                "PLN-061",
                "this is neither a code nor, without a PART.FIELD after it, enough to explain",
                got=repr(code),
                allowed="a code like LVL-007, or a plan and a value: explain PLAN raw.overflow",
                next=did_you_mean(meant, near, otherwise=otherwise),
            )
        )
    return {"code": plain, **entry}


def free_place(folder: Path) -> Path:
    """Where a new plan would be written, if none stands there yet.

    Raises
    ------
    OutputError (OUT-002)
        A plan is already there.
    """
    file = folder / PLAN_FILE
    if file.exists():
        raise OutputError(
            Problem(
                "OUT-002",
                "a plan stands here already",
                file=str(file),
                next="name another folder, or move that plan away",
            )
        )
    return file


def new(folder: Path, answers: NewPlanAnswers) -> Path:
    """Write a starter plan into a folder; never over an existing one.

    Raises
    ------
    PlanError, OutputError
        An answer cannot stand (PLN-051), or a plan is already there (OUT-002).
    """
    file = free_place(folder)
    text = new_plan(answers)
    make_folder(folder)
    write_text_atomic(file, text)
    return file


def doctor() -> tuple[tuple[str, str], ...]:
    """Versions of this program, of Python and of the packages it stands on."""
    rows = [("roofspring", __version__), ("Python", platform.python_version())]
    names = (
        "numpy",
        "scipy",
        "numba",
        "pint",
        "pydantic",
        "tomlkit",
        "networkx",
        "openpyxl",
        "altair",
        "vl-convert-python",
        "SALib",
        "jinja2",
        "markupsafe",
        "typer",
        "rich",
    )
    for name in names:
        try:
            rows.append((name, importlib.metadata.version(name)))
        except importlib.metadata.PackageNotFoundError:
            rows.append((name, "missing: reinstall roofspring"))
    return tuple(rows)
