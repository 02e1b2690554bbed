"""Roof drainage of a plan: what each gutter carries, how often it spills, and whether that matters.

The flow a gutter carries is the engine's own (`network.laws`). Beside it stands the exact check:
the flow at which the gutter is brim-full by the balance of momentum, with friction.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from roofspring.catchment import (
    SCREEN_HEAD_M,
    Debris,
    code_rain,
    debris_by_season,
    first_flush_depth_m,
    mesh_open_frac,
    screen_area_m2,
    wash_off_left_frac,
    wind_area_m2,
)
from roofspring.errors import Finding, RangeError, RecordError
from roofspring.hydraulics import (
    brim_flow_m3_per_s,
    gutter_section,
)
from roofspring.network.laws import gutter_limit_m3_per_s, gutter_sections
from roofspring.plan.graph import connections
from roofspring.plan.model import FirstFlush, Plan, Roof, Screen
from roofspring.plan.pieces import Gutter
from roofspring.rain import RainRecord
from roofspring.rain.cloudburst import DepthTable, DesignRain, design_rain
from roofspring.sources import COMMON_PRACTICE, ENGINEERING_CHOICE
from roofspring.units import show

SERIES_S = 3600.0
"""Longest step of a record whose own series can show a gutter that spills."""
BURST_S = 300.0
"""Five minutes: the shortest rain that the record or a table can speak of."""
LADDER_YEARS = (2.0, 5.0, 10.0, 25.0, 50.0, 100.0)
DESIGN_YEARS = 10.0
"""How seldom screens, lines and overflows may be overtaxed; engineering choice, after the five
minutes of once in ten years that the sheet metal trade designs for."""
RESAMPLES_COUNT = 100
GUTTER_MANNING = 0.012
"""Manning's n of sheet metal, the rougher of the common gutters."""
WANTED_YEARS = {"ground": 2.0, "wall": 10.0, "path": 10.0}
"""How seldom a gutter should spill, by what is under its edge; engineering choice after the 1 to
10 years that the trade designs for."""


@dataclass(frozen=True)
class GutterRow:
    """One roof's gutter.

    Attributes
    ----------
    where, label : str
    carries_m3_per_s : float
        As the engine has it [m3/s].
    limited_by : str
        ``gutter``, ``outlet``, ``downpipe`` or ``as stated``.
    brim_m3_per_s : float or None
        Flow at which its sections are brim-full, with friction; None where sizes or length are not
        given [m3/s].
    catches_m2 : float
        Area that brings the peak, wind-driven rain with it [m2].
    full_mm_per_h : float
        Intensity that fills it.
    spills_years : float or None
        Mean time between five minutes that fill it [years]; infinite where rarer than the ladder
        goes, 0 where more often, None where no rain says.
    spills_low_years, spills_high_years : float or None
        The same at the high and the low end of the band of the rain.
    spills_on : str
    wanted_years : float
    design_mm_per_h : float or None
        Intensity of the wanted rarity, or the code's where no rain is known.
    design_source : str
    sections : tuple of SectionRow
        One for each outlet.
    seen_per_year : float or None
        Steps of the record in which the mean rain of the step filled it, in a year. A lower bound:
        within a step it rains harder. None for steps longer than an hour.
    seen_lost_frac : float or None
        Share of the rain of the record that went over the edge in these steps.
    """

    where: str
    label: str
    carries_m3_per_s: float
    limited_by: str
    brim_m3_per_s: float | None
    catches_m2: float
    full_mm_per_h: float
    spills_years: float | None
    spills_low_years: float | None
    spills_high_years: float | None
    spills_on: str
    wanted_years: float
    design_mm_per_h: float | None
    design_source: str
    sections: tuple[SectionRow, ...]
    seen_per_year: float | None
    seen_lost_frac: float | None


@dataclass(frozen=True)
class SectionRow:
    """Part of a gutter that drains to one outlet.

    Attributes
    ----------
    length_m : float or None
    carries_m3_per_s : float
    limited_by : str
    full_mm_per_h : float
        Intensity that fills it.
    spills_years : float or None
        Mean time between five minutes that fill it [years]; as of the whole gutter.
    """

    length_m: float | None
    carries_m3_per_s: float
    limited_by: str
    full_mm_per_h: float
    spills_years: float | None


@dataclass(frozen=True)
class ScreenRow:
    """Area that a screen needs for the design rain, half of it blinded, and the area it has."""

    where: str
    flow_m3_per_s: float
    needs_m2: float
    has_m2: float | None


@dataclass(frozen=True)
class FlushRow:
    """What a first flush holds back, as a depth of runoff, and the wash-off left after it."""

    where: str
    holds_m: float
    left_frac: float


@dataclass(frozen=True)
class Drainage:
    """Roof drainage of a whole plan.

    ``design_mm_per_h`` is the five minutes of rain that come once in ten years, or the code's
    intensity where no rain says: screens, lines and overflows are held against it.
    """

    gutters: tuple[GutterRow, ...]
    screens: tuple[ScreenRow, ...]
    flushes: tuple[FlushRow, ...]
    debris: tuple[Debris, ...]
    rain_source: str
    design_mm_per_h: float
    findings: tuple[Finding, ...]

    def to_dict(self) -> dict[str, Any]:
        """Plain dictionary for JSON, without the findings, which are told together."""
        made = asdict(self)
        del made["findings"]
        return made


def assess_drainage(
    plan: Plan, *, record: RainRecord | None = None, table: DepthTable | None = None
) -> Drainage:
    """Look at gutters, screens and first flushes.

    Parameters
    ----------
    plan : Plan
    record : RainRecord, optional
        Without one, and without a table, a code's intensity stands in and nothing says how often.
    table : DepthTable, optional
        A published table for the place; it goes before the record.

    Returns
    -------
    Drainage

    Raises
    ------
    Nothing.
    """
    ladder = rain_ladder(record, table) if plan.roofs else ()
    screens = tuple(_screen_rows(plan, ladder))
    rows = tuple(
        _gutter_row(roof_id, roof, roof.gutter, ladder, record)
        for roof_id, roof in sorted(plan.roofs.items())
        if roof.gutter is not None
    )
    south = plan.site.latitude_deg is not None and plan.site.latitude_deg < 0.0
    return Drainage(
        rows,
        screens,
        tuple(_flush_rows(plan)),
        debris_by_season(is_southern=south) if plan.roofs else (),
        ladder[0].source if ladder else (code_rain()[0].name if plan.roofs else ""),
        design_m_per_s(ladder) * 3.6e6,
        (*_findings(plan, rows, known=bool(ladder)), *_screen_findings(plan, screens)),
    )


def rain_ladder(record: RainRecord | None, table: DepthTable | None) -> tuple[DesignRain, ...]:
    """Rain of five minutes for rising return periods; empty where neither can say."""
    if record is None and table is None:
        return ()
    steps: list[DesignRain] = []
    for years in LADDER_YEARS:
        try:
            steps.append(
                design_rain(
                    duration_s=BURST_S,
                    return_years=years,
                    kind="ARI",
                    table=table,
                    record=record,
                    resamples_count=RESAMPLES_COUNT,
                )
            )
        except (RangeError, RecordError):  # too few years, or a table that does not go so far
            continue
    return tuple(steps)


def design_step(ladder: tuple[DesignRain, ...]) -> DesignRain | None:
    """The rain of a ladder to design for: of once in `DESIGN_YEARS`; None where it ends before."""
    return next((step for step in ladder if step.return_years >= DESIGN_YEARS), None)


def design_m_per_s(ladder: tuple[DesignRain, ...]) -> float:
    """Intensity to design for, a code's where the ladder has none [m/s]."""
    step = design_step(ladder)
    rain = code_rain()[0].rain_m_per_s if step is None else step.mean_m_per_s
    assert rain is not None  # the first row of the table has one
    return rain


def return_years(depth_m: float, depths_m: list[float], years: list[float]) -> float:
    """Return period of a depth between the steps of a ladder, by straight lines in its logarithm.

    0 below the ladder, infinite above it.

    >>> round(return_years(0.015, [0.010, 0.020], [1.0, 100.0]), 6)
    10.0
    """
    if depth_m < depths_m[0]:
        return 0.0
    for i in range(1, len(depths_m)):
        low, high = depths_m[i - 1], depths_m[i]
        if depth_m <= high and high > low:
            part = (depth_m - low) / (high - low)
            return float(years[i - 1] * (years[i] / years[i - 1]) ** part)
    return math.inf


def _gutter_row(
    roof_id: str,
    roof: Roof,
    gutter: Gutter,
    ladder: tuple[DesignRain, ...],
    record: RainRecord | None,
) -> GutterRow:
    carries = gutter_limit_m3_per_s(gutter)
    area_m2 = peak_area_m2(roof)
    full_m_per_s = carries / area_m2
    spills = low = high = None
    parts = gutter_sections(gutter)
    fills = [part.carries_m3_per_s / part.share_frac / area_m2 for part in parts]
    seen, lost = _seen(record, full_m_per_s)
    wanted = WANTED_YEARS[gutter.spills_on]
    design_m_per_s, source = code_rain()[0].rain_m_per_s, code_rain()[0].name
    if ladder:
        years = [step.return_years for step in ladder]
        burst_m = full_m_per_s * BURST_S
        spills = _return_years(full_m_per_s, ladder)
        low = return_years(burst_m, [step.high_m or step.depth_m for step in ladder], years)
        high = return_years(burst_m, [step.low_m or step.depth_m for step in ladder], years)
        step = next((s for s in ladder if s.return_years >= wanted), ladder[-1])
        design_m_per_s, source = step.mean_m_per_s, f"{step.return_years:g} years: {step.source}"
    return GutterRow(
        f"{roof_id}.gutter",
        roof.label or roof_id,
        carries,
        parts[fills.index(min(fills))].limited_by,
        _brim_m3_per_s(gutter),
        area_m2,
        full_m_per_s * 3.6e6,
        spills,
        low,
        high,
        gutter.spills_on,
        wanted,
        None if design_m_per_s is None else design_m_per_s * 3.6e6,
        source,
        tuple(
            SectionRow(
                part.length_m,
                part.carries_m3_per_s,
                part.limited_by,
                fill * 3.6e6,
                _return_years(fill, ladder),
            )
            for part, fill in zip(parts, fills, strict=True)
        ),
        seen,
        lost,
    )


def _return_years(m_per_s: float, ladder: tuple[DesignRain, ...]) -> float | None:
    if not ladder:
        return None
    return return_years(
        m_per_s * BURST_S,
        [step.depth_m for step in ladder],
        [step.return_years for step in ladder],
    )


def _seen(record: RainRecord | None, full_m_per_s: float) -> tuple[float | None, float | None]:
    """Steps a year in the record that filled a gutter, and the share of the rain that was lost."""
    if record is None or record.step_s > SERIES_S or record.years <= 0.0:
        return None, None
    depth_m = np.nan_to_num(record.depth_m)
    over_m = np.maximum(0.0, depth_m - full_m_per_s * record.step_s)
    total_m = float(depth_m.sum())
    lost = float(over_m.sum()) / total_m if total_m > 0.0 else 0.0
    return float(np.count_nonzero(over_m)) / record.years, lost


def peak_area_m2(roof: Roof) -> float:
    """Area that brings a roof's peak flow: rain driven by wind against its slope counts too."""
    gutter = roof.gutter
    if roof.rise_m is None or gutter is None or gutter.whole_m is None:
        return roof.area_m2
    return wind_area_m2(roof.area_m2, eave_m=gutter.whole_m, rise_m=roof.rise_m)


def _brim_m3_per_s(gutter: Gutter) -> float | None:
    """Flow from the roof at which the first section is brim-full, with friction."""
    if gutter.width_m is None or gutter.whole_m is None:
        return None
    section = gutter_section(
        gutter.width_m, shape=gutter.shape, depth_m=gutter.depth_m, sole_m=gutter.sole_m
    )
    full = [
        brim_flow_m3_per_s(
            section, length_m=part.length_m, manning=GUTTER_MANNING, fall_frac=gutter.fall_frac
        )
        / part.share_frac
        for part in {p.length_m: p for p in gutter_sections(gutter)}.values()
    ]
    return min(full)


def _screen_rows(plan: Plan, ladder: tuple[DesignRain, ...]) -> Iterator[ScreenRow]:
    rain = design_m_per_s(ladder)
    for screen_id, screen in sorted(plan.screens.items()):
        roofs = _roofs_above(plan, screen_id)
        if screen.mesh_m is None or not roofs:
            continue
        flow = rain * sum(peak_area_m2(roof) for roof in roofs)
        open_frac = mesh_open_frac(screen.mesh_m, wire_m=screen.mesh_m / 2.0)
        yield ScreenRow(screen_id, flow, screen_area_m2(flow, open_frac=open_frac), screen.area_m2)


def _flush_rows(plan: Plan) -> Iterator[FlushRow]:
    for flush_id, flush in sorted(plan.first_flushes.items()):
        holds_m = flush.depth_m
        area_m2 = sum(roof.area_m2 for roof in _roofs_above(plan, flush_id))
        if flush.volume_m3 is not None:
            if area_m2 == 0.0:
                continue
            holds_m = first_flush_depth_m(flush.volume_m3, area_m2=area_m2)
        yield FlushRow(flush_id, holds_m, wash_off_left_frac(holds_m))


def _roofs_above(plan: Plan, part_id: str) -> list[Roof]:
    """Roofs whose water comes to a part through screens and first flushes."""
    parts = dict(plan.parts())
    found: dict[str, Roof] = {}
    ways = [part_id]
    while ways:
        here = ways.pop()
        for c in connections(plan):
            if c.to_part != here:
                continue
            above = parts[c.from_part]
            if isinstance(above, Roof):
                found[c.from_part] = above
            elif isinstance(above, (Screen, FirstFlush)) and c.from_port == "outlet":
                ways.append(c.from_part)
    return list(found.values())


def _findings(plan: Plan, rows: tuple[GutterRow, ...], *, known: bool) -> Iterator[Finding]:
    def flow(value: float) -> str:
        return show(value, "flow", units=plan.show, digits=0)

    if rows and not known:
        yield Finding(
            "ROF-111",
            "note",
            "how often the gutters spill is not known: no record is long enough, and no table is "
            "given",
            where=rows[0].where,
            got=", ".join(row.label for row in rows),
            source=COMMON_PRACTICE,
            next="give a rain record of some years, or a published table of short rain",
        )
    for row in rows:
        if row.spills_years is not None and row.spills_years < row.wanted_years:
            full = show(row.full_mm_per_h / 3.6e6, "intensity", units=plan.show)
            often = f"{full} fills it, which comes {often_words(row)}{_seen_words(row)}"
            yield Finding(
                "ROF-110",
                "note" if row.spills_on == "ground" else "caution",
                "this gutter spills more often than is wanted over open ground"
                if row.spills_on == "ground"
                else f"this gutter spills more often than is wanted over a {row.spills_on}",
                where=row.where,
                got=f"{flow(row.carries_m3_per_s)}, limited by its {row.limited_by}; {often}"
                if row.limited_by != "as stated"
                else f"{flow(row.carries_m3_per_s)} as stated; {often}",
                limit=f"once in {row.wanted_years:g} years or more seldom",
                source=ENGINEERING_CHOICE,
                next="widen what limits it, add an outlet, or lead what spills away from the house",
            )


def _screen_findings(plan: Plan, screens: tuple[ScreenRow, ...]) -> Iterator[Finding]:
    for row in screens:
        if row.has_m2 is None or row.has_m2 >= row.needs_m2:
            continue
        yield Finding(
            "ROF-113",
            "caution",
            "half blinded, this screen throws off part of the design rain",
            where=row.where,
            got=show(row.has_m2, "area", units=plan.show, digits=3),
            limit=f"{show(row.needs_m2, 'area', units=plan.show, digits=3)} for "
            f"{show(row.flow_m3_per_s, 'flow', units=plan.show, digits=0)}, under "
            f"{show(SCREEN_HEAD_M, 'gap', units=plan.show)} of water",
            source="STREETER_WYLIE_1979, orifices",
            next="take a wider screen or a coarser mesh, or rinse it more often",
        )


def _seen_words(row: GutterRow) -> str:
    if not row.seen_per_year or row.seen_lost_frac is None:
        return ""
    return (
        f"; in the record {row.seen_per_year:.2g} steps a year, "
        f"{100.0 * row.seen_lost_frac:.2g} % of its rain, at least"
    )


def often_cell(row: GutterRow) -> str:
    """How often a gutter spills, with its band, for a cell of a table headed "once in"."""

    if row.spills_years is None:
        return "not known"
    least, most = row.spills_low_years, row.spills_high_years
    if least is None or most is None or years_cell(least) == years_cell(most):
        return f"{years_cell(row.spills_years)} years"
    return f"{years_cell(row.spills_years)} ({years_cell(least)} to {years_cell(most)}) years"


def years_cell(years: float) -> str:
    """Years in few characters, with the ends of the ladder marked.

    >>> years_cell(0.0), years_cell(12.3), years_cell(math.inf)
    ('<2', '12', '>100')
    """
    if years == 0.0:
        return f"<{LADDER_YEARS[0]:g}"
    return f">{LADDER_YEARS[-1]:g}" if math.isinf(years) else f"{years:.0f}"


def often_words(row: GutterRow) -> str:
    """How often a gutter spills, with its band, in words."""
    assert row.spills_years is not None
    least, most = row.spills_low_years, row.spills_high_years
    words = _years(row.spills_years)
    if least is None or most is None or _years(least) == _years(most):
        return words
    return f"{words} (band of the rain: {_years(least)} to {_years(most)})"


def _years(years: float) -> str:
    if years == 0.0:
        return f"more often than once in {LADDER_YEARS[0]:g} years"
    if math.isinf(years):
        return f"more seldom than once in {LADDER_YEARS[-1]:g} years"
    return f"once in {years:.0f} years"
