"""The form of the commissioning and cleaning guide: steps, their amounts, and what they are for."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Literal

from roofspring.errors.limits import not_negative, part_share, positive

Kind = Literal["length", "small-length", "area", "volume", "flow", "rate", "time", "mass", "count"]

_SHOWN: dict[Kind, tuple[float, str]] = {
    "length": (1.0, "m"),
    "small-length": (1e3, "mm"),
    "area": (1.0, "m²"),
    "volume": (1e3, "L"),
    "flow": (3.6e6, "L/h"),
    "rate": (3600.0, "m/h"),
    "mass": (1.0, "kg"),
    "count": (1.0, ""),
}


@dataclass(frozen=True)
class Amount:
    """A number of a step: its place in the words, its SI value, and what kind of quantity it is."""

    key: str
    value: float
    kind: Kind

    @property
    def plain(self) -> str:
        """In metric units, to three digits.

        >>> Amount("t", 5400.0, "time").plain, Amount("v", 0.21, "volume").plain
        ('1.5 h', '210 L')
        """
        if self.kind == "time":
            for size, unit in ((86400.0, "days"), (3600.0, "h"), (60.0, "min")):
                if self.value >= 1.5 * size or (self.value >= size and unit != "days"):
                    return f"{self.value / size:.2g} {unit}"
            return f"{self.value:.0f} s"
        scale, unit = _SHOWN[self.kind]
        return f"{_three_digits(self.value * scale)} {unit}".strip()


def _three_digits(value: float) -> str:
    if abs(value) < 1000.0:
        return f"{value:.3g}"
    step = 10 ** (math.floor(math.log10(abs(value))) - 2)
    return f"{round(value / step) * step:,}"


@dataclass(frozen=True)
class Step:
    """One step.

    Attributes
    ----------
    part : str
        ``start``, ``ripen``, ``scrape``, ``rake``, ``re-sand``, ``stop`` or ``dry``.
    do : str
        What to do, with ``{key}`` where an amount belongs.
    amounts : tuple of Amount
    why : str
    caution : str
        Said beside the step; may be empty.
    source : str
    """

    part: str
    do: str
    amounts: tuple[Amount, ...] = ()
    why: str = ""
    caution: str = ""
    source: str = "common practice, no source"

    @property
    def plain(self) -> str:
        """The words with metric amounts in place."""
        return self.do.format(**{amount.key: amount.plain for amount in self.amounts})

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON: amounts in SI by key, and the words with metric ones."""
        return {
            "part": self.part,
            "do": self.do,
            "plain": self.plain,
            "amounts": {a.key: {"value": a.value, "kind": a.kind} for a in self.amounts},
            "why": self.why,
            "caution": self.caution,
            "source": self.source,
        }


@dataclass(frozen=True)
class GuideInputs:
    """The filter that the guide is for.

    Attributes
    ----------
    area_m2, sand_m, gravel_m : float
        Plan area, and depths of sand and gravel.
    porosity_frac : float
    conductivity_20_m_per_s : float
        Of the clean sand at 20 degrees C.
    crest_over_sand_m : float
        Outlet weir crest over the sand.
    head_m : float
        Highest working water over the weir crest.
    rate_m_per_s : float
        Design rate.
    temp_degc : float
        Of the water in the weeks in question.
    scrape_m, least_sand_m : float
        Sand taken by a scrape, and depth at which new sand must come.
    filters_count : int
        Side by side.
    """

    area_m2: float
    sand_m: float
    gravel_m: float
    porosity_frac: float
    conductivity_20_m_per_s: float
    crest_over_sand_m: float
    head_m: float
    rate_m_per_s: float
    temp_degc: float
    scrape_m: float
    least_sand_m: float
    filters_count: int = 1

    def __post_init__(self) -> None:
        for name in (
            "area_m2",
            "sand_m",
            "conductivity_20_m_per_s",
            "head_m",
            "rate_m_per_s",
            "scrape_m",
        ):
            positive(name, getattr(self, name))
        not_negative("gravel_m", self.gravel_m)
        not_negative("crest_over_sand_m", self.crest_over_sand_m)
        not_negative("least_sand_m", self.least_sand_m)
        part_share("porosity_frac", self.porosity_frac)

    @property
    def flow_m3_per_s(self) -> float:
        """Flow at the design rate."""
        return self.rate_m_per_s * self.area_m2


@dataclass(frozen=True)
class Guide:
    """The steps in order, and the cautions that hold for all of them."""

    steps: tuple[Step, ...]
    cautions: tuple[str, ...]

    def part(self, name: str) -> tuple[Step, ...]:
        """The steps of one part, in order."""
        return tuple(step for step in self.steps if step.part == name)

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        return {
            "steps": [step.to_dict() for step in self.steps],
            "cautions": list(self.cautions),
        }
