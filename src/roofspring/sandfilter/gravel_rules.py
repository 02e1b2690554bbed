"""Published rules for gravel under sand: what holds grains back, and what lets water through."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from roofspring.errors import Problem, RangeError
from roofspring.errors.limits import positive
from roofspring.errors.names import did_you_mean
from roofspring.sandfilter.sieve.curve import GradingCurve

RuleName = Literal["huisman-wood", "sherard-5", "terzaghi-4", "household"]
Kind = Literal["retention", "permeability", "spread", "range", "drain"]
SELF_FILTER_FRAC = 0.11
"""A uniform filter holds grains from this share of its D15 on (SHERARD_1984)."""

Ratio = tuple[str, str, float, str]
"""A size of the coarser layer, a size of the finer, the limit of their ratio, and its source."""


@dataclass(frozen=True)
class Base:
    """Sizes of the finer material that a layer must hold back [m]."""

    name: str
    d10_m: float
    d15_m: float
    d50_m: float
    d85_m: float
    d90_m: float


@dataclass(frozen=True)
class GravelRule:
    """Published rules by which layers are chosen; None where the source has no such rule.

    Ratios are of the coarser layer to the finer one.
    """

    name: RuleName
    words: str
    spread_most: float
    retention: Ratio
    permeability: Ratio | None
    step: Ratio | None
    range_most: float | None
    drain: tuple[str, float, str]
    source: str


RULES: dict[RuleName, GravelRule] = {
    r.name: r
    for r in (
        GravelRule(
            "huisman-wood",
            "within a layer d90 at most 1.41 d10; the top layer's d10 from 4 d15 to 4 d85 of the "
            "sand; from layer to layer d10 at most times 4",
            math.sqrt(2.0),
            ("d10", "d85", 4.0, "HUISMAN_WOOD_1974"),
            ("d10", "d15", 4.0, "HUISMAN_WOOD_1974"),
            ("d10", "d10", 4.0, "HUISMAN_WOOD_1974"),
            None,
            ("d10", 2.0, "HUISMAN_WOOD_1974"),
            "HUISMAN_WOOD_1974",
        ),
        GravelRule(
            "sherard-5",
            "D15 at most 5 d85 and at least 5 d15 of the layer above, and under 40 d15",
            2.0,
            ("d15", "d85", 5.0, "SHERARD_1984"),
            ("d15", "d15", 5.0, "USACE_RMC_FILTER"),
            None,
            40.0,
            ("d85", 2.0, "USBR_2011"),
            "SHERARD_1984",
        ),
        GravelRule(
            "terzaghi-4",
            "D15 at most 4 d85 and at least 4 d15 of the layer above",
            2.0,
            ("d15", "d85", 4.0, "TERZAGHI_PECK_1948"),
            ("d15", "d15", 4.0, "TERZAGHI_PECK_1948"),
            None,
            None,
            ("d85", 2.0, "USBR_2011"),
            "TERZAGHI_PECK_1948",
        ),
        GravelRule(
            "household",
            "two layers: 0.7 to 6 mm and 6 to 12 mm, 50 mm each",
            12.0,
            ("d15", "d85", 5.0, "SHERARD_1984"),
            None,
            None,
            None,
            ("d85", 2.0, "USBR_2011"),
            "CAWST_SHEET",
        ),
    )
}


@dataclass(frozen=True)
class RuleCheck:
    """One rule on one boundary: the ratio that is there, and the one that is wanted."""

    kind: Kind
    what: str
    have: float
    low: float | None
    high: float | None
    source: str

    @property
    def ok(self) -> bool:
        """Whether the ratio lies within its limits."""
        slack = 1e-9
        return (self.low is None or self.have >= self.low * (1 - slack)) and (
            self.high is None or self.have <= self.high * (1 + slack)
        )

    @property
    def limit(self) -> str:
        """The limit for a reader."""
        if self.low is not None and self.high is not None:
            return f"{self.low:.3g} to {self.high:.3g}"
        return f"at least {self.low:.3g}" if self.high is None else f"at most {self.high:.3g}"


def rule_named(name: str) -> GravelRule:
    """A rule by its name.

    Raises
    ------
    RangeError (DOM-004)
        There is none.
    """
    for rule in RULES.values():
        if rule.name == name:
            return rule
    raise RangeError(
        Problem(
            "DOM-004",
            "no gravel rule goes by this name",
            where="gravel rule",
            got=repr(name),
            allowed=", ".join(RULES),
            next=did_you_mean(name, RULES),
        )
    )


def sand_base(curve: GradingCurve) -> Base | None:
    """The sizes of a sand that its gravel depends on; None where d15 or d85 cannot be read."""
    sizes = {f: curve.size(f).size_m for f in (0.10, 0.15, 0.50, 0.85, 0.90)}
    d15, d50, d85 = sizes[0.15], sizes[0.50], sizes[0.85]
    if d15 is None or d50 is None or d85 is None:
        return None
    return Base("sand", sizes[0.10] or d15, d15, d50, d85, sizes[0.90] or d85)


def layer_base(low_m: float, *, high_m: float) -> Base:
    """Sizes of a layer whose grains are spread evenly over the logarithm of size.

    Raises
    ------
    RangeError (DOM-002)
        The sizes are not above 0 and rising.
    """
    positive("low_m", low_m)
    positive("high_m - low_m", high_m - low_m)

    def at(share: float) -> float:
        return float(low_m * (high_m / low_m) ** share)

    name = f"{low_m * 1e3:g} to {high_m * 1e3:g} mm"
    return Base(name, at(0.10), at(0.15), at(0.50), at(0.85), at(0.90))


def held_grain_m(d15_m: float) -> float:
    """The finest grain that a uniform filter still holds back, ``0.11 D15`` [m].

    >>> round(held_grain_m(2.8e-3) * 1e3, 3)
    0.308
    """
    positive("d15_m", d15_m)
    return SELF_FILTER_FRAC * d15_m


def boundary_checks(
    above: Base, *, below: Base, rule: GravelRule, top: bool
) -> tuple[RuleCheck, ...]:
    """One layer under another, by a rule.

    Parameters
    ----------
    above, below : Base
        The finer material, and the coarser under it.
    rule : GravelRule
    top : bool
        Whether the finer material is the sand.

    Returns
    -------
    tuple of RuleCheck

    Source
    ------
    As the rule says; HUISMAN_WOOD_1974 and SHERARD_1984 differ.
    """
    made = [_ratio("retention", below, above, rule.retention, most=True)]
    if rule.step is not None and not top:
        made = [_ratio("retention", below, above, rule.step, most=True)]
    elif rule.permeability is not None:
        made.append(_ratio("permeability", below, above, rule.permeability, most=False))
    if rule.range_most is not None:
        made.append(
            RuleCheck(
                "range",
                "D15 / d15 above",
                below.d15_m / above.d15_m,
                None,
                rule.range_most,
                "USACE_RIPRAP",
            )
        )
    return tuple(made)


def _size(base: Base, name: str) -> float:
    sizes: dict[str, float] = {"d10": base.d10_m, "d15": base.d15_m, "d85": base.d85_m}
    return sizes[name]


def _ratio(kind: Kind, below: Base, above: Base, rule: Ratio, *, most: bool) -> RuleCheck:
    coarse, fine, limit, source = rule
    have = _size(below, coarse) / _size(above, fine)
    what = f"{coarse.upper()} / {fine} above"
    return RuleCheck(kind, what, have, None if most else limit, limit if most else None, source)


def layer_checks(
    layer: Base, *, above: Base, rule: GravelRule, top: bool, hole_m: float | None = None
) -> tuple[RuleCheck, ...]:
    """All that a rule says of one layer: its grading, what lies above, and the drain under it."""
    spread = RuleCheck(
        "spread",
        "d90 / d10",
        layer.d90_m / layer.d10_m,
        None,
        rule.spread_most,
        rule.source,
    )
    made = (spread, *boundary_checks(above, below=layer, rule=rule, top=top))
    if hole_m is None:
        return made
    part, least, source = rule.drain
    have = _size(layer, part) / hole_m
    return (*made, RuleCheck("drain", f"{part} / drain hole", have, least, None, source))
