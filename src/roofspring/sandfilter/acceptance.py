"""One checklist of published criteria: the filter's own value beside the limit of each source.

The sources were written for different filters, and disagree. Each row says what its source allows;
where some are kept and some are not, that is said as it is, and the designer chooses.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass, fields
from functools import cache
from importlib import resources
from typing import Any, Literal

from roofspring.errors import Finding
from roofspring.sandfilter.heights import HOUSEHOLD_CREST_M
from roofspring.units import UnitSet, show

SHORT = {
    "HUISMAN_WOOD_1974": "Huisman and Wood 1974",
    "VISSCHER_1990": "Visscher 1990",
    "TEN_STATES_2018": "Ten States Standards",
    "MINN_R_4720": "Minnesota rules",
    "AWWA_ASCE_CH9": "AWWA and ASCE",
    "BARRETT_1991": "Barrett 1991",
    "SINCERO_2003": "Sincero and Sincero 2003",
    "CAWST_SHEET": "household filters (CAWST)",
    "EMERGENCY_WASH_T9": "emergency WASH compendium",
    "IDAHO_58_01_08": "Idaho rules",
    "UTAH_R309_530": "Utah rules",
    "EPA_AWOP_2024": "EPA 2024",
}
"""Sources as they are named in tables and findings."""
_US: dict[str, tuple[str, float]] = {
    "m": ("ft", 1.0 / 0.3048),
    "m/h": ("ft/h", 1.0 / 0.3048),
    "m/s": ("ft/s", 1.0 / 0.3048),
}
"""Grain sizes stay in mm everywhere: sieves are marked so."""

State = Literal["within", "below", "above", "not given"]


@dataclass(frozen=True)
class FilterFacts:
    """What a filter is, for `acceptance`; leave out what is not known.

    Attributes
    ----------
    rate_m_per_s, rate_one_out_m_per_s : float
        Filtration rate, and that of the others while one filter is out of use [m/s].
    d10_m, uniformity, fines_frac, finer_150_frac : float
        The sand: effective size [m], d60 over d10, shares finer than 0.075 mm and than 0.15 mm.
    sand_m, least_sand_m, gravel_m : float
        Depth of new sand, depth at which it is re-sanded, gravel and drain [m].
    supernatant_m, crest_over_sand_m : float
        Working water over the sand, and weir crest over the sand [m].
    turbidity, colour : float
        Of the raw water, as the instrument gives them [NTU], [units].
    scrape_m, lateral_m_per_s : float
        Sand taken by a scrape [m]; greatest speed in the drain pipes [m/s].
    oxygen_kg_per_m3 : float
        In the filtrate [kg/m3].
    filters_count : float
        Side by side.
    """

    rate_m_per_s: float | None = None
    rate_one_out_m_per_s: float | None = None
    d10_m: float | None = None
    uniformity: float | None = None
    fines_frac: float | None = None
    finer_150_frac: float | None = None
    sand_m: float | None = None
    least_sand_m: float | None = None
    gravel_m: float | None = None
    supernatant_m: float | None = None
    crest_over_sand_m: float | None = None
    turbidity: float | None = None
    colour: float | None = None
    scrape_m: float | None = None
    lateral_m_per_s: float | None = None
    oxygen_kg_per_m3: float | None = None
    filters_count: float | None = None


@dataclass(frozen=True)
class Criterion:
    """One thing that is looked at: its title, the field, and the unit it is shown in."""

    name: str
    title: str
    field: str
    unit: str
    scale: float


CRITERIA: dict[str, Criterion] = {
    c.name: c
    for c in (
        Criterion("rate", "filtration rate", "rate_m_per_s", "m/h", 3600.0),
        Criterion("rate_one_out", "rate with one out", "rate_one_out_m_per_s", "m/h", 3600.0),
        Criterion("d10", "effective size of the sand", "d10_m", "mm", 1e3),
        Criterion("uniformity", "uniformity coefficient", "uniformity", "", 1.0),
        Criterion("fines", "sand finer than 0.075 mm", "fines_frac", "%", 100.0),
        Criterion("finer_150", "sand finer than 0.15 mm", "finer_150_frac", "%", 100.0),
        Criterion("sand", "depth of new sand", "sand_m", "m", 1.0),
        Criterion("least_sand", "least depth of sand", "least_sand_m", "m", 1.0),
        Criterion("gravel", "gravel and drain", "gravel_m", "m", 1.0),
        Criterion("supernatant", "working water over the sand", "supernatant_m", "m", 1.0),
        Criterion("crest", "weir crest over the sand", "crest_over_sand_m", "m", 1.0),
        Criterion("turbidity", "turbidity of the raw water", "turbidity", "NTU", 1.0),
        Criterion("colour", "colour of the raw water", "colour", "units", 1.0),
        Criterion("scrape", "sand taken by a scrape", "scrape_m", "mm", 1e3),
        Criterion("lateral", "speed in the drain pipes", "lateral_m_per_s", "m/s", 1.0),
        Criterion("oxygen", "oxygen in the filtrate", "oxygen_kg_per_m3", "mg/L", 1e3),
        Criterion("filters", "filters side by side", "filters_count", "", 1.0),
    )
}

NEXT: dict[str, str] = {
    "rate": "give the filter more sand area, throttle it, or run it for more of the day",
    "rate_one_out": "add a filter, or draw on the clean tank while one is out",
    "d10": "sieve the sand, or blend it with another",
    "uniformity": "sieve the sand to a closer grading",
    "fines": "wash the sand until the water over it stays clear",
    "finer_150": "wash or sieve the fine part out",
    "sand": "lay more sand, which also gives more years of scraping",
    "least_sand": "re-sand earlier",
    "gravel": "see the gravel layers: a few graded ones do what depth does",
    "supernatant": "set the overflow lip and the float valve to another height",
    "crest": "set the weir crest to another height; it must never lie below the sand",
    "turbidity": "settle the water in the raw tank, screen it, or put gravel before the sand",
    "colour": "clear leaves from gutters and screens; sand takes little of it",
    "scrape": "take less sand, or more, at each scrape",
    "lateral": "use wider drain pipes, or more of them",
    "oxygen": "keep the filter running, shade it, clean it, and run to waste",
    "filters": "build two, so that one serves while the other ripens",
}
"""What to do where a criterion is not kept."""


@dataclass(frozen=True)
class AcceptanceRow:
    """One criterion of one source beside the filter's own value, all in the unit shown.

    Attributes
    ----------
    criterion, title, unit : str
    value : float or None
    low, high : float or None
        Limits; None where the source sets none.
    state : str
        ``within``, ``below``, ``above`` or ``not given``.
    source, where, seen, note : str
    """

    criterion: str
    title: str
    unit: str
    value: float | None
    low: float | None
    high: float | None
    state: State
    source: str
    where: str
    seen: str
    note: str

    @property
    def limit(self) -> str:
        """The limits in words, in metric units.

        >>> AcceptanceRow("d10", "", "mm", 0.2, 0.15, None, "within", "", "", "", "").limit
        '0.15 mm or more'
        """
        return self.limit_in("metric")

    def limit_in(self, units: UnitSet) -> str:
        """The limits in words.

        >>> AcceptanceRow("sand", "", "m", 0.7, 0.75, None, "below", "", "", "", "").limit_in("us")
        '2.46 ft or more'
        """
        unit, size = self._shown(units)
        low, high = (None if v is None else f"{v * size:.3g}" for v in (self.low, self.high))
        if low is None:
            return f"{high}{unit} or less"
        if high is None:
            return f"{low}{unit} or more"
        return f"{low}{unit}" if low == high else f"{low} to {high}{unit}"

    def value_in(self, units: UnitSet) -> str:
        """The filter's own value; empty where it is not given."""
        unit, size = self._shown(units)
        return "" if self.value is None else f"{self.value * size:.3g}{unit}"

    def _shown(self, units: UnitSet) -> tuple[str, float]:
        unit, size = (self.unit, 1.0) if units == "metric" else _US.get(self.unit, (self.unit, 1.0))
        return (f" {unit}" if unit else "", size)

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        return dict(vars(self))


@dataclass(frozen=True)
class Acceptance:
    """The checklist: rows by criterion, and what to say of those that are not all kept."""

    rows: tuple[AcceptanceRow, ...]
    findings: tuple[Finding, ...]

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        return {
            "rows": [row.to_dict() for row in self.rows],
            "findings": [finding.to_dict() for finding in self.findings],
        }


@cache
def _table() -> tuple[dict[str, str], ...]:
    path = resources.files("roofspring.sandfilter").joinpath("tables/criteria.csv")
    return tuple(csv.DictReader(path.read_text("utf-8").splitlines()))


_SLACK = 1e-9


def _state(value: float | None, low: float | None, high: float | None) -> State:
    if value is None:
        return "not given"
    if low is not None and value < low * (1.0 - _SLACK):
        return "below"
    if high is not None and value > high * (1.0 + _SLACK):
        return "above"
    return "within"


def acceptance(
    facts: FilterFacts, *, where: str = "filter", units: UnitSet = "metric"
) -> Acceptance:
    """Hold a filter against every published criterion.

    Parameters
    ----------
    facts : FilterFacts
    where : str
        What the findings call it.
    units : {"metric", "us"}
        Of the findings.

    Returns
    -------
    Acceptance
        BED-110 (caution) for a criterion that no source's limit holds, BED-111 (note) where
        sources disagree about the value, BED-112 (stop) for a weir below the sand.

    Notes
    -----
    What is not given is shown as such and raises no finding.

    Source
    ------
    ``tables/criteria.csv``, each row with its own.

    Examples
    --------
    >>> held = acceptance(FilterFacts(uniformity=2.8))
    >>> [(f.code, f.severity) for f in held.findings]
    [('BED-111', 'note')]
    """
    rows = []
    for line in _table():
        criterion = CRITERIA[line["criterion"]]
        raw: float | None = getattr(facts, criterion.field)
        value = None if raw is None else raw * criterion.scale
        low = float(line["low"]) if line["low"] else None
        high = float(line["high"]) if line["high"] else None
        rows.append(
            AcceptanceRow(
                criterion.name,
                criterion.title,
                criterion.unit,
                value,
                low,
                high,
                _state(value, low, high),
                line["source"],
                line["where"],
                line["seen"],
                line["note"],
            )
        )
    findings = [
        finding
        for name in CRITERIA
        for finding in _said([row for row in rows if row.criterion == name], where, units)
    ]
    if facts.crest_over_sand_m is not None and facts.crest_over_sand_m < 0.0:
        findings.append(
            Finding(
                "BED-112",
                "stop",
                "the weir crest lies below the sand: the bed can run dry and draw air",
                where=where,
                got=f"{show(facts.crest_over_sand_m, 'gap', units=units)} over the sand",
                limit=f"0 or more, and {show(HOUSEHOLD_CREST_M, 'gap', units=units)} with room "
                "for settling",
                source="AWWA_ASCE_CH9, page 9.11",
                next="raise the weir crest above the sand",
            )
        )
    return Acceptance(tuple(rows), tuple(findings))


def _said(rows: list[AcceptanceRow], where: str, units: UnitSet) -> list[Finding]:
    given = [row for row in rows if row.state != "not given"]
    broken = [row for row in given if row.state != "within"]
    if not broken:
        return []
    first = broken[0]
    got = first.value_in(units)
    kept = [row for row in given if row.state == "within"]
    limits = "; ".join(f"{SHORT[row.source]}: {row.limit_in(units)}" for row in (*kept, *broken))
    if kept:
        return [
            Finding(
                "BED-111",
                "note",
                f"sources disagree about the {first.title}: {_counted(len(kept), 'allow')} it and "
                f"{_counted(len(broken), 'do')} not",
                where=where,
                got=got,
                limit=limits,
                source=kept[0].source,
                next="choose the source written for a filter like yours; the others: "
                + NEXT[first.criterion],
            )
        ]
    return [
        Finding(
            "BED-110",
            "caution",
            f"outside what every source allows: {first.title}",
            where=where,
            got=got,
            limit=limits,
            source=first.source,
            next=NEXT[first.criterion],
        )
    ]


def _counted(count: int, verb: str) -> str:
    """``1 allows``, ``1 does``, ``2 allow``, ``2 do``."""
    one = {"allow": "allows", "do": "does"}
    return f"{count} {one[verb] if count == 1 else verb}"


def unknown_facts(facts: FilterFacts) -> tuple[str, ...]:
    """Names of the fields that are not given, to ask for.

    >>> "d10_m" in unknown_facts(FilterFacts(uniformity=2.0))
    True
    """
    return tuple(f.name for f in fields(facts) if getattr(facts, f.name) is None)
