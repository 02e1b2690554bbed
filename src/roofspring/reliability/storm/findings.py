"""What the storm says is wrong, and what it took for granted."""

from __future__ import annotations

from collections.abc import Iterator

from roofspring.errors import Finding
from roofspring.plan.model import Plan
from roofspring.reliability.storm.spills import Went
from roofspring.sources import ENGINEERING_CHOICE


def gutter_findings(rows: tuple[tuple[str, Went], ...]) -> Iterator[Finding]:
    """A caution for each gutter that ran over."""
    for roof, went in rows:
        yield Finding(
            "ROF-101",
            "caution",
            "the gutter carries less than runs off the roof in the worst of this storm",
            where=f"{roof}.gutter",
            got=went.why,
            source="EN_12056_3",
            next="widen the gutter or the downpipe, give it a second outlet, or accept the loss",
        )


def limit_findings(plan: Plan) -> Iterator[Finding]:
    """What the storm takes to be wide enough."""
    bare = [roof_id for roof_id, roof in sorted(plan.roofs.items()) if roof.gutter is None]
    if bare:
        yield Finding(
            "STO-101",
            "note",
            "no gutter is given for these roofs, so they are taken to have gutters and downpipes "
            "that carry all that comes: what they would spill is counted as caught",
            where=", ".join(bare),
            source=ENGINEERING_CHOICE,
            next="add gutter to [roof...], or read the caught volume as the most that can be "
            "caught",
        )
    yield Finding(
        "STO-102",
        "note",
        "screens and overflows are taken to be wide enough: what a blocked screen would spill is "
        "counted as caught",
        where="screens and overflows",
        source=ENGINEERING_CHOICE,
        next="read the caught volume as the most that can be caught",
    )
