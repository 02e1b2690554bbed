"""Standard test sieves: openings, numbers and series, and how a person names one."""

from __future__ import annotations

import csv
import math
import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Literal

from roofspring.errors import Problem, SieveError, UnitError
from roofspring.units import parse

Series = Literal["astm", "iso"]
FINEST_M, COARSEST_M = 2e-5, 0.125
"""Openings of wire-cloth test sieves in ASTM_E11: outside these a unit is wrong."""
FINES_M = 75e-6
"""The No. 200 sieve: what passes it is called fines (ASTM_C136)."""
_SAME = 0.005
_NUMBER = re.compile(r"^(?:astm\s*)?(?:no|nr|number|#)\s*\.?\s*#?\s*(\d+(?: 1/2)?)$", re.IGNORECASE)


@dataclass(frozen=True)
class Sieve:
    """One standard sieve: opening, ASTM designation and ISO series where it has them."""

    opening_m: float
    astm: str
    iso: str
    source: str
    seen: str

    @property
    def name(self) -> str:
        """Opening, with the ASTM number where there is one."""
        size = opening_text(self.opening_m)
        return f"{size} ({self.astm})" if self.astm.startswith("No.") else size


@cache
def standard_sieves() -> tuple[Sieve, ...]:
    """Every sieve of the table, coarsest first.

    Source
    ------
    ASTM_E11 (openings and numbers); ISO_565 (series R 20/3, R 40/3 and R 20).

    Examples
    --------
    >>> [s.astm for s in standard_sieves() if s.opening_m == 212e-6]
    ['No. 70']
    """
    path = resources.files("roofspring.sandfilter").joinpath("tables/sieves.csv")
    return tuple(
        Sieve(float(f"{row['opening_mm']}e-3"), row["astm"], row["iso"], row["source"], row["seen"])
        for row in csv.DictReader(path.read_text("utf-8").splitlines())
    )


@cache
def series(name: Series) -> tuple[float, ...]:
    """Openings of one series, coarsest first: ASTM E11, or ISO 565 R 20/3 with R 40/3 [m]."""
    if name == "astm":
        return tuple(s.opening_m for s in standard_sieves() if s.astm)
    return tuple(s.opening_m for s in standard_sieves() if s.iso in ("R 20/3", "R 40/3"))


def sieve_at(opening_m: float) -> Sieve | None:
    """The standard sieve of an opening, within 0.5 %; None when there is none."""
    return next(
        (s for s in standard_sieves() if math.isclose(s.opening_m, opening_m, rel_tol=_SAME)), None
    )


def sieve_name(opening_m: float) -> str:
    """An opening for a reader, with the ASTM number where it is that of a standard sieve.

    >>> sieve_name(212e-6)
    '0.212 mm (No. 70)'
    """
    sieve = sieve_at(opening_m)
    return sieve.name if sieve is not None else opening_text(opening_m)


def opening_text(opening_m: float) -> str:
    """An opening in millimetres without needless zeros.

    >>> opening_text(75e-6)
    '0.075 mm'
    """
    return f"{opening_m * 1e3:.4g} mm"


def size_text(size_m: float) -> str:
    """A grain size in millimetres with three digits that count.

    >>> size_text(0.00030094)
    '0.301 mm'
    """
    size_mm = size_m * 1e3
    places = max(0, 2 - math.floor(math.log10(size_mm))) if size_mm > 0.0 else 0
    return f"{size_mm:.{min(places, 4)}f} mm"


def neighbours(size_m: float, openings_m: Iterable[float]) -> tuple[float, ...]:
    """The sieves just below and just above a size, or the one that has it; finest first [m]."""
    sizes = sorted(openings_m)
    same = [s for s in sizes if math.isclose(s, size_m, rel_tol=_SAME)]
    if same:
        return (same[0],)
    below = [s for s in sizes if s < size_m][-1:]
    above = [s for s in sizes if s > size_m][:1]
    return (*below, *above)


def parse_opening(text: str, *, unit: str = "") -> float:
    """Read a sieve as a person names it.

    Parameters
    ----------
    text : str
        ``"0.600 mm"``, ``"600 um"``, ``"1/4 in"``, ``"No. 30"`` or ``"#30"``. A bare number only
        where ``unit`` says what it is.
    unit : str
        Unit of bare numbers, such as ``mm``; ``No.`` for ASTM numbers; empty for none.

    Returns
    -------
    float
        Opening [m].

    Raises
    ------
    SieveError (SIV-004, SIV-016)
        No unit, no such number, or an opening that no wire-cloth sieve has.

    Source
    ------
    ASTM_E11.

    Examples
    --------
    >>> parse_opening("No. 30")
    0.0006
    >>> parse_opening("300", unit="um")
    0.0003
    """
    plain = text.strip()
    named = _NUMBER.match(plain)
    if named is None and unit == "No." and re.fullmatch(r"\d+(?: 1/2)?", plain):
        named = _NUMBER.match(f"No. {plain}")
    if named is not None:
        wanted = f"No. {named[1]}"
        found = next((s for s in standard_sieves() if s.astm == wanted), None)
        if found is None:
            raise _refused("there is no such sieve number", text, "the numbers of ASTM E11")
        return found.opening_m
    if unit and unit != "No." and re.fullmatch(r"[\d.]+(?:[eE][+-]?\d+)?", plain):
        plain = f"{plain} {unit}"
    try:
        opening_m = parse(plain, to="m")
    except UnitError as error:
        raise _refused(
            "this is not a sieve opening with its unit: " + error.problems[0].what,
            text,
            "an opening with its unit, or an ASTM number written as No. 30",
        ) from error
    if not FINEST_M <= opening_m <= COARSEST_M:
        raise SieveError(
            Problem(
                "SIV-016",
                "no wire-cloth test sieve has this opening: the unit is probably wrong",
                where="sieve",
                got=text.strip(),
                allowed="0.02 mm to 125 mm (ASTM E11)",
                next="check the unit: 0.6 mm is 600 um",
            )
        )
    return opening_m


def _refused(what: str, got: str, allowed: str) -> SieveError:
    return SieveError(
        Problem(
            "SIV-004",
            what,
            where="sieve",
            got=repr(got.strip()),
            allowed=allowed,
            next='write it like "0.600 mm", "600 um" or "No. 30"',
        )
    )
