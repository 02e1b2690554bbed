"""Where each litre of a storm went: an account that adds up to what fell."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from roofspring.network.result import GROUND, Arc
from roofspring.network.window import WindowResult
from roofspring.plan.model import Filter, Plan, Roof, Swale, Tank

FloatArray = npt.NDArray[np.float64]

NOTHING_M3 = 1e-12

GONE_OVER, GONE_BRIM = "left over the overflow", "ran over the brim"
WORDS: dict[str, str] = {
    "wetting": "wetted the roof and dried off",
    "splash": "splashed, blew or leaked away",
    "slid": "slid off as snow",
    "gutter": "ran over the gutter",
    "reject": "thrown off by the screen with the leaves",
    "weep": "held by the first flush and wept away",
    "overflow": GONE_OVER,
    "pass": "ran out where no pipe leads on",
    "sand": "ran out where no pipe leads on",
    "feed": "ran off by a pipe",
    "rim": GONE_BRIM,
    "leak": "leaked away",
    "evaporation": "evaporated",
    "waste": "let away while the filter ripened",
}
CATCHABLE: tuple[str, ...] = ("gutter", "reject", "overflow", "rim", "leak")
"""Kinds of way by which water is lost that something in the plan could have caught."""
HELD, USED = "held at the end", "drawn in these hours"
SNOW = "lies on it as snow"


@dataclass(frozen=True)
class AccountRow:
    """One place that water of the storm went to.

    Attributes
    ----------
    where : str
        The part it left, the part that holds it, or the use that drew it.
    how : str
        What became of it.
    to_part : str
        Where it went, for water that left.
    words : str
        The row as a person reads it.
    m3 : float
        How much more than in the same hours without rain [m3].
    share_frac : float
        Of what fell.
    kept : bool
        True where it was drawn, or is still in a tank or a filter.
    """

    where: str
    how: str
    to_part: str
    words: str
    m3: float
    share_frac: float
    kept: bool


def account(plan: Plan, wet: WindowResult, dry: WindowResult) -> tuple[AccountRow, ...]:
    """Every place the storm's water went to, the most first.

    Parameters
    ----------
    plan : Plan
    wet, dry : WindowResult
        The same hours from the same start, with the storm and without it.

    Returns
    -------
    tuple of AccountRow
        Their ``m3`` add up to what fell.

    Notes
    -----
    Water that stood in the stores before is drawn and spilled too. What the storm did is therefore
    the difference between the run with it and the run without it. For each run, what fell is what
    left for good plus what was drawn plus what the stores hold more; so the differences add up.
    """
    fell_m3 = _fell(wet) - _fell(dry)
    parts = dict(plan.parts())
    moved = wet.flow_m3.sum(axis=0) - dry.flow_m3.sum(axis=0)
    held = (wet.content_m3[-1] - wet.content_m3[0]) - (dry.content_m3[-1] - dry.content_m3[0])
    rows: dict[tuple[str, str, str, bool], float] = {}
    for arc, m3 in zip(wet.arcs, moved, strict=True):
        if arc.kind == "draw" or arc.to_part == GROUND or isinstance(parts.get(arc.to_part), Swale):
            key = (
                (arc.to_part, USED, "", True)
                if arc.kind == "draw"
                else (arc.from_part, WORDS[arc.kind], arc.to_part, False)
            )
            rows[key] = rows.get(key, 0.0) + float(m3)
    for part_id, m3 in zip(wet.nodes, held, strict=True):
        kept = isinstance(parts.get(part_id), (Tank, Filter))
        how = SNOW if isinstance(parts.get(part_id), Roof) else HELD
        rows[(part_id, how, "", kept)] = float(m3)
    made = [
        AccountRow(
            where,
            how,
            to,
            _words(plan, where, how, to),
            m3,
            m3 / fell_m3 if fell_m3 > 0.0 else 0.0,
            kept,
        )
        for (where, how, to, kept), m3 in rows.items()
        if abs(m3) > NOTHING_M3
    ]
    return tuple(sorted(made, key=lambda r: (-r.m3, r.where, r.how)))


def is_catchable_loss(plan: Plan, arcs: Sequence[Arc]) -> list[bool]:
    """The ways of being lost that something in the plan could have caught."""
    ground = (GROUND, *plan.swales)
    return [arc.kind in CATCHABLE and arc.to_part in ground for arc in arcs]


def _words(plan: Plan, where: str, how: str, to: str) -> str:
    named = plan.uses if how == USED else dict(plan.parts())
    words = f"{named[where].label or where}: {how}"
    if to and to != GROUND:
        words += f" to {dict(plan.parts())[to].label or to}"
    return words


def kept_m3(rows: tuple[AccountRow, ...]) -> float:
    """What was drawn or is still in a tank or a filter [m3]."""
    return float(sum(row.m3 for row in rows if row.kept))


def _fell(window: WindowResult) -> float:
    return float(window.flow_m3[:, [arc.kind == "rain" for arc in window.arcs]].sum())
