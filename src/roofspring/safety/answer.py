"""The answer to "Is it fit to drink?": ways, barriers, risk, findings, each with its doubt."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from roofspring.errors import Finding
from roofspring.network.result import Provenance
from roofspring.safety.inspection import Kept
from roofspring.safety.paths import CheckRow, NotSaid, Route
from roofspring.safety.prices import SafetyCosts
from roofspring.safety.risk import AgentRisk, Illness
from roofspring.safety.tap_water import TapWater
from roofspring.units import UnitSet


@dataclass(frozen=True)
class SafetyAnswer:
    """Everything that can be said of a plan's drinking water without a laboratory.

    Attributes
    ----------
    sentence : str
        The answer.
    evidence, unknown, change : tuple of str
        What the evidence shows, what it cannot show, and what would change it.
    routes : tuple of Route
        The weakest first.
    risk : tuple of AgentRisk
        Empty when nobody drinks.
    stars : int or None
        Class of household treatment by the low ends, 0 to 3.
    water : TapWater or None
    findings : tuple of Finding
    show : str
    missing : tuple of NotSaid
        Facts that checks needed and the plan does not give.
    checks : tuple of CheckRow
        How every check came out.
    kept : Kept or None
        What the logbook says; nothing where there is none.
    costs : SafetyCosts or None
        What changes cost; nothing where the plan has no prices.
    illness : Illness or None
        Illness by all germs together, beside what was counted in people; goes with ``risk``.
    """

    sentence: str
    evidence: tuple[str, ...]
    unknown: tuple[str, ...]
    change: tuple[str, ...]
    routes: tuple[Route, ...]
    risk: tuple[AgentRisk, ...]
    stars: int | None
    water: TapWater | None
    findings: tuple[Finding, ...]
    show: UnitSet
    provenance: Provenance
    missing: tuple[NotSaid, ...] = ()
    checks: tuple[CheckRow, ...] = ()
    files: tuple[str, ...] = ()
    kept: Kept | None = None
    costs: SafetyCosts | None = None
    illness: Illness | None = None

    def to_dict(self) -> dict[str, Any]:
        """One JSON object; numbers of risk have two digits, for no more is known."""
        water = self.water
        return {
            "sentence": self.sentence,
            "evidence": list(self.evidence),
            "unknown": list(self.unknown),
            "change": list(self.change),
            "paths": [r.to_dict() for r in self.routes],
            "risk": [r.to_dict() for r in self.risk],
            "illness": None if self.illness is None else self.illness.to_dict(),
            "treatment_stars": self.stars,
            "water": None
            if water is None
            else {
                "from_run": water.is_from_run,
                "uses": list(water.uses),
                "raw_mean_frac": float(f"{water.raw_mean_frac:.3g}"),
                "tap_raw_mean_frac": {t: float(f"{v:.3g}") for t, v in water.tap_raw_frac.items()},
                "young_days_per_year": round(water.young_days_per_year, 1),
                "cold_days_per_year": round(water.cold_days_per_year, 1),
            },
            "not_said": [n.to_dict() for n in self.missing],
            "checks": [c.to_dict() for c in self.checks],
            "costs": None if self.costs is None else self.costs.to_dict(),
            "logbook": None if self.kept is None else self.kept.to_dict(),
            "findings": [f.to_dict() for f in self.findings],
            "files": list(self.files),
            "provenance": self.provenance.to_dict(),
        }
