"""What the water touches on its way to a drinking tap, and what that gives off."""

from __future__ import annotations

from collections.abc import Iterator

from roofspring.errors import Finding, Severity
from roofspring.safety.materials import Grade, touched
from roofspring.safety.paths.zones import Zones

SEVERITY: dict[Grade, Severity] = {
    "avoid": "stop",
    "wait": "stop",
    "doubtful": "caution",
    "ask": "caution",
}
"""By the grade of the table; one in common use makes no finding."""

ONLY_CLEAN = ("drain-pipe",)
"""Doubtful only where filtered water runs in it."""


def material_findings(zones: Zones) -> Iterator[Finding]:
    """Materials that do not belong where people drink.

    Parameters
    ----------
    zones : Zones

    Yields
    ------
    Finding
        SAF-158.
    """
    for where, names, is_raw in _touched(zones):
        for name in names:
            row = touched(name)
            if row.grade not in SEVERITY or (is_raw and name in ONLY_CLEAN):
                continue
            yield Finding(
                "SAF-158",
                SEVERITY[row.grade],
                "the water touches a material that gives something off, and no barrier here takes "
                "that out",
                where=where,
                got=f"{row.material}: {row.gives_off}",
                source=row.source,
                next=row.advice,
            )


def _touched(zones: Zones) -> Iterator[tuple[str, tuple[str, ...], bool]]:
    """Place, names, and whether raw water is in it, of all that is on the way to a tap."""
    for roof_id, roof in sorted(zones.plan.roofs.items()):
        if roof_id in zones.before:
            yield roof_id, roof.touches or (), True
    for tank_id, tank in zones.tanks.items():
        yield tank_id, tank.touches or (), zones.is_raw(tank_id)
    for c in zones.pipes():
        yield f"pipe.{c.pipe_id}", c.pipe.touches or (), zones.carries_raw(c)
