"""From what was weighed on the sieves to a grading curve, with the books of the test closed."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

from roofspring.errors import Finding
from roofspring.sandfilter.sieve._rows import (
    KIND_WORDS,
    KINDS,
    Kind,
    SieveRow,
    Trouble,
    check_rows,
    opening_of,
    value_text,
)
from roofspring.sandfilter.sieve.curve import GradingCurve
from roofspring.sandfilter.sieve.sizes import sieve_name
from roofspring.sources import ENGINEERING_CHOICE

BALANCE_FRAC = 0.003
"""Largest loss of a test that is used for acceptance (ASTM_C136)."""
WRONG_FRAC = 0.02
"""A larger difference is a mass that was read or typed wrongly, not a loss: engineering choice."""
LEAST_SAMPLE_KG = 0.300
"""Of a fine aggregate, dry (ASTM_C136, from memory)."""
SAMPLE_KG = (0.010, 60.0)
"""A sample outside this has a wrong unit: engineering choice."""
LEAST_PERCENT = 0.01 * (1.0 + 1e-9)
"""Percents that never pass 1 are shares of one: engineering choice."""
ROUNDING_FRAC = 0.005
"""How far rounded percents may miss 100: engineering choice."""


@dataclass(frozen=True)
class SieveTest:
    """A sieve test that adds up.

    Attributes
    ----------
    curve : GradingCurve
    kind : Kind
        What the values were.
    retained_frac : tuple of float
        Share on each sieve, finest first, then nothing for the pan.
    pan_frac : float
        Share that passed the finest sieve.
    total_kg : float or None
        Mass after sieving; None where percents were given.
    loss_frac : float or None
        Mass before less mass after, over mass before; None where it cannot be told.
    findings : tuple of Finding
    invented : bool
        The file says that nobody sieved this sand.
    """

    curve: GradingCurve
    kind: Kind
    retained_frac: tuple[float, ...]
    pan_frac: float
    total_kg: float | None
    loss_frac: float | None
    findings: tuple[Finding, ...]
    invented: bool = False


def sieve_test(
    rows: Sequence[SieveRow],
    *,
    kind: Kind,
    before_kg: float | None = None,
    before_line: int | None = None,
    name: str = "sand",
    file: str = "",
    sure: bool = False,
) -> SieveTest:
    """Check a sieve test and turn it into a curve.

    Parameters
    ----------
    rows : sequence of SieveRow
        In the order of the sieves, coarsest or finest first; the pan at the fine end.
    kind : Kind
        What the values are.
    before_kg : float, optional
        Dry mass of the sample before sieving [kg].
    before_line : int, optional
        Where the file says so, for messages.
    name, file : str
        For the curve, and for messages.
    sure : bool
        The person said the kind in so many words: values that look like another kind are taken.

    Returns
    -------
    SieveTest

    Raises
    ------
    SieveError (SIV-006 to SIV-017)
        Every problem of the test at once.

    Source
    ------
    ASTM_C136 (percent passing; mass balance of 0.3 % for acceptance; 300 g of a fine aggregate).
    """
    trouble = Trouble(file)
    check_rows(rows, kind, trouble)
    trouble.check()
    sieves = sorted((r for r in rows if r.opening_m is not None), key=lambda r: -opening_of(r))
    pan = next((r for r in rows if r.opening_m is None), None)
    if kind in ("retained-mass", "cumulative-retained-mass"):
        before = None if before_kg is None else SieveRow(None, before_kg, before_line)
        return _by_mass(sieves, pan, kind, before, name, trouble, sure=sure)
    if before_kg is not None:
        trouble.add(
            "SIV-005",
            "a mass before sieving goes with masses, and these are percents",
            where="before",
            next="leave it out, or give the masses on the sieves",
        )
        trouble.check()
    return _by_share(sieves, pan, kind, name, trouble)


def _mixed_up(
    trouble: Trouble, row: SieveRow, kind: Kind, *, looks_like: str, because: str
) -> None:
    trouble.add(
        "SIV-011",
        f"retained and passing, or each and cumulative, seem mixed up: {because}",
        row=row,
        got=f"read as {KIND_WORDS[kind]}; looks like {looks_like}",
        allowed=", ".join(KINDS),
        next="say what the column is with --as, or in its heading",
    )


def _by_mass(
    sieves: list[SieveRow],
    pan: SieveRow | None,
    kind: Kind,
    before: SieveRow | None,
    name: str,
    trouble: Trouble,
    *,
    sure: bool,
) -> SieveTest:
    before_kg = None if before is None else before.value
    rows = [*sieves, *([pan] if pan else [])]
    masses = [r.value for r in rows]
    rising = all(a < b for a, b in itertools.pairwise(masses)) and len(masses) > 3
    if kind == "cumulative-retained-mass":
        for above, row in itertools.pairwise(rows):
            if row.value < above.value:
                _mixed_up(
                    trouble,
                    row,
                    kind,
                    looks_like="mass on each sieve",
                    because="a cumulative mass falls",
                )
                break
        masses = [b - a for a, b in zip([0.0, *masses], masses, strict=False)]
    elif rising and not sure:
        _mixed_up(
            trouble,
            rows[-1],
            kind,
            looks_like=KIND_WORDS["cumulative-retained-mass"],
            because="the masses rise on every finer sieve down to the last",
        )
    trouble.check()
    after = math.fsum(masses)
    if after <= 0.0:
        trouble.add(
            "SIV-014", "nothing was weighed on any sieve", got="0 g", next="give the masses"
        )
    if pan is None and before_kg is None:
        trouble.add(
            "SIV-015",
            "what passed the finest sieve is not known: there is no pan",
            allowed="a row for the pan, or the mass before sieving",
            next="weigh the pan and add a row for it; 0 g if it was empty",
        )
    trouble.check()
    loss_frac, findings = None, _sample(name, after if before_kg is None else before_kg, trouble)
    if before_kg is None:
        findings.append(
            Finding(
                "SIV-102",
                "note",
                "the mass before sieving is not given, so a loss is not seen",
                where=name,
                limit=f"within {100 * BALANCE_FRAC:g} %",
                source="ASTM_C136",
                next="weigh the dry sample before sieving too",
            )
        )
    else:
        loss_frac = (before_kg - after) / before_kg
        if pan is None:
            if loss_frac < 0.0:
                _not_adding(trouble, before, after, loss_frac)
            masses.append(max(0.0, before_kg - after))
            after, loss_frac = before_kg, None
            findings.append(
                Finding(
                    "SIV-102",
                    "note",
                    "the pan was not weighed: what is missing is taken to have passed it",
                    where=name,
                    limit=f"within {100 * BALANCE_FRAC:g} %",
                    source="ASTM_C136",
                    next="weigh the pan too",
                )
            )
        elif abs(loss_frac) > WRONG_FRAC:
            _not_adding(trouble, before, after, loss_frac)
        elif abs(loss_frac) > BALANCE_FRAC:
            findings.append(_loss(name, loss_frac))
    trouble.check()
    shares = [m / after for m in masses]
    on_sieves = shares[: len(sieves)]
    pan_frac = shares[-1] if len(shares) > len(sieves) else 0.0
    return _made(sieves, on_sieves, pan_frac, kind, name, after, loss_frac, findings)


def _percent(share: float) -> str:
    """A share of percents that stays short, however wrong it is."""
    return f"{100 * abs(share):.1f}" if abs(share) < 100.0 else f"{100 * abs(share):.3g}"


def _not_adding(
    trouble: Trouble, before: SieveRow | None, after_kg: float, loss_frac: float
) -> None:
    assert before is not None
    many = after_kg / before.value
    hint = "; they may be cumulative" if many > 1.5 else ""
    trouble.add(
        "SIV-012",
        f"the masses on the sieves do not add up to the mass before sieving{hint}",
        row=before,
        where="before",
        got=f"{1000 * after_kg:.6g} g on sieves and pan, {1000 * before.value:.6g} g before: "
        f"{_percent(loss_frac)} % {'missing' if loss_frac > 0 else 'too much'}",
        allowed=f"within {100 * BALANCE_FRAC:g} % for acceptance (ASTM C136); over "
        f"{100 * WRONG_FRAC:g} % a mass is wrong",
        next="look for a mass that was misread or left out; weigh the sieves again",
    )


def _sample(name: str, sample_kg: float, trouble: Trouble) -> list[Finding]:
    """What the size of the sample says: a wrong unit, or too little for a test."""
    low_kg, high_kg = SAMPLE_KG
    if not low_kg <= sample_kg <= high_kg:
        trouble.add(
            "SIV-017",
            "nobody sieves such a sample: the unit of the masses is probably wrong",
            got=f"{sample_kg:.4g} kg in all",
            allowed=f"{1000.0 * low_kg:g} g to {high_kg:g} kg",
            next="check the unit in the heading: half a kilogram is usual",
        )
        trouble.check()
    if sample_kg >= LEAST_SAMPLE_KG:
        return []
    return [
        Finding(
            "SIV-106",
            "note",
            "the sample is smaller than the standard method asks of sand",
            where=name,
            got=f"{1000.0 * sample_kg:.0f} g",
            limit=f"{1000.0 * LEAST_SAMPLE_KG:g} g or more",
            source="ASTM_C136",
            next="sieve half a kilogram, taken from several places of the heap",
        )
    ]


def _loss(name: str, loss_frac: float) -> Finding:
    return Finding(
        "SIV-101",
        "stop",
        f"{'more was lost' if loss_frac > 0 else 'more was found'} in sieving than a test may, "
        "so this test cannot accept or refuse a sand",
        where=name,
        got=f"{100 * abs(loss_frac):.2f} %",
        limit=f"within {100 * BALANCE_FRAC:g} % of the mass before",
        source="ASTM_C136",
        next="clean the sieves, dry the sand and sieve again; until then take the curve as a hint",
    )


def _by_share(
    sieves: list[SieveRow], pan: SieveRow | None, kind: Kind, name: str, trouble: Trouble
) -> SieveTest:
    rows = [*sieves, *([pan] if pan else [])]
    shares = [r.value for r in rows]
    if 0.0 < max(shares) <= LEAST_PERCENT:
        trouble.add(
            "SIV-005",
            "no percent is over 1: these look like shares of one, not percents",
            row=max(rows, key=lambda r: r.value),
            got=value_text(max(rows, key=lambda r: r.value), kind),
            allowed="percents, 0 to 100",
            next="multiply them by 100, or set the cells to plain numbers",
        )
        trouble.check()
    if kind == "retained-percent":
        return _by_retained(sieves, pan, rows, shares, name, trouble)
    steps = [(a, b) for a, b in itertools.pairwise(rows) if a.value != b.value]
    wrong_way = [b for a, b in steps if (b.value > a.value) == (kind == "passing-percent")]
    if wrong_way and len(wrong_way) == len(steps):
        other: Kind = (
            "cumulative-retained-percent" if kind == "passing-percent" else "passing-percent"
        )
        way = "rises" if kind == "passing-percent" else "falls"
        _mixed_up(
            trouble,
            wrong_way[0],
            kind,
            looks_like=KIND_WORDS[other],
            because=f"the percent {way} on every finer sieve",
        )
    elif wrong_way:
        trouble.add(
            "SIV-013",
            "the percent goes back: it must only "
            f"{'fall' if kind == 'passing-percent' else 'rise'} towards finer sieves",
            row=wrong_way[0],
            got=value_text(wrong_way[0], kind),
            next="look for a typing error in this row or the one above",
        )
    trouble.check()
    passing = [s if kind == "passing-percent" else 1.0 - s for s in shares[: len(sieves)]]
    ends = 0.0 if kind == "passing-percent" else 1.0
    if pan is not None and abs(pan.value - ends) > ROUNDING_FRAC:
        trouble.add(
            "SIV-012",
            "the percents do not end where they must at the pan",
            row=pan,
            got=value_text(pan, kind),
            allowed=f"{100 * ends:g} %",
            next="check the kind of percent, and the last rows",
        )
        trouble.check()
    retained = [a - b for a, b in zip([1.0, *passing], passing, strict=False)]
    return _made(sieves, retained, passing[-1], kind, name, None, None, [])


def _by_retained(
    sieves: list[SieveRow],
    pan: SieveRow | None,
    rows: list[SieveRow],
    shares: list[float],
    name: str,
    trouble: Trouble,
) -> SieveTest:
    kind: Kind = "retained-percent"
    whole = math.fsum(shares)
    if whole > 1.0 + ROUNDING_FRAC and len(shares) > 2:
        steps = list(itertools.pairwise(shares))
        rising, falling = all(a <= b for a, b in steps), all(a >= b for a, b in steps)
        if rising or falling:
            like: Kind = "cumulative-retained-percent" if rising else "passing-percent"
            _mixed_up(
                trouble,
                rows[-1],
                kind,
                looks_like=KIND_WORDS[like],
                because=f"the percents add up to {100 * whole:.0f}",
            )
            trouble.check()
    if (pan is not None and abs(whole - 1.0) > ROUNDING_FRAC) or whole > 1.0 + ROUNDING_FRAC:
        trouble.add(
            "SIV-012",
            "the percents retained do not add up to 100",
            row=rows[-1],
            got=f"{100 * whole:.2f} %",
            allowed=f"100 %, within {100 * ROUNDING_FRAC:g}",
            next="look for a row that is wrong or missing",
        )
        trouble.check()
    if pan is None:
        shares.append(max(0.0, 1.0 - whole))
    whole = math.fsum(shares)
    if whole <= 0.0:
        trouble.add(
            "SIV-014", "nothing was weighed on any sieve", got="0 %", next="give the percents"
        )
        trouble.check()
    scaled = [s / whole for s in shares]
    return _made(sieves, scaled[: len(sieves)], scaled[-1], kind, name, None, None, [])


def _made(
    sieves: list[SieveRow],
    retained: list[float],
    pan_frac: float,
    kind: Kind,
    name: str,
    total_kg: float | None,
    loss_frac: float | None,
    findings: list[Finding],
) -> SieveTest:
    passing, below = [], pan_frac
    for share in reversed(retained):
        passing.append(min(1.0, below))
        below += share
    openings = tuple(opening_of(r) for r in reversed(sieves))
    top = passing[-1]
    if top < 1.0 - WRONG_FRAC:
        findings.append(
            Finding(
                "SIV-104",
                "note",
                "the coarsest sieve held some back, so sizes above it are not known",
                where=name,
                got=f"{100 * (1 - top):.1f} % on {sieve_name(openings[-1])}",
                limit=f"under {100 * WRONG_FRAC:g} %",
                source=ENGINEERING_CHOICE,
                next="add a coarser sieve on top",
            )
        )
    return SieveTest(
        GradingCurve(openings, tuple(passing), name),
        kind,
        tuple(reversed(retained)),
        pan_frac,
        total_kg,
        loss_frac,
        tuple(findings),
    )
