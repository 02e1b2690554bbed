"""Read a sieve test from a file or from what a person types."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from roofspring.errors import Problem, SieveError, UnitError
from roofspring.sandfilter.sieve._grid import Row, grid
from roofspring.sandfilter.sieve._rows import KINDS, Kind, SieveRow, Trouble, check_rows
from roofspring.sandfilter.sieve.analysis import SieveTest, sieve_test
from roofspring.sandfilter.sieve.sizes import parse_opening
from roofspring.units import parse

PAN = ("pan", "tray", "receiver", "bottom pan", "pan (bottom)")
SUMS = ("total", "sum", "after", "after sieving")
_SIEVE = re.compile(r"sieve|opening|aperture|mesh|screen|grain size")
_VALUES = re.compile(r"retain|pass|finer|undersize|oversize|mass|weight|%|percent")
_LENGTHS = {
    "mm": "mm",
    "um": "um",
    "µm": "um",
    "μm": "um",
    "micron": "um",
    "microns": "um",
    "in": "in",
    "inch": "in",
    "inches": "in",
}
_MASSES = ("g", "kg", "lb", "oz", "mg")
_SUM_SLACK = 0.005
"""How far a written total may miss the sum of rounded masses: engineering choice."""


@dataclass(frozen=True)
class _Column:
    index: int
    unit: str
    kind: Kind | None = None
    sure: bool = False


def read_sieve_file(
    path: Path,
    *,
    kind: Kind | None = None,
    before_kg: float | None = None,
    sheet: str | None = None,
    name: str | None = None,
) -> SieveTest:
    """Read a sieve test from CSV or XLSX.

    Parameters
    ----------
    path : pathlib.Path
        A heading row, then a row for each sieve; words above the heading are passed over. One
        column names the sieve, one holds masses or percents; units stand in the heading or in the
        cells. A row ``pan``, a row ``before`` (dry mass before sieving) and a row ``total`` may
        stand among them; ``#`` begins a comment, and one with the word "invented" marks the test
        as such.
    kind : Kind, optional
        What the values are, where the heading does not say, or says it of several columns.
    before_kg : float, optional
        Dry mass before sieving [kg]; what the file says when not given.
    sheet : str, optional
        Sheet of a spreadsheet; the first when not given.
    name : str, optional
        Of the sand; the file's own when not given.

    Returns
    -------
    SieveTest

    Raises
    ------
    SieveError (SIV-001 to SIV-016)
        Every problem of the file at once, each with its line.

    Source
    ------
    ASTM_C136 (form of a sieve test).
    """
    content = grid(path, sheet=sheet)
    at = _heading(content.rows)
    (head_line, heads), rows = content.rows[at], content.rows[at + 1 :]
    file = str(path)
    sieve_column = _sieve_column(heads, file, head_line)
    _no_values_above(content.rows[:at], sieve_column, file)
    column = _value_column(heads, [cells for _, cells in rows], kind, file, head_line)
    found: list[SieveRow] = []
    problems: list[Problem] = []
    totals: list[tuple[int, float]] = []
    before: SieveRow | None = None
    for line, cells in rows:
        try:
            special, row = _row((line, cells), sieve_column, column, wide=len(heads))
        except SieveError as error:
            problems += [_placed(p, file, line) for p in error.problems]
            continue
        if row is None:
            continue
        if special == "before":
            if before is not None:
                problems.append(_twice_before(file, line, before.line))
            before = row
        elif special == "total":
            totals.append((line, row.value))
        else:
            found.append(row)
    assert column.kind is not None  # _value_column refuses this
    if problems:
        trouble = Trouble(file)
        check_rows(found, column.kind, trouble, all_read=False)
        raise SieveError(sorted((*problems, *trouble.found), key=lambda p: p.line or 0))
    test = sieve_test(
        found,
        kind=column.kind,
        before_kg=before_kg if before_kg is not None or before is None else before.value,
        before_line=None if before is None else before.line,
        name=name or path.stem,
        file=file,
        sure=column.sure,
    )
    _check_totals(totals, found, column.kind, file)
    return replace(test, invented="invented" in content.comments.lower())


def typed_sieve_test(
    texts: Sequence[str],
    *,
    kind: Kind | None = None,
    before_kg: float | None = None,
    name: str = "sand",
) -> SieveTest:
    """Read a sieve test that was typed, a text for each sieve.

    Parameters
    ----------
    texts : sequence of str
        ``"0.600 mm=120 g"``, ``"No. 30=39.4 %"``, ``"pan=3 g"``.
    kind : Kind, optional
        What the values are; masses without it are those retained on each sieve.
    before_kg : float, optional
        Dry mass before sieving [kg].
    name : str

    Returns
    -------
    SieveTest

    Raises
    ------
    SieveError (SIV-003 to SIV-016)
        Every problem at once.

    Source
    ------
    ASTM_C136 (form of a sieve test).

    Examples
    --------
    >>> test = typed_sieve_test(["1.18 mm=0 g", "0.3 mm=60 g", "0.15 mm=35 g", "pan=5 g"])
    >>> test.curve.passing_frac
    (0.05, 0.4, 1.0)
    """
    rows: list[SieveRow] = []
    problems: list[Problem] = []
    for text in texts:
        left, equals, right = text.partition("=")
        mass = not right.strip().endswith("%")
        used: Kind = kind or ("retained-mass" if mass else "passing-percent")
        try:
            if not equals:
                raise _unread("this is not a sieve and its value", text)
            if not mass and kind is None:
                raise _which_percent(text)
            opening_m = None if left.strip().lower() in PAN else parse_opening(left)
            rows.append(SieveRow(opening_m, _amount(right, "", used)))
        except SieveError as error:
            problems += [_placed(p, "", None, where=f"--sieve {text}") for p in error.problems]
    if problems:
        raise SieveError(problems)
    return sieve_test(
        rows,
        kind=kind or "retained-mass",
        before_kg=before_kg,
        name=name,
        sure=kind is not None,
    )


def _heading(rows: Sequence[Row]) -> int:
    """The row that heads the table: the first that names both sieves and what the values are.

    A laboratory's sheet has its client and date above it. Without such a row it is the first.
    """
    for at, (_, cells) in enumerate(rows):
        sieves = [c for c in cells if _SIEVE.search(c.lower())]
        if sieves and any(_VALUES.search(c.lower()) for c in cells if c not in sieves[:1]):
            return at
    return 0


def _no_values_above(rows: Sequence[Row], sieve: _Column, file: str) -> None:
    """Refuse a row above the heading that is one of the table: it would be lost."""
    for line, cells in rows:
        if len(cells) > sieve.index + 1 and all(cells[: sieve.index + 2]):
            try:
                parse_opening(cells[sieve.index], unit=sieve.unit)
            except SieveError:
                continue
            problem = _unread("a row of the table stands above its heading", ", ".join(cells))
            raise SieveError(_placed(problem.problems[0], file, line))


def _twice_before(file: str, line: int, first: int | None) -> Problem:
    return Problem(
        "SIV-008",
        "the mass before sieving is given twice",
        file,
        line,
        "before",
        allowed=f"once; first given on line {first}",
        next="delete one",
    )


def _sieve_column(heads: list[str], file: str, line: int) -> _Column:
    hits = [
        i
        for i, h in enumerate(heads)
        if _SIEVE.search(h.lower()) and not re.search(r"retain|passing|finer", h.lower())
    ]
    if len(hits) == 1:
        words = _words(heads[hits[0]])
        unit = next((_LENGTHS[w] for w in words if w in _LENGTHS), "")
        if not unit and ({"no", "number", "astm"} & set(words)):
            unit = "No."
        return _Column(hits[0], unit)
    raise SieveError(
        Problem(
            "SIV-002",
            "no column names the sieves" if not hits else "several columns name the sieves",
            file,
            line,
            "heading",
            _listed(heads),
            "one column headed 'sieve mm', 'opening (um)', 'sieve no' or the like",
            "head the column of the sieves 'sieve mm', and take others like it away",
        )
    )


def _listed(cells: Sequence[str]) -> str:
    return ", ".join(c for c in cells if c)[:80]


def _words(head: str) -> list[str]:
    return [w for w in re.split(r"[^a-zµμ%]+", head.lower()) if w]


def _kind_of(head: str, cells: list[str]) -> Kind | None:
    """What a heading says its column holds; mass or percent may stand in the cells instead."""
    text, words = head.lower(), set(_words(head))
    percent = bool(words & {"%", "percent", "percentage", "pct"}) or "%" in text
    mass = bool(words & {"mass", "weight", *_MASSES})
    if not percent and not mass:
        percent = any(c.endswith("%") for c in cells)
        mass = any(c.rsplit(" ", 1)[-1] in _MASSES for c in cells)
    if re.search(r"pass|finer|undersize", text):
        return "passing-percent" if percent and not mass else None
    if not re.search(r"retain|oversize", text) or percent == mass:
        return None
    if re.search(r"cumul|total|accum", text):
        return "cumulative-retained-mass" if mass else "cumulative-retained-percent"
    return "retained-mass" if mass else "retained-percent"


def _value_column(
    heads: list[str], rows: list[list[str]], kind: Kind | None, file: str, line: int
) -> _Column:
    kinds = {
        i: k
        for i, h in enumerate(heads)
        if (k := _kind_of(h, [r[i] for r in rows if len(r) > i])) is not None
    }
    others = [i for i, h in enumerate(heads) if i not in kinds and not _SIEVE.search(h.lower())]
    mine = [i for i, k in kinds.items() if kind in (None, k)]
    if kind is not None and not mine and len(kinds) + len(others) == 1:
        mine = [*kinds, *others]  # the person knows better than the heading
    if len(mine) == 1:
        index = mine[0]
        unit = next((w for w in _words(heads[index]) if w in _MASSES), "")
        if re.search(r"%|percent|pct", heads[index].lower()):
            unit = "%"
        return _Column(index, unit, kind or kinds[index], kind is not None)
    what = "several columns could be meant" if mine else "no column says what it holds"
    raise SieveError(
        Problem(
            "SIV-002",
            f"{what}: retained or passing, mass or percent, each or cumulative",
            file,
            line,
            "heading",
            _listed(heads),
            "one column headed 'retained g', 'cumulative retained %', 'passing %' or the like",
            "name the columns so, or say which is meant with --as: " + ", ".join(KINDS),
        )
    )


def _row(row: Row, sieve: _Column, column: _Column, *, wide: int) -> tuple[str, SieveRow | None]:
    line, cells = row
    if len(cells) <= max(sieve.index, column.index):
        raise _unread("the row has too few cells", ", ".join(cells))
    if any(cells[wide:]):
        raise _unread("the row has more cells than the heading", ", ".join(cells))
    name, value = cells[sieve.index].strip(), cells[column.index]
    assert column.kind is not None
    plain = name.lower().rstrip(":")
    if plain.startswith(("before", "original", "dry mass before")):
        return "before", SieveRow(None, _amount(value, column.unit, "retained-mass"), line)
    if plain in SUMS:
        if not value:
            return "total", None
        return "total", SieveRow(None, _amount(value, column.unit, column.kind), line)
    if plain in PAN:
        return "pan", SieveRow(None, _amount(value, column.unit, column.kind), line)
    opening_m = parse_opening(name, unit=sieve.unit)
    return "", SieveRow(opening_m, _amount(value, column.unit, column.kind), line)


def _amount(text: str, unit: str, kind: Kind) -> float:
    """A mass [kg] or a share, from a cell with its unit or under a heading with one."""
    plain = text.strip()
    to = "" if kind.endswith("percent") else "kg"
    bare = re.fullmatch(r"[+-]?[\d.]+(?:[eE][+-]?\d+)?", plain) is not None
    if bare:
        if not unit:
            raise _unit_missing(plain, to)
        plain = f"{plain} {unit}"
    elif not to and not plain.endswith("%"):
        raise _unit_missing(plain, to)
    try:
        value = parse(plain, to=to)
    except UnitError as error:
        raise _unit_missing(plain, to, error.problems[0].what) from error
    # 12 digits: 39.4 % is 0.394, not the next number to it.
    return float(f"{value:.12g}") if math.isfinite(value) else value


def _unit_missing(got: str, to: str, why: str = "the unit is missing") -> SieveError:
    wanted = "a mass with its unit, like 120 g" if to else "a percent, like 39.4 %"
    return SieveError(
        Problem(
            "SIV-005",
            f"this is not {'a mass' if to else 'a percent'}: {why}",
            where="value",
            got=repr(got),
            allowed=wanted + ", or a unit in the heading",
            next="write the unit, with a point as the decimal mark",
        )
    )


def _unread(what: str, got: str) -> SieveError:
    return SieveError(
        Problem(
            "SIV-003",
            what,
            got=repr(got),
            allowed='like "0.600 mm=120 g" or "pan=3 g"',
            next="complete it",
        )
    )


def _which_percent(got: str) -> SieveError:
    return SieveError(
        Problem(
            "SIV-002",
            "a percent alone does not say whether it passed or was held back",
            got=repr(got),
            allowed=", ".join(k for k in KINDS if k.endswith("percent")),
            next="say which with --as, such as --as passing-percent",
        )
    )


def _placed(problem: Problem, file: str, line: int | None, *, where: str = "") -> Problem:
    return Problem(
        problem.code,
        problem.what,
        problem.file or file,
        problem.line or line,
        where or problem.where,
        problem.got,
        problem.allowed,
        problem.next,
    )


def _check_totals(
    totals: list[tuple[int, float]], rows: list[SieveRow], kind: Kind, file: str
) -> None:
    """A written total must be the sum of what stands above it."""
    if kind not in ("retained-mass", "retained-percent"):
        return
    whole = math.fsum(r.value for r in rows)
    for line, total in totals:
        if abs(total - whole) > _SUM_SLACK * whole:
            unit, size = (" g", 1000.0) if kind == "retained-mass" else (" %", 100.0)
            raise SieveError(
                Problem(
                    "SIV-012",
                    "the total that is written is not the sum of the rows",
                    file,
                    line,
                    "total",
                    f"{size * total:.6g}{unit}, the rows add up to {size * whole:.6g}{unit}",
                    f"within {100 * _SUM_SLACK:g} %",
                    "look for a row that was misread or left out",
                )
            )
