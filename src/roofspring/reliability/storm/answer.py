"""The answer to "Will it catch the storm?"."""

from __future__ import annotations

from dataclasses import asdict, dataclass, fields, is_dataclass
from typing import Any

from roofspring.errors import Finding
from roofspring.network.events import Event
from roofspring.network.result import Provenance
from roofspring.network.swale import SwaleStorm
from roofspring.reliability.storm.account import AccountRow
from roofspring.reliability.storm.series import Series
from roofspring.reliability.storm.spills import Went
from roofspring.reliability.storm.trial import Advice
from roofspring.units import UnitSet


@dataclass(frozen=True)
class StormAnswer:
    """One storm through the plan. JSON keys as in the command contract."""

    show: UnitSet
    sentence: str
    start: str
    """First day, for a stretch of the record; empty for a storm made to order."""
    depth_mm: float
    duration_s: float
    step_s: float
    pattern: str
    peak_mm_per_h: float
    """In the worst five minutes, or the worst step where steps are longer."""
    rain_source: str
    faults: tuple[str, ...]
    """What was taken to be broken, in words."""
    fell_m3: float
    caught_m3: float
    filtered_m3: float
    kept_m3: float
    """Of what fell: drawn, or in a tank or a filter at the end."""
    bypassed_m3: float
    """What spilled, past the filters, into a store of filtered water, and stayed there."""
    spilled: tuple[Went, ...]
    lost: tuple[Went, ...]
    """Before any store: wetting, splash, screen reject, first flush."""
    account: tuple[AccountRow, ...]
    """Where the storm's water went: the rows add up to what fell."""
    advice: Advice | None
    """What single changes would have done; None when none were tried."""
    events: tuple[Event, ...]
    peak_level_m: dict[str, float]
    swales: tuple[SwaleStorm, ...]
    """Swales whose area, depth and soil are given, through these minutes."""
    minutes: int
    residual_m3: float
    findings: tuple[Finding, ...]
    provenance: Provenance
    series: Series

    def to_dict(self, *, series: bool = False) -> dict[str, Any]:
        """Plain dictionary for JSON, with every step where asked."""
        made = {f.name: getattr(self, f.name) for f in fields(self) if f.name != "series"}
        plain: dict[str, Any] = {name: _plain(value) for name, value in made.items()}
        if series:
            plain["series"] = self.series.to_dict()
        return plain


def _plain(value: Any) -> Any:
    if isinstance(value, tuple):
        return [_plain(item) for item in value]
    return asdict(value) if is_dataclass(value) and not isinstance(value, type) else value
