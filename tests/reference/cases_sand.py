"""Sand: sieve tests, stock sand, gravel and drain."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from cases import Case, Status
from roofspring.sandfilter.gravel import RULES, Base, RuleCheck, boundary_checks, held_grain_m
from roofspring.sandfilter.sieve import (
    GradingCurve,
    SieveRow,
    criteria,
    log_probability_size_m,
    parse_opening,
    sieve_test,
    standard_sieves,
)
from roofspring.sandfilter.stock import Split, settling_velocity, split_stock, wanted_sand
from roofspring.sandfilter.underdrain import (
    LATERAL_MOST,
    hole_loss_m,
    holes_for,
    manifold_factor,
    underdrain,
)
from roofspring.units import parse

# DAVIS_2010, example 11-1, page 11-7: percent passing, as printed there.
_DAVIS_NUMBERS = (140, 100, 70, 50, 40, 30, 20, 16, 12, 8, 6)
_DAVIS = (0.2, 0.9, 4.0, 9.9, 21.8, 39.4, 59.8, 74.4, 91.5, 96.8, 99.0)
# Openings of the same numbers in textbooks before the metric sieves; from memory.
_OLD_MM = (0.105, 0.149, 0.210, 0.297, 0.42, 0.59, 0.84, 1.19, 1.68, 2.38, 3.36)
_E11 = "openings of ASTM E11; size on the logarithm, percent straight"
_OLD = "older openings; size on the logarithm, percent straight"
_SPLIT = "usable 2 (p60 - p10), too fine p10 - 0.1 usable; Davis's sand with openings of ASTM E11"


def davis(*, old: bool = False) -> GradingCurve:
    """The sand of the worked example."""
    sizes = (
        tuple(mm / 1e3 for mm in _OLD_MM)
        if old
        else tuple(parse_opening(f"No. {n}") for n in _DAVIS_NUMBERS)
    )
    return GradingCurve(sizes, tuple(p / 100.0 for p in _DAVIS), "Davis")


def _size_mm(share: float, *, old: bool = False) -> float:
    size_m = davis(old=old).size(share).size_m
    assert size_m is not None
    return size_m * 1e3


def _uniformity(*, old: bool = False) -> float:
    value = davis(old=old).uniformity
    assert value is not None
    return value


def _das_curvature() -> float:
    made = GradingCurve((0.15e-3, 0.17e-3, 0.27e-3), (0.10, 0.30, 0.60), "Das").curvature
    assert made is not None
    return made


def _split(d10_mm: float, uniformity: float) -> Split:
    wanted = wanted_sand(
        d10_mm / 1e3, uniformity=uniformity, chosen=criteria()["huisman-wood-1974"]
    )
    found = split_stock(davis(), wanted=wanted)
    assert found is not None and found.curve is not None
    return found


def _sieve(id_: str, quantity: str, got: Callable[[], float], printed: str, unit: str,
           where: str = _E11) -> Case:  # fmt: skip
    return Case(
        id_, quantity, got, printed, unit, "DAVIS_2010",
        f"percents of example 11-1, page 11-7; {where}", "computed", rel=1e-3,
    )  # fmt: skip


def _share(quantity: str, got: Callable[[], float], printed: str, rel: float) -> Case:
    return Case("S08", quantity, got, printed, "%", "SINCERO_2003", f"chapter 7; {_SPLIT}",
                "computed", rel=rel)  # fmt: skip


def _cut_mm(d10_mm: float, uniformity: float, side: str) -> float:
    split = _split(d10_mm, uniformity)
    size_m = (split.cut_fine if side == "fine" else split.cut_coarse).size_m
    assert size_m is not None
    return size_m * 1e3


def _trimmed_mm(share: float) -> float:
    curve = _split(0.30, 2.0).curve
    assert curve is not None
    size_m = curve.size(share).size_m
    assert size_m is not None
    return size_m * 1e3


def _log_probability_mm(share: float) -> float:
    size_m = log_probability_size_m(davis(), share)
    assert size_m is not None
    return size_m * 1e3


# DAS_2010, example 2.1: mass on each sieve [g], and percent finer as printed.
_DAS_G = {4: 0.0, 10: 40.0, 20: 60.0, 40: 89.0, 60: 140.0, 80: 122.0, 100: 210.0, 200: 56.0}
_DAS_PAN_G = 12.0
_DAS_FINER = {10: "94.5", 20: "86.3", 40: "74.1", 60: "54.9", 80: "38.1", 100: "9.3", 200: "1.7"}


def _das_percent(number: int) -> float:
    rows = [SieveRow(parse_opening(f"No. {n}"), g / 1e3) for n, g in _DAS_G.items()]
    test = sieve_test([*rows, SieveRow(None, _DAS_PAN_G / 1e3)], kind="retained-mass")
    return 100.0 * test.curve.passing(parse_opening(f"No. {number}"))[0]


def _band(kind: str, base: Base) -> float:
    """D15 [mm] at which a rule for the boundary is just kept."""
    below = Base("filter", 1e-3, 1e-3, 1e-3, 1e-3, 1e-3)
    rows: dict[str, RuleCheck] = {
        c.kind: c for c in boundary_checks(base, below=below, rule=RULES["sherard-5"], top=True)
    }
    check = rows[kind]
    limit = check.high if check.high is not None else check.low
    assert limit is not None
    return limit / check.have


_RIPRAP = Base("base", 0.17e-3, 0.17e-3, 0.5e-3, 1.5e-3, 1.5e-3)
_SAND = Base("sand", 0.25e-3, 0.27e-3, 0.5e-3, 0.8e-3, 0.85e-3)


def _rule(kind: str, base: Base, printed: str, where: str, source: str, status: Status) -> Case:
    what = f"{base.d15_m * 1e3:g} mm, d85 {base.d85_m * 1e3:g} mm"
    return Case("1.3", f"D15 by the rule of {kind}, over d15 {what}", lambda: _band(kind, base),
                printed, "mm", source, where, status)  # fmt: skip


def _e11(number: int, printed: str, status: Status) -> Case:
    return Case(
        "2",
        f"opening of sieve No. {number}",
        lambda: next(s.opening_m for s in standard_sieves() if s.astm == f"No. {number}") * 1e3,
        printed,
        "mm",
        "ASTM_E11",
        "table 1",
        status,
        rel=1e-9,
    )


def _jet_m_per_s() -> float:
    return underdrain(
        0.5, rate_m_per_s=0.1 / 3600.0, bed_loss_m=0.0292, holes_count=106, hole_m=3e-3,
        laterals_count=1, lateral_m=0.020, length_m=0.7, friction_m=0.0, reynolds=677.0,
    ).hole_m_per_s  # fmt: skip


def _lateral_m_per_s() -> float:
    return underdrain(
        0.5, rate_m_per_s=0.1 / 3600.0, bed_loss_m=0.0292, holes_count=106, hole_m=3e-3,
        laterals_count=1, lateral_m=0.020, length_m=0.7, friction_m=0.0, reynolds=677.0,
    ).lateral_m_per_s  # fmt: skip


CASES = [
    Case(
        "S04",
        "effective size of the sand of example 11-1, older openings",
        lambda: _size_mm(0.10, old=True),
        "0.30",
        "mm",
        "DAVIS_2010",
        "example 11-1, page 11-7",
        "confirmed",
        note="The book reads it off log-probability paper",
    ),
    _sieve("S05", "its d60, older openings", lambda: _size_mm(0.60, old=True), "0.8440", "mm",
           _OLD),
    _sieve("S05", "its uniformity, older openings", lambda: _uniformity(old=True), "2.834", "",
           _OLD),
    _sieve("S06", "its d10, ASTM E11", lambda: _size_mm(0.10), "0.3009", "mm"),
    _sieve("S06", "its d60, ASTM E11", lambda: _size_mm(0.60), "0.8538", "mm"),
    _sieve("S06", "its uniformity, ASTM E11", _uniformity, "2.838", ""),
    _sieve("S07", "its d15, ASTM E11", lambda: _size_mm(0.15), "0.3483", "mm"),
    _sieve("S07", "its d85, ASTM E11", lambda: _size_mm(0.85), "1.4797", "mm"),
    _sieve("S07", "its d90, ASTM E11", lambda: _size_mm(0.90), "1.646", "mm"),
    _sieve("S06", "its d10 on log-probability paper", lambda: _log_probability_mm(0.10), "0.3012",
           "mm", "openings of ASTM E11; probits"),
    _sieve("S06", "its d60 on log-probability paper", lambda: _log_probability_mm(0.60), "0.8535",
           "mm", "openings of ASTM E11; probits"),
    _share("usable for d10 0.30 mm, uniformity 2", lambda: 100 * _split(0.3, 2).usable_frac,
           "59.0", 1e-6),
    _share("too fine for the same", lambda: 100 * _split(0.3, 2).too_fine_frac, "4.0", 1e-6),
    _share("too coarse for the same", lambda: 100 * _split(0.3, 2).too_coarse_frac, "37.0", 1e-6),
    _share("usable for d10 0.20 mm, uniformity 2", lambda: 100 * _split(0.2, 2).usable_frac,
           "32.502", 1e-4),
    _share("usable for d10 0.50 mm, uniformity 1.5", lambda: 100 * _split(0.5, 1.5).usable_frac,
           "44.749", 1e-4),
    _sieve("S09", "fine cut for d10 0.30 mm, uniformity 2", lambda: _cut_mm(0.3, 2, "fine"),
           "0.2120", "mm"),
    _sieve("S09", "coarse cut for the same", lambda: _cut_mm(0.3, 2, "coarse"), "0.9134", "mm"),
    _sieve("S09", "fine cut for d10 0.50 mm, uniformity 1.5", lambda: _cut_mm(0.5, 1.5, "fine"),
           "0.4580", "mm"),
    _sieve("S09", "coarse cut for the same, 0.50 mm", lambda: _cut_mm(0.5, 1.5, "coarse"),
           "1.0778", "mm"),
    _sieve("S10", "d10 of the trimmed sand, wanted 0.300", lambda: _trimmed_mm(0.10), "0.300",
           "mm"),
    _sieve("S10", "d60 of the trimmed sand, wanted 0.600", lambda: _trimmed_mm(0.60), "0.600",
           "mm"),
    *(
        Case(
            "2",
            f"percent finer than No. {number} of a soil weighed on eight sieves",
            partial(_das_percent, number),
            printed,
            "%",
            "DAS_2010",
            "example 2.1",
            "quoted",
            within=0.06 if number == 200 else None,
            note="12 g of 729 g are 1.646 %: the book's last digit is rounded wrongly"
            if number == 200
            else "",
        )
        for number, printed in _DAS_FINER.items()
    ),
    _e11(4, "4.75", "quoted"),
    _e11(7, "2.80", "quoted"),
    _e11(30, "0.600", "memory"),
    _e11(200, "0.075", "memory"),
    Case("2", "curvature of a soil with d10 0.15, d30 0.17 and d60 0.27 mm", _das_curvature, "0.71",
         "", "DAS_2010", "example 2.2, from memory", "memory"),
    Case("S13", "finest grain that a filter of D15 2.8 mm holds",
         lambda: held_grain_m(2.8e-3) * 1e3, "0.308", "mm", "SHERARD_1984",
         "0.11 D15; rule read in the abstract", "computed", rel=1e-3),
    _rule("retention", _RIPRAP, "7.5", "5 × 1.5 mm", "USACE_RIPRAP", "confirmed"),
    _rule("permeability", _RIPRAP, "0.85", "5 × 0.17 mm", "USACE_RIPRAP", "confirmed"),
    _rule("range", _RIPRAP, "6.8", "40 × 0.17 mm", "USACE_RIPRAP", "confirmed"),
    _rule("retention", _SAND, "4.00", "5 × 0.80 mm; rule read in the abstract", "SHERARD_1984",
          "computed"),
    _rule("permeability", _SAND, "1.35", "5 × 0.27 mm", "USACE_RMC_FILTER", "computed"),
    Case("S50", "head in the holes over the spread, for 0.9 of the greatest flow",
         lambda: manifold_factor(0.9), "5.263", "", "", "1 / (1 - 0.9²)", "computed", rel=1e-3),
    Case("S51", "drain holes of 3 mm for 0.15 % of 0.5 m²",
         lambda: float(holes_for(0.5, hole_frac=0.0015, hole_m=3e-3)), "106", "", "",
         "0.0015 × 0.5 / (π 0.003² / 4) = 106.1; ours is rounded up", "computed", rel=1e-2),
    Case("S51", "speed in those holes at 0.1 m/h",
         _jet_m_per_s, "0.0185", "m/s", "",
         "0.1 m/h over 0.0015", "computed"),
    Case("S51", "speed in one pipe of 20 mm that takes it all", _lateral_m_per_s, "0.0442", "m/s",
         "", "0.5 m² × 0.1 m/h over the area of the pipe", "computed"),
    Case("S51", "loss in those holes", lambda: hole_loss_m(0.0185) * 1e3, "0.047", "mm", "",
         "(0.0185 / 0.61)² / 2 g", "computed"),
    Case("S03", "0.75 ft/s, the greatest speed in laterals, as the drain is held to",
         lambda: LATERAL_MOST.value, "0.2286", "m/s", "MINN_R_4720",
         "part 4720.3947: 0.75 ft/s; 0.75 × 0.3048", "confirmed", rel=1e-4),
    Case("S03", "the same, typed in feet", lambda: parse("0.75 ft/s", to="m/s"), "0.2286", "m/s",
         "MINN_R_4720", "part 4720.3947: 0.75 ft/s; 0.75 × 0.3048", "confirmed", rel=1e-4),
    Case("S53", "0.075 mm settling through 200 mm at 20 °C",
         lambda: 0.200 / settling_velocity(75e-6, temp_degc=20.0).velocity_m_per_s, "39.6", "s",
         "STOKES_1851", "grains 2650 kg/m³", "computed", rel=1e-2),
    Case("S53", "speed of the same grain",
         lambda: settling_velocity(75e-6, temp_degc=20.0).velocity_m_per_s * 1e3, "5.056", "mm/s",
         "STOKES_1851", "grains 2650 kg/m³", "computed", rel=1e-2),
]  # fmt: skip
