"""Every check of a plan's ways with how it came out, so that silence is not taken for a pass."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from roofspring.errors import Finding
from roofspring.plan.model import Plan
from roofspring.safety.paths.facts import NotSaid
from roofspring.safety.paths.graph import is_buried

State = Literal["stop", "caution", "note", "not said", "nothing found", "does not apply"]


@dataclass(frozen=True)
class CheckRow:
    """One check.

    Attributes
    ----------
    about : str
        What was looked for.
    state : str
        The gravest finding; ``not said`` where the plan lacks a fact that it needs.
    codes, where : tuple of str
        Findings that it made, and where.
    """

    about: str
    state: State
    codes: tuple[str, ...]
    where: tuple[str, ...]

    def to_dict(self) -> dict[str, object]:
        """Plain values, for JSON."""
        return {
            "about": self.about,
            "state": self.state,
            "codes": list(self.codes),
            "where": list(self.where),
        }


CHECKS: tuple[tuple[str, str, tuple[str, ...]], ...] = (
    ("raw", "unfiltered roof water to a drinking tap", ("SAF-101", "SAF-102")),
    ("turned", "the same, with a diverter turned or a drain open", ("SAF-104", "SAF-105")),
    ("missed", "ways past one of the barriers", ("SAF-108",)),
    ("thrown", "first flush or screen water that runs back", ("SAF-118",)),
    ("alone", "one kind of barrier alone", ("SAF-109",)),
    ("mixed", "raw and clean water behind one wall or in one drain", ("SAF-144", "SAF-145")),
    ("other", "other water without an air gap or a barrier", ("SAF-140", "SAF-141")),
    ("back", "hoses, overflows and inlets that water runs back through",
     ("SAF-106", "SAF-107", "LVL-005", "OVF-103", "OVF-104")),
    ("ground", "ground water into buried tanks", ("SAF-142",)),
    ("chlorine", "chlorine on its way to the sand", ("SAF-110",)),
    ("weir", "a weir under the sand", ("LVL-007",)),
    ("inlet", "no air over the water on the sand", ("LVL-006",)),
    ("throttle", "a filter that nothing throttles", ("LVL-016",)),
    ("store", "a filter without a store before it", ("SAF-146",)),
    ("overflow", "overflows that cannot carry what comes", ("OVF-102",)),
    ("mesh", "mesh and open ends that animals pass", ("SAF-112", "OVF-105")),
    ("light", "light on stored water", ("SAF-113",)),
    ("lid", "lids that open", ("SAF-154",)),
    ("vent", "shut tanks without a vent", ("SAF-148",)),
    ("used", "used containers", ("SAF-114",)),
    ("lead", "doubtful roofs, and lead", ("SAF-103", "SAF-153")),
    ("touched", "materials that give something off", ("SAF-158",)),
    ("stored", "clean water stored with nothing in it", ("SAF-115", "SAF-149")),
    ("stale", "water that stands in pipes", ("SAF-150",)),
    ("lamp", "a lamp in water that is not cleared", ("SAF-111",)),
    ("power", "lamps that let water by when the power fails", ("SAF-147",)),
    ("dose", "lamps proven for less than counts", ("SAF-156",)),
    ("shade", "water that takes the lamp's light", ("SAF-157",)),
    ("time", "chlorine without time", ("SAF-152",)),
    ("sample", "places to draw samples", ("SAF-116",)),
    ("clean", "drains and valves for cleaning", ("SAF-151",)),
)  # fmt: skip
"""Name, what is looked for, and the codes of its findings."""


def board(
    plan: Plan,
    findings: Sequence[Finding],
    missing: Sequence[NotSaid],
    *,
    heights_looked_at: bool = False,
) -> tuple[CheckRow, ...]:
    """How each check came out.

    Parameters
    ----------
    plan : Plan
    findings : sequence of Finding
        Of the ways, and of the heights where they were looked at.
    missing : sequence of NotSaid
        From `roofspring.safety.paths.facts.not_said`.
    heights_looked_at : bool
        The findings hold those of heights and overflows too; without them nothing is said of these.

    Returns
    -------
    tuple of CheckRow
        In the order of `CHECKS`. A fact that is not said outweighs a note, not a caution.
    """
    methods = {step.method for step in plan.disinfections.values()}
    mains = any(s.water == "mains" for s in plan.sources.values())
    buried = any(is_buried(t) for t in plan.tanks.values())
    idle = {
        "other": not plan.sources,
        "ground": not buried,
        "chlorine": not plan.filters or not ("chlorine" in methods or mains),
        "lamp": "uv" not in methods,
        "power": "uv" not in methods,
        "dose": "uv" not in methods,
        "shade": "uv" not in methods,
        "time": "chlorine" not in methods,
    }
    idle |= dict.fromkeys(("weir", "inlet", "throttle", "store", "sample"), not plan.filters)
    rows = []
    for name, about, codes in CHECKS:
        if not heights_looked_at and not any(code.startswith("SAF") for code in codes):
            continue
        hits = [f for f in findings if f.code in codes]
        silent = tuple(dict.fromkeys(w for n in missing if n.check == name for w in n.where))
        worst: State = "nothing found"
        if hits:
            worst = min((f.severity for f in hits), key=("stop", "caution", "note").index)
        if worst in ("nothing found", "note") and silent:
            worst = "not said"
        if worst == "nothing found" and idle.get(name, False):
            worst = "does not apply"
        where = silent if worst == "not said" else tuple(dict.fromkeys(f.where for f in hits))
        rows.append(CheckRow(about, worst, tuple(dict.fromkeys(f.code for f in hits)), where))
    return tuple(rows)
