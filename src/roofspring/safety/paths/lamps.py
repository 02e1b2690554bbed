"""Lamps: the dose that they were proven for, and the water that shades them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from roofspring.errors import Finding
from roofspring.safety.disinfection import CLASS_A, TRANSMITTANCE_LEAST, water_factor_frac
from roofspring.safety.paths.facts import lamps_before_taps
from roofspring.safety.paths.graph import STORM, is_counted
from roofspring.safety.paths.routes import Route
from roofspring.safety.paths.zones import Zones

CHAMBER_M = 0.02
"""Depth of water for which the shade is told: as in the middle column of the light table."""


def past_lamp(routes: Sequence[Route], lamp: str) -> list[Route]:
    """Open routes over a lamp; where the search kept another route like it, every open one."""
    usual = [r for r in routes if r.when <= STORM]
    return [r for r in usual if lamp in r.parts] or usual


def lamp_findings(routes: Sequence[Route], zones: Zones) -> Iterator[Finding]:
    """SAF-156 and SAF-157, for each lamp on the way to a drinking tap."""
    for lamp in lamps_before_taps(zones):
        step = zones.plan.disinfections[lamp]
        if step.dose_mj_per_cm2 is not None and not is_counted(step):
            yield _weak(routes, lamp, step.dose_mj_per_cm2)
        clear = step.transmittance_frac
        if clear is not None and clear < TRANSMITTANCE_LEAST.value:
            yield _shaded(lamp, clear)


def _weak(routes: Sequence[Route], lamp: str, dose_mj_per_cm2: float) -> Finding:
    # Sand and a cartridge are filters: they disinfect nothing.
    alone = not all(r.mechanisms - {"sand", "cartridge"} for r in past_lamp(routes, lamp))
    return Finding(
        "SAF-156",
        "stop" if alone else "caution",
        "this lamp is proven for too little to count: it only helps beside other steps"
        + (", and no other disinfects this water" if alone else ""),
        where=lamp,
        got=f"{dose_mj_per_cm2:g} mJ/cm² at its alarm point; counted as nothing",
        limit=f"{CLASS_A.value:g} mJ/cm² or more at its alarm point (class A)",
        source=CLASS_A.source,
        next="put in a lamp of class A; until then boil what is drunk",
    )


def _shaded(lamp: str, transmittance_frac: float) -> Finding:
    mean = water_factor_frac(transmittance_frac, path_m=CHAMBER_M)
    end = transmittance_frac ** (100.0 * CHAMBER_M)
    return Finding(
        "SAF-157",
        "caution",
        "the water takes too much of the lamp's light: what is far from the lamp gets too little",
        where=lamp,
        got=f"{100 * transmittance_frac:.3g} % gets through 1 cm; of the light at the sleeve "
        f"{100 * end:.0f} % is left at 2 cm, {100 * mean:.0f} % in the mean on the way",
        limit=f"{100 * TRANSMITTANCE_LEAST.value:g} % or more through 1 cm",
        source=f"{TRANSMITTANCE_LEAST.source} and BOLTON_LINDEN_2003, from memory",
        next="have it tested, put carbon or a finer filter before the lamp, and keep leaves out",
    )
