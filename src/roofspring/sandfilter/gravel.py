"""Gravel under the sand: layers that hold it back, let the water through, and end at the drain."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from roofspring.errors import Finding
from roofspring.errors.limits import positive
from roofspring.sandfilter.gravel_rules import (
    RULES,
    Base,
    GravelRule,
    RuleCheck,
    RuleName,
    boundary_checks,
    held_grain_m,
    layer_base,
    layer_checks,
    rule_named,
    sand_base,
)
from roofspring.sandfilter.sieve.sizes import series, size_text

__all__ = [
    "RULES",
    "Base",
    "GravelDesign",
    "GravelLayer",
    "GravelRule",
    "RuleCheck",
    "RuleName",
    "boundary_checks",
    "cover_drain",
    "design_gravel",
    "gravel_findings",
    "held_grain_m",
    "layer_base",
    "layer_checks",
    "rule_named",
    "sand_base",
]

MOST_LAYERS = 6
LEAST_THICKNESS_M = 0.06
GRAINS_DEEP = 3.0
COVER_M = 0.03
"""Layers are at least three of their largest grains deep, and 30 mm of the lowest lies over the
drain pipe: engineering choice."""
HOUSEHOLD_M = ((0.7e-3, 6e-3), (6e-3, 12e-3))
"""Two layers of 50 mm of household filters (CAWST_SHEET)."""
HOUSEHOLD_THICKNESS_M = 0.05


@dataclass(frozen=True)
class GravelLayer:
    """One layer, from the top down: grains between two sieves.

    ``checks`` are of its own grading and of the boundary to what lies above it; those of the lowest
    layer hold the one to the drain too.
    """

    low_m: float
    high_m: float
    thickness_m: float
    checks: tuple[RuleCheck, ...]

    @property
    def base(self) -> Base:
        """Its own sizes, its grains being spread evenly over the logarithm of size."""
        return layer_base(self.low_m, high_m=self.high_m)

    @property
    def text(self) -> str:
        """Its sizes for a reader."""
        return f"{self.low_m * 1e3:g} to {self.high_m * 1e3:g} mm"


@dataclass(frozen=True)
class GravelDesign:
    """Layers by one rule; empty with ``lack`` where none can be found."""

    rule: GravelRule
    layers: tuple[GravelLayer, ...]
    hole_m: float
    lack: str = ""

    @property
    def thickness_m(self) -> float:
        """Of all the layers [m]."""
        return math.fsum(layer.thickness_m for layer in self.layers)


def design_gravel(sand: Base, *, hole_m: float, rule: GravelRule) -> GravelDesign:
    """The fewest layers from the sand down to the drain holes by one rule.

    Parameters
    ----------
    sand : Base
        From `sand_base`.
    hole_m : float
        Diameter of the drain holes [m], above 0.
    rule : GravelRule
        One of `RULES`.

    Returns
    -------
    GravelDesign
        Of designs with as few layers, the one whose least margin is largest.

    Raises
    ------
    RangeError (DOM-002)
        The hole is not above 0.

    Notes
    -----
    Layers run between sieves of ISO 565, R 20/3 and R 40/3, so that they can be sieved or bought.
    Each is at least 60 mm, and three of its largest grains, deep.

    Source
    ------
    As the rule says; ISO_565 (sieves); HUISMAN_WOOD_1974 (60 mm); engineering choice (three
    grains).
    """
    positive("hole_m", hole_m)
    if rule.name == "household":
        return _household(sand, hole_m, rule)
    openings = series("iso")[::-1]
    ends = {
        layer_base(low, high_m=high): (low, high)
        for i, low in enumerate(openings)
        for high in openings[i + 2 : i + 5]
        if high / low <= rule.spread_most * 1.01 and low >= sand.d15_m
    }
    layers = tuple(ends)
    paths: list[tuple[Base, ...]] = [(c,) for c in layers if _holds(c, sand, rule, top=True)]
    for _ in range(MOST_LAYERS):
        ended = [
            p
            for p in paths
            if _ends(p[-1], p[-2] if len(p) > 1 else sand, rule, hole_m, top=len(p) == 1)
        ]
        if ended:
            best = max(ended, key=lambda p: _margin(p, sand, rule, hole_m))
            sizes = tuple(ends[layer] for layer in best)
            return GravelDesign(rule, _layers(best, sizes, sand, rule, hole_m), hole_m)
        # Of all ways to one layer only the one with the largest margin need go on.
        onward: dict[Base, tuple[Base, ...]] = {}
        for path in paths:
            for c in layers:
                if c.d10_m > path[-1].d10_m and _holds(c, path[-1], rule, top=False):
                    made = (*path, c)
                    held = onward.get(c)
                    if held is None or _margin(made, sand, rule, None) > _margin(
                        held, sand, rule, None
                    ):
                        onward[c] = made
        paths = list(onward.values())
    lack = (
        "no gravel between standard sieves both holds this sand and lets its water through"
        if not any(_holds(c, sand, rule, top=True) for c in layers)
        else "no row of layers leads from this sand to holes so wide"
    )
    return GravelDesign(rule, (), hole_m, lack)


def _holds(layer: Base, above: Base, rule: GravelRule, *, top: bool) -> bool:
    return all(c.ok for c in layer_checks(layer, above=above, rule=rule, top=top))


def _ends(layer: Base, above: Base, rule: GravelRule, hole_m: float, *, top: bool) -> bool:
    return all(c.ok for c in layer_checks(layer, above=above, rule=rule, top=top, hole_m=hole_m))


def _margin(path: Sequence[Base], sand: Base, rule: GravelRule, hole_m: float | None) -> float:
    """The least distance, as a ratio, from any limit."""
    least = math.inf
    for i, layer in enumerate(path):
        above = sand if i == 0 else path[i - 1]
        last = hole_m if i == len(path) - 1 else None
        for c in layer_checks(layer, above=above, rule=rule, top=i == 0, hole_m=last):
            if c.kind == "spread":
                continue
            if c.low is not None:
                least = min(least, c.have / c.low)
            if c.high is not None:
                least = min(least, c.high / c.have)
    return least


def _layers(
    path: Sequence[Base],
    sizes: Sequence[tuple[float, float]],
    sand: Base,
    rule: GravelRule,
    hole_m: float,
) -> tuple[GravelLayer, ...]:
    made = []
    for i, (layer, (low_m, high_m)) in enumerate(zip(path, sizes, strict=True)):
        above = sand if i == 0 else path[i - 1]
        last = hole_m if i == len(path) - 1 else None
        checks = layer_checks(layer, above=above, rule=rule, top=i == 0, hole_m=last)
        thick_m = max(LEAST_THICKNESS_M, math.ceil(GRAINS_DEEP * high_m / 0.01 - 1e-9) * 0.01)
        made.append(GravelLayer(low_m, high_m, thick_m, checks))
    return tuple(made)


def _household(sand: Base, hole_m: float, rule: GravelRule) -> GravelDesign:
    made: list[GravelLayer] = []
    for i, (low_m, high_m) in enumerate(HOUSEHOLD_M):
        above = sand if i == 0 else made[-1].base
        last = hole_m if i == len(HOUSEHOLD_M) - 1 else None
        checks = layer_checks(
            layer_base(low_m, high_m=high_m), above=above, rule=rule, top=i == 0, hole_m=last
        )
        made.append(GravelLayer(low_m, high_m, HOUSEHOLD_THICKNESS_M, checks))
    return GravelDesign(rule, tuple(made), hole_m)


def cover_drain(design: GravelDesign, *, pipe_m: float) -> GravelDesign:
    """The same layers with the lowest deep enough to lie over the drain pipe.

    Parameters
    ----------
    design : GravelDesign
    pipe_m : float
        Diameter of the drain pipe [m].

    Returns
    -------
    GravelDesign
        The lowest layer is at least 30 mm deeper than the pipe: engineering choice.

    Raises
    ------
    RangeError (DOM-002)
        The pipe is not above 0.
    """
    positive("pipe_m", pipe_m)
    if not design.layers:
        return design
    *above, last = design.layers
    deep_m = math.ceil((pipe_m + COVER_M) / 0.01 - 1e-9) * 0.01
    return replace(
        design, layers=(*above, replace(last, thickness_m=max(last.thickness_m, deep_m)))
    )


def gravel_findings(design: GravelDesign, sand: Base) -> tuple[Finding, ...]:
    """Where the layers fail their own rule, and what the other published rules say of them.

    Parameters
    ----------
    design : GravelDesign
    sand : Base

    Returns
    -------
    tuple of Finding
    """
    found = []
    if not design.layers:
        found.append(
            Finding(
                "GRV-101",
                "caution",
                design.lack,
                "gravel",
                f"sand d15 {size_text(sand.d15_m)}, d85 {size_text(sand.d85_m)}; holes "
                f"{size_text(design.hole_m)}",
                design.rule.words,
                design.rule.source,
                "take smaller holes, or follow another rule: "
                + ", ".join(r for r in RULES if r != design.rule.name),
            )
        )
    for i, layer in enumerate(design.layers, start=1):
        found += [
            Finding(
                "GRV-102",
                "caution",
                f"gravel layer {i} breaks the rule of {check.kind}",
                layer.text,
                f"{check.what}: {check.have:.2f}",
                check.limit,
                check.source,
                "choose other gravel, or smaller holes",
            )
            for check in layer.checks
            if not check.ok
        ]
    found += _others(design, sand)
    return tuple(found)


def _others(design: GravelDesign, sand: Base) -> list[Finding]:
    """One note for each other rule that these layers would break."""
    found = []
    for rule in RULES.values():
        if rule.name in (design.rule.name, "household"):
            continue
        above, wrong = sand, []
        for i, layer in enumerate(design.layers):
            last = design.hole_m if i == len(design.layers) - 1 else None
            checks = layer_checks(layer.base, above=above, rule=rule, top=i == 0, hole_m=last)
            wrong += [
                f"layer {i + 1}: {c.what} {c.have:.2f}, {c.limit}"
                for c in checks
                if not c.ok and c.kind != "spread"
            ]
            above = layer.base
        if wrong:
            found.append(
                Finding(
                    "GRV-103",
                    "note",
                    f"the sources disagree: by the rule '{rule.name}' these layers would not do",
                    "gravel",
                    "; ".join(wrong),
                    rule.words,
                    rule.source,
                    f"weigh which to follow; --gravel {rule.name} designs by it",
                )
            )
    return found
