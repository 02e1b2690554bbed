"""Tables of precipitation frequency of NOAA (Atlas 14): depth by duration and return period."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path
from typing import Literal

import numpy as np

from roofspring.errors import Finding
from roofspring.rain.readers._table import number
from roofspring.rain.readers._text import Problems, open_lines
from roofspring.rain.record import FloatArray
from roofspring.rain.words import plural

_TITLE = re.compile(r"Point precipitation frequency estimates \(([^)]*)\)", re.IGNORECASE)
_ROWS = re.compile(r"by duration for (ARI \(years\)|AEP):,\s*(.+)", re.IGNORECASE)
_DURATION = re.compile(r"([0-9]+)-(min|hr|day):,\s*(.+)")
_UNIT_S = {"min": 60.0, "hr": 3_600.0, "day": 86_400.0}
_METRES = {"inches": 0.0254, "millimeters": 0.001, "inches/hour": 0.0254, "millimeters/hour": 0.001}
_PARTS = {"": "depth_m", "UPPER": "upper_m", "LOWER": "lower_m"}
_MAX_DEPTH_M = 10.0
_RETURN_YEARS = (1.0, 1e6)


@dataclass(frozen=True)
class FrequencyTable:
    """Depth of rain by duration and return period at one point.

    Attributes
    ----------
    duration_s : (d,) float64
        Rising [s].
    return_years : (r,) float64
        Rising [years].
    depth_m : (d, r) float64
        Depth [m]; NaN where an intensity was printed as 0.
    lower_m, upper_m : (d, r) float64 or None
        Bounds of the 90 % confidence interval [m], where the file has them.
    basis : {"ARI", "AEP"}
        Mean interval between exceedances in the partial-duration series, or one over the chance
        of exceedance in a year.
    series : str
        Time series type, as the file says it.
    unit : str
        Unit in the file: ``inches``, ``millimeters``, or either per hour.
    location : str
        What the file says of the point.
    latitude_deg, longitude_deg : float or None
    source : str
    findings : tuple of Finding
    """

    duration_s: FloatArray
    return_years: FloatArray
    depth_m: FloatArray
    basis: Literal["ARI", "AEP"]
    series: str
    unit: str
    location: str
    source: str
    latitude_deg: float | None = None
    longitude_deg: float | None = None
    lower_m: FloatArray | None = None
    upper_m: FloatArray | None = None
    findings: tuple[Finding, ...] = ()


def looks_like_frequency_csv(line: str) -> bool:
    """Whether a file's first line is the title of a frequency table.

    >>> looks_like_frequency_csv("Point precipitation frequency estimates (inches)")
    True
    """
    return bool(_TITLE.match(line))


def read_frequency_table(path: Path) -> FrequencyTable:
    """Read a precipitation-frequency table.

    Parameters
    ----------
    path : Path
        CSV of the frequency server of NOAA: depth or intensity, inches or mm, ARI or AEP.

    Returns
    -------
    FrequencyTable
        Always as depth: an intensity is multiplied by its duration.

    Raises
    ------
    RecordError (REC-001 to REC-003, REC-010, REC-039)
        Every problem of the file at once, each with its line; the first 20 are listed.

    Notes
    -----
    ``ARI`` tables come from the partial-duration series, ``AEP`` tables from annual maxima, with
    chances written ``'1/2`` and no 1-year column. They differ for short return periods:
    ``AEP = 1 - exp(-1/ARI)``. Intensities in mm/hour are printed as whole numbers: over days they
    round to 0, which is no depth, so these are left NaN and a finding says so.

    Source
    ------
    NOAA_ATLAS14 (layout of the file, series).
    """
    problems = Problems(path)
    file = _File(problems)
    with open_lines(path, problems) as lines:
        for line in lines:
            file.line(line.strip(), lines.number)
    problems.check()
    return file.table(path)


@dataclass
class _Part:
    """One block of rows under one heading."""

    years: list[float]
    basis: Literal["ARI", "AEP"]
    durations_s: list[float] = field(default_factory=list)
    values: list[list[float]] = field(default_factory=list)


@dataclass
class _File:
    problems: Problems
    unit: str = ""
    head: dict[str, str] = field(default_factory=dict)
    parts: dict[str, _Part] = field(default_factory=dict)
    name: str = "depth_m"
    zeros: int = 0

    def line(self, text: str, line: int) -> None:
        """Take one line."""
        if m := _TITLE.match(text):
            self.unit = m[1].strip().lower()
            if self.unit not in _METRES:
                self._note("the unit of the table is not known", line, m[1], ", ".join(_METRES))
        elif text.upper().startswith("PRECIPITATION FREQUENCY ESTIMATES"):
            which = next((w for w in ("UPPER", "LOWER") if w in text.upper()), "")
            self.name = _PARTS[which]
        elif m := _ROWS.match(text):
            self._heading(m[1], m[2], line)
        elif m := _DURATION.match(text):
            self._row(m, line)
        elif not self.parts:
            key, colon, value = text.partition(":")
            if colon:
                self.head[key.strip().lower()] = value.strip()

    def _note(self, what: str, line: int | None, got: str, allowed: str) -> None:
        self.problems.add(
            "REC-039",
            what,
            line=line,
            got=got,
            allowed=allowed,
            next="get the file again from its publisher, whole",
        )

    def _heading(self, kind: str, text: str, line: int) -> None:
        basis: Literal["ARI", "AEP"] = "AEP" if kind.upper() == "AEP" else "ARI"
        years: list[float] = []
        for cell in text.split(","):
            plain = cell.strip().lstrip("'")
            if basis == "AEP":
                one, slash, plain = plain.partition("/")
                plain = plain if one == "1" and slash else ""
            value = number(plain)
            low, high = _RETURN_YEARS
            if value is None or not low <= value <= high:
                example = "'1/2" if basis == "AEP" else "2"
                self._note("this is not a return period", line, cell.strip(), example)
                return
            years.append(float(value))
        if sorted(set(years)) != years:
            self._note("return periods do not rise", line, text, "1, 2, 5, 10 and so on")
            return
        self.parts[self.name] = _Part(years, basis)

    def _row(self, m: re.Match[str], line: int) -> None:
        part = self.parts.get(self.name)
        if part is None or self.unit not in _METRES:
            self._note(
                "a row of depths before its heading", line, m[0], "by duration for ARI or AEP"
            )
            self.problems.check()
            return
        duration = int(m[1]) * _UNIT_S[m[2]]
        cells = [c.strip() for c in m[3].split(",")]
        if len(cells) != len(part.years):
            self._note(
                "the row has the wrong number of cells", line, str(len(cells)), str(len(part.years))
            )
            return
        scale = _METRES[self.unit] * (duration / 3_600.0 if self.unit.endswith("/hour") else 1.0)
        row: list[float] = []
        for cell in cells:
            value = number(cell)
            depth = np.nan if value is None else float(value) * scale
            if not 0.0 <= depth <= _MAX_DEPTH_M:
                self.problems.add(
                    "REC-010",
                    "this is not a depth or an intensity",
                    line=line,
                    where=m[0].partition(":")[0],
                    got=cell,
                    allowed=f"a number with a point, up to {_MAX_DEPTH_M:g} m over the duration",
                    next="get the file again from its publisher",
                )
                return
            self.zeros += depth == 0.0
            row.append(depth or np.nan)
        if part.durations_s and duration <= part.durations_s[-1]:
            self._note("durations do not rise", line, m[0].partition(":")[0], "5-min to 60-day")
            return
        if any(b < a for a, b in pairwise(row)):
            self._note("depths fall as the return period rises", line, m[0], "rising depths")
            return
        part.durations_s.append(duration)
        part.values.append(row)

    def table(self, path: Path) -> FrequencyTable:
        """What the lines make."""
        main = self.parts.get("depth_m")
        others = [p for name, p in self.parts.items() if name != "depth_m"]
        if main is None or not main.values:
            self._note(
                "the file holds no table of depths",
                None,
                "no rows" if main else "no heading 'by duration for'",
                "one of NOAA's CSV tables; a point outside its area has none",
            )
        elif any(p.durations_s != main.durations_s or p.years != main.years for p in others):
            self._note("the bounds do not have the rows of the table", None, "", "whole tables")
        self.problems.check()
        assert main is not None
        grids = {name: np.array(p.values) for name, p in self.parts.items()}
        return FrequencyTable(
            np.array(main.durations_s),
            np.array(main.years),
            grids["depth_m"],
            basis=main.basis,
            series=self.head.get("time series type", ""),
            unit=self.unit,
            location=self._location(),
            source=f"{path.name}, NOAA precipitation frequency",
            latitude_deg=self._degrees("latitude"),
            longitude_deg=self._degrees("longitude"),
            lower_m=grids.get("lower_m"),
            upper_m=grids.get("upper_m"),
            findings=tuple(self._findings()),
        )

    def _location(self) -> str:
        keys = ("location name (esri maps)", "station name", "project area")
        told = (self.head.get(key, "") for key in keys)
        return ", ".join(t for t in told if t not in ("", "-", "None"))

    def _degrees(self, key: str) -> float | None:
        value = number(self.head.get(key, "").removesuffix("Degree").strip())
        return None if value is None else float(value)

    def _findings(self) -> Sequence[Finding]:
        if not self.unit.endswith("/hour") and not self.zeros:
            return []
        return [
            Finding(
                "REC-140",
                "caution",
                "depths are as coarse as the numbers printed: of an intensity over days little is "
                "left after rounding, and a printed 0 is no depth",
                got=plural(self.zeros, "zero"),
                source="NOAA_ATLAS14, tables of intensity",
                next="get the table of depths",
            )
        ]
