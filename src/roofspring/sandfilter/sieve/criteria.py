"""Published limits for filter sand, and a sand held against each of them."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Literal

from roofspring.errors import Finding, Problem, Severity, SieveError
from roofspring.errors.names import did_you_mean
from roofspring.sandfilter.acceptance import SHORT
from roofspring.sandfilter.sieve.curve import GradingCurve, Reading
from roofspring.sandfilter.sieve.sizes import opening_text

Quantity = Literal["effective size", "uniformity", "fines"]
DEFAULT_CRITERION = "ten-states"
NAMES = {
    "visscher-1990": "VISSCHER_1990",
    "huisman-wood-1974": "HUISMAN_WOOD_1974",
    "ten-states": "TEN_STATES_2018",
    "barrett-1991": "BARRETT_1991",
    "sincero-2003": "SINCERO_2003",
    "household": "CAWST_SHEET",
}
FINE_SIZES_M = {"fines": 75e-6, "finer_150": 150e-6}


@dataclass(frozen=True)
class Criterion:
    """What one source asks of filter sand; None where it says nothing."""

    id: str
    short: str
    d10_low_m: float
    d10_high_m: float
    uniformity_least: float | None
    uniformity_most: float
    uniformity_note: str
    fines_m: float | None
    fines_frac: float | None
    note: str
    source: str
    seen: str


@dataclass(frozen=True)
class Verdict:
    """One quantity of a sand against one source. ``ok`` is None where the test cannot tell."""

    criterion: Criterion
    quantity: Quantity
    have: str
    limit: str
    ok: bool | None
    side: Literal["", "low", "high"] = ""


@cache
def criteria() -> dict[str, Criterion]:
    """What each source asks of the grains, by its name.

    Source
    ------
    VISSCHER_1990, HUISMAN_WOOD_1974, TEN_STATES_2018, BARRETT_1991, SINCERO_2003, CAWST_SHEET:
    the rows on sand of the checklist of acceptance, ``tables/criteria.csv``.

    Examples
    --------
    >>> criteria()["ten-states"].uniformity_most
    2.5
    """
    path = resources.files("roofspring.sandfilter").joinpath("tables/criteria.csv")
    rows = list(csv.DictReader(path.read_text("utf-8").splitlines()))
    return {name: _criterion(name, SHORT[key], key, rows) for name, key in NAMES.items()}


def _criterion(name: str, short: str, source: str, rows: list[dict[str, str]]) -> Criterion:
    mine = {row["criterion"]: row for row in rows if row["source"] == source}
    even, size = mine["uniformity"], mine["d10"]
    fines = next(
        ((size_m, mine[kind]) for kind, size_m in FINE_SIZES_M.items() if kind in mine), None
    )
    return Criterion(
        name,
        short,
        float(f"{size['low']}e-3"),
        float(f"{size['high']}e-3"),
        float(even["low"]) if even["low"] else None,
        float(even["high"]),
        even["note"],
        None if fines is None else fines[0],
        None if fines is None else float(fines[1]["high"]) / 100.0,
        "; ".join(n for n in (size["note"], fines[1]["note"] if fines else "") if n),
        source,
        size["seen"],
    )


def criterion(name: str) -> Criterion:
    """One criterion by its name.

    Raises
    ------
    SieveError (SIV-021)
        There is none of that name.
    """
    if name not in criteria():
        raise SieveError(
            Problem(
                "SIV-021",
                "no published limits go by this name",
                where="--criterion",
                got=repr(name),
                allowed=", ".join(criteria()),
                next=did_you_mean(name, criteria()),
            )
        )
    return criteria()[name]


def verdicts(curve: GradingCurve) -> tuple[Verdict, ...]:
    """A sand against every source, quantity by quantity.

    Parameters
    ----------
    curve : GradingCurve

    Returns
    -------
    tuple of Verdict
        Only of quantities that a source limits.

    Source
    ------
    As in `criteria`.
    """
    made = []
    d10, uniformity = curve.size(0.10), curve.uniformity
    for c in criteria().values():
        ok, side = _between(d10, c.d10_low_m, c.d10_high_m)
        limit = f"{c.d10_low_m * 1e3:.2f} to {c.d10_high_m * 1e3:.2f} mm"
        made.append(Verdict(c, "effective size", d10.text, limit, ok, side))
        made.append(_uniform(c, uniformity))
        if c.fines_m is not None and c.fines_frac is not None:
            made.append(_fines(c, curve, c.fines_m, c.fines_frac))
    return tuple(made)


def _between(
    reading: Reading, low_m: float, high_m: float
) -> tuple[bool | None, Literal["", "low", "high"]]:
    size_m, slack = reading.size_m, 1e-9
    if size_m is None:
        if reading.most_m is not None and reading.most_m <= low_m:
            return False, "low"
        if reading.least_m is not None and reading.least_m >= high_m:
            return False, "high"
        return None, ""
    if size_m < low_m * (1.0 - slack):
        return False, "low"
    if size_m > high_m * (1.0 + slack):
        return False, "high"
    return True, ""


def _uniform(c: Criterion, uniformity: float | None) -> Verdict:
    least = c.uniformity_least
    limit = f"{least:g} to {c.uniformity_most:g}" if least else f"at most {c.uniformity_most:g}"
    if "preferred" in c.uniformity_note:
        limit += f" ({c.uniformity_note})"
    if uniformity is None:
        return Verdict(c, "uniformity", "unknown", limit, ok=None)
    have = f"{uniformity:.2f}"
    if uniformity > c.uniformity_most * (1.0 + 1e-9):
        return Verdict(c, "uniformity", have, limit, ok=False, side="high")
    # A sand more even than a source describes is no trouble for water, only for the purse.
    return Verdict(c, "uniformity", have, limit, ok=True)


def _fines(c: Criterion, curve: GradingCurve, size_m: float, limit_frac: float) -> Verdict:
    least, most = curve.passing(size_m)
    limit = f"at most {100 * limit_frac:g} % finer than {opening_text(size_m)}"
    have = share_text(least, most)
    if most <= limit_frac * (1.0 + 1e-9):
        return Verdict(c, "fines", have, limit, ok=True)
    if least > limit_frac:
        return Verdict(c, "fines", have, limit, ok=False, side="high")
    return Verdict(c, "fines", have, limit, ok=None)


def share_text(least_frac: float, most_frac: float) -> str:
    """A share, or the bounds it lies between, in percent."""
    if abs(most_frac - least_frac) < 1e-9:
        return f"{100 * least_frac:.1f} %"
    if least_frac <= 0.0:
        return f"at most {100 * most_frac:.1f} %"
    return f"{100 * least_frac:.1f} to {100 * most_frac:.1f} %"


def sand_findings(
    curve: GradingCurve,
    rows: tuple[Verdict, ...],
    *,
    chosen: Criterion,
    use: Literal["as it is", "to be prepared"],
) -> tuple[Finding, ...]:
    """What a designer must see: one finding for each way in which a sand misses the limits.

    Parameters
    ----------
    curve : GradingCurve
    rows : tuple of Verdict
        From `verdicts`.
    chosen : Criterion
        The source that this design follows: missing it is a caution, missing only others a note.
    use : {"as it is", "to be prepared"}
        A sand of a size that no source allows, and that nothing can be made of, is a stop. Fines
        never are: they can be washed out.

    Returns
    -------
    tuple of Finding
    """
    found = []
    kinds: tuple[tuple[str, Quantity, Literal["low", "high"], str, str, str], ...] = (
        (
            "SIV-110",
            "effective size",
            "low",
            "the sand is finer than published for such filters: it will choke soon",
            "coarser sand",
            "take the fines out (washing), or blend in a coarser sand",
        ),
        (
            "SIV-111",
            "effective size",
            "high",
            "the sand is coarser than published for such "
            "filters: it lets more through and ripens late",
            "finer sand",
            "sieve out the coarse grains, or blend in a finer sand",
        ),
        (
            "SIV-112",
            "uniformity",
            "high",
            "the grains differ more in size than published for such "
            "filters: fine ones fill the gaps",
            "grains nearer to one size",
            "cut off the coarse and the fine end",
        ),
        (
            "SIV-113",
            "fines",
            "high",
            "the sand holds more fines than published for such filters: "
            "they cloud the water and choke the bed",
            "cleaner sand",
            "wash it until the water runs clear",
        ),
    )
    for code, quantity, side, what, asked, advice in kinds:
        of = [r for r in rows if r.quantity == quantity]
        wrong = [r for r in of if r.ok is False and r.side == side]
        if not wrong:
            continue
        mine = next((r for r in wrong if r.criterion.id == chosen.id), None)
        if quantity == "fines" and not any(r.criterion.id == chosen.id for r in of):
            mine = wrong[0]
        first = mine or wrong[0]
        against = "; ".join(f"{r.limit} ({r.criterion.short})" for r in wrong)
        held = [r.criterion.short for r in of if r.ok]
        found.append(
            Finding(
                code,
                _severity(quantity, chosen_too=mine is not None, held=bool(held), use=use),
                what if mine else f"sources that this does not follow ask for {asked}",
                where=curve.name,
                got=first.have,
                limit=against + (f". Allowed by {', '.join(held)}" if held and mine else ""),
                source=first.criterion.source,
                next=advice
                if mine
                else f"nothing, while {chosen.short} is followed; --criterion chooses another",
            )
        )
    return (*found, *_unknown(curve, rows))


def _severity(quantity: Quantity, *, chosen_too: bool, held: bool, use: str) -> Severity:
    if not chosen_too:
        return "note"
    lost = use == "as it is" and not held and quantity != "fines"
    return "stop" if lost else "caution"


def _unknown(curve: GradingCurve, rows: tuple[Verdict, ...]) -> list[Finding]:
    found = []
    finest = opening_text(curve.sizes_m[0])
    missing = [n for n, f in (("d10", 0.10), ("d60", 0.60)) if curve.size(f).size_m is None]
    if missing:
        found.append(
            Finding(
                "SIV-103",
                "caution",
                f"{' and '.join(missing)} cannot be read: the sieves end before",
                where=curve.name,
                got="; ".join(
                    f"{n} {curve.size(f).text}"
                    for n, f in (("d10", 0.10), ("d60", 0.60))
                    if n in missing
                ),
                limit="10 % and 60 % between the finest and the coarsest sieve",
                source="ASTM_C136",
                next="sieve with a finer or coarser sieve too; beyond them nothing is guessed",
            )
        )
    if any(r.quantity == "fines" and r.ok is None for r in rows):
        found.append(
            Finding(
                "SIV-105",
                "note",
                f"the finest sieve, {finest}, does not tell how much silt there is",
                where=curve.name,
                got=f"at most {100 * curve.passing_frac[0]:.1f} % finer than it",
                limit="a sieve of 0.075 mm (No. 200)",
                source="ASTM_C136",
                next="sieve through 0.075 mm too, or settle a sample in a jar",
            )
        )
    return found
