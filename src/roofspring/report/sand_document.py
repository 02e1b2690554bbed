"""What the page on a sand is made of: a list of sections, each already in words."""

from __future__ import annotations

from dataclasses import dataclass

from roofspring.errors import Finding
from roofspring.network.result import Provenance
from roofspring.report._cells import Table
from roofspring.report.charts import Chart

Pairs = tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class SandSection:
    """One section of the page.

    Attributes
    ----------
    id : str
        Anchor, small letters.
    short : str
        For the row of links at the top.
    heading : str
    paragraphs : tuple of str
    facts : pairs of str
        Shown large.
    figures : tuple of Chart
    tables : tuple of (str, Table)
        Each under a heading of its own.
    notes : tuple of str
        Small print: sources and what was assumed.
    """

    id: str
    short: str
    heading: str
    paragraphs: tuple[str, ...] = ()
    facts: Pairs = ()
    figures: tuple[Chart, ...] = ()
    tables: tuple[tuple[str, Table], ...] = ()
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class SandDocument:
    """The whole page: the answer, the findings, then the sections in their order."""

    title: str
    sentence: str
    also: str
    findings: tuple[Finding, ...]
    sections: tuple[SandSection, ...]
    cautions: Pairs
    computed: tuple[str, ...]
    provenance: Provenance
    invented: bool = False
    invented_rain: bool = False
