"""Reference cases: a number from outside beside ours, with its source and how far to trust it.

Every module ``tests/reference/cases_*.py`` has a list ``CASES``. ``tests/reference/test_cases.py``
runs them all, and ``docs/validation.md`` is made from them.
"""

from __future__ import annotations

import importlib
import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from roofspring.sources import COMMON_PRACTICE, cite

Status = Literal["confirmed", "quoted", "memory", "computed", "common practice, no source"]

MEANINGS: dict[Status, str] = {
    "confirmed": "the number was read in the source itself",
    "quoted": "the number was read in someone else's quotation of the source",
    "memory": "the formula or number was recalled and not looked up",
    "computed": "independent arithmetic from a stated formula and inputs, not by this program",
    "common practice, no source": "a saying of the trade",
}

REFERENCE = Path(__file__).parent / "reference"


@dataclass(frozen=True)
class Case:
    """One number.

    Attributes
    ----------
    id : str
        Row in our list of check values; several cases may share it.
    quantity : str
        What is compared, with its inputs.
    got : callable
        Our answer, in ``unit``.
    printed : str
        The number as its source prints it, in ``unit``; words may stand around it. A range, such
        as ``0.03 to 0.10``, has no tolerance: ours must lie in it.
    unit : str
    source : str
        Bibliography key, or ``common practice, no source``, or empty for ``computed``.
    where : str
        Place in the source, or the arithmetic. Where the source gives only the formula or the
        limit, this says so, and the status is that of the number.
    status : Status
    rel, within : float or None
        Relative, or absolute, tolerance, as far as the source or its inputs allow. Without either,
        half a unit in the last printed digit.
    note : str
        Anything a reader must know, above all where we and the source differ.
    """

    id: str
    quantity: str
    got: Callable[[], float]
    printed: str
    unit: str
    source: str
    where: str
    status: Status
    rel: float | None = None
    within: float | None = None
    note: str = ""

    @property
    def expected(self) -> float:
        """The printed number; the middle of a printed range such as ``0.03 to 0.10``."""
        numbers = [float(n) for n in self._numbers]
        return sum(numbers) / len(numbers)

    @property
    def tolerance(self) -> float:
        """Largest difference allowed, in ``unit``."""
        if self.within is not None:
            return self.within
        if self.rel is not None:
            return self.rel * abs(self.expected)
        if self.is_range:
            low, high = (float(n) for n in self._numbers)
            return abs(high - low) / 2.0
        digits, _, power = self._numbers[0].lower().partition("e")
        places = len(digits.partition(".")[2])
        # A last digit of 5 may have been rounded either way: allow for the float nearest to it.
        return 0.5 * 10.0 ** (int(power or 0) - places) * (1.0 + 1e-9)

    @property
    def is_range(self) -> bool:
        """Whether the source prints a range and not a number."""
        return len(self._numbers) == 2

    @property
    def source_key(self) -> str:
        """The bibliography key, empty for our own arithmetic and for common practice."""
        return "" if self.source == COMMON_PRACTICE else self.source

    @property
    def digits(self) -> int:
        """Significant digits to show of ours: as many as printed, 4 to 7."""
        bare = self._numbers[0].lower().partition("e")[0].replace(".", "").lstrip("-0")
        return min(7, max(4, len(bare)))

    @property
    def _numbers(self) -> list[str]:
        found = re.findall(r"-?\d[\d,]*(?:\.\d+)?(?:[eE][+-]?\d+)?", self.printed)
        if len(found) not in (1, 2):
            raise ValueError(f"want one number, or a range, in {self.printed!r}")
        return [number.replace(",", "") for number in found]


@dataclass(frozen=True)
class Comparison:
    """A published result that ours is held against as a band, and that nothing is tuned to.

    For results that rest on inputs of their own, or whose spread was not read: a tolerance would
    have to be made up. Two bands are all that there is, and they must meet; how far the middle lies
    off is computed and stands on the page, for bands as wide as these meet easily.

    Attributes
    ----------
    id, quantity, unit : str
    published : tuple of float
        One value, or the ends of a range.
    published_words : str
        What the source says it is.
    ours : callable
        5th, 50th and 95th percentile of our households.
    source, where, note : str
        As `Case`.
    """

    id: str
    quantity: str
    unit: str
    published: tuple[float, ...]
    published_words: str
    ours: Callable[[], tuple[float, float, float]]
    source: str
    where: str
    note: str

    def meets(self) -> bool:
        """Whether any of our band, 5th to 95th percentile, lies in the published one."""
        low, _, high = self.ours()
        return low <= max(self.published) and high >= min(self.published)

    def verdict(self) -> str:
        """Agreement or not, from the numbers alone."""
        _, middle, _ = self.ours()
        least, most = min(self.published), max(self.published)
        if least <= middle <= most:
            return "our middle lies inside"
        side, times = ("above", middle / most) if middle > most else ("below", least / middle)
        reach = "reaches it" if self.meets() else "does not reach it"
        return f"our middle lies {float(f'{times:.2g}'):g} times {side}; our band {reach}"


def comparisons() -> list[Comparison]:
    """Those of all modules, in the order of the file names."""
    found: list[Comparison] = []
    for path in sorted(REFERENCE.glob("cases_*.py")):
        module = importlib.import_module(f"reference.{path.stem}")
        found.extend(getattr(module, "COMPARISONS", []))
    return found


def _comparison_row(c: Comparison) -> str:
    def two(value: float) -> str:
        return f"{value:.2g}" if value < 1e-3 else f"{float(f'{value:.2g}'):,g}"

    low, middle, high = c.ours()
    cells = (
        c.id,
        c.quantity,
        f"{' to '.join(two(p) for p in c.published)}{f' {c.unit}' if c.unit else ''}; "
        + c.published_words,
        f"{two(middle)} ({two(low)} to {two(high)})",
        c.verdict(),
        f"`{c.source}`, {c.where}. {c.note}",
    )
    return "| " + " | ".join(cell.replace("|", "/") for cell in cells) + " |"


def grouped_cases() -> dict[str, list[Case]]:
    """The cases of every ``tests/reference/cases_*.py`` by the first line of its docstring."""
    groups: dict[str, list[Case]] = {}
    for path in sorted(REFERENCE.glob("cases_*.py")):
        module = importlib.import_module(f"reference.{path.stem}")
        heading = (module.__doc__ or path.stem).splitlines()[0].rstrip(".")
        groups.setdefault(heading, []).extend(module.CASES)
    return groups


def all_cases() -> list[Case]:
    """The cases of all modules, in the order of the file names."""
    return [case for cases in grouped_cases().values() for case in cases]


def shown(value: float, digits: int = 4) -> str:
    """A number to some significant digits, written out, the same on every machine."""
    if value == 0.0:
        return "0"
    if not math.isfinite(value):
        return str(value)
    places = digits - 1 - math.floor(math.log10(abs(value)))
    if places > 9:
        return f"{value:.{digits - 1}e}"
    return f"{round(value, places):,.{max(0, places)}f}"


def difference(case: Case, ours: float) -> str:
    """Ours against the reference, in words that do not change with the last bit."""
    if case.is_range:
        return "inside" if abs(ours - case.expected) <= case.tolerance else "outside"
    if case.expected == 0.0:
        return "none" if abs(ours) < 1e-12 else shown(ours)
    share = ours / case.expected - 1.0
    if abs(share) < 5e-5:
        return "under 0.01 %"
    return f"{share:+.2%}".replace("%", " %")


def _row(case: Case) -> str:
    ours = case.got()
    unit = f" {case.unit}" if case.unit else ""
    key = f"`{case.source_key}`" if case.source_key else ""
    source = ", ".join(part for part in (key, case.where) if part)
    cells = (
        case.id,
        case.quantity,
        f"{case.printed}{unit}",
        shown(ours, case.digits),
        difference(case, ours),
        "range" if case.is_range else f"± {case.tolerance:.2g}",
        ". ".join(part for part in (source, case.note) if part),
        case.status,
    )
    return "| " + " | ".join(cell.replace("|", "/") for cell in cells) + " |"


def validation_text() -> str:
    """The whole of ``docs/validation.md``."""
    groups = grouped_cases()
    cases = all_cases()
    lines = [
        "# Validation: reference numbers beside ours",
        "",
        f"{len(cases)} numbers, made by `python tests/reference/write_validation.py`. A test",
        "compares this page with what the code gives today. Every difference must be inside the",
        "column *allowed*: half a unit of the last printed digit, or the accuracy of the source or",
        "of the inputs it used. The last column says how the reference number was come by:",
        "",
        *(f"- **{status}**: {meaning}." for status, meaning in MEANINGS.items()),
    ]
    for heading, group in groups.items():
        lines += [
            "",
            f"## {heading}",
            "",
            "| id | quantity | reference | ours | difference | allowed | source | status |",
            "|---|---|---|---|---|---|---|---|",
            *(_row(case) for case in group),
        ]
    lines += [
        "",
        "## Bands that must meet",
        "",
        "Published results of studies of roof water that rest on inputs of their own, or whose",
        "spread was not read. No tolerance can be given without making one up, so ours is held",
        "against them as a band: the middle, with the 5th and the 95th of a hundred households. A",
        "test fails when the two bands no longer meet. Bands this wide meet easily, so the page",
        "says how far the middles lie apart. Nothing was tuned to them.",
        "",
        "| id | quantity | published | ours | what the two say | source and reading |",
        "|---|---|---|---|---|---|",
        *(_comparison_row(c) for c in comparisons()),
    ]
    keys = sorted(({case.source_key for case in cases} | {c.source for c in comparisons()}) - {""})
    lines += ["", "## Sources", "", *(f"- `{key}`: {cite(key)}." for key in keys)]
    return "\n".join(lines) + "\n"
