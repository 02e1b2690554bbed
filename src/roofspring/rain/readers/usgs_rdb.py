"""Tab-separated files of the United States Geological Survey (RDB), parameter 00045."""

from __future__ import annotations

import math
import re
from collections import Counter
from dataclasses import dataclass, field
from decimal import Decimal
from pathlib import Path

from roofspring.errors import Finding
from roofspring.rain.readers._build import MAX_DEPTH_M, Rows, build
from roofspring.rain.readers._daily import AGAIN, not_a_date
from roofspring.rain.readers._ghcn import refuse_unit
from roofspring.rain.readers._stamps import DAY_S, Stamps
from roofspring.rain.readers._table import number
from roofspring.rain.readers._text import Problems, open_lines, wrong_count
from roofspring.rain.record import Kept, RainRecord
from roofspring.rain.words import plural
from roofspring.sources import ENGINEERING_CHOICE

_RAIN = re.compile(r"(?:[0-9]+_)?00045(?:_([0-9]{5}))?")
_DAILY_SUM = "00006"
_FORMAT = re.compile(r"[0-9]+[sdnSDN]")
_M_PER_IN = Decimal("0.0254")
_MISSING = Decimal(-999999)

OFFSETS_MIN = {
    "UTC": 0, "GMT": 0, "AST": -240, "ADT": -180, "EST": -300, "EDT": -240, "CST": -360,
    "CDT": -300, "MST": -420, "MDT": -360, "PST": -480, "PDT": -420, "AKST": -540, "AKDT": -480,
    "HST": -600, "HDT": -540, "SST": -660, "GST": 600, "CHST": 600,
}  # fmt: skip
"""Minutes ahead of UTC of the time-zone codes in ``tz_cd``. Source: USGS_RDB_DOC, time zones."""

TEXT_CODES = frozenset(
    {"***", "--", "BKW", "DIS", "DRY", "EQP", "FLD", "ICE", "MNT", "PR", "RAT", "SSN", "TST", "ZFL"}
)
"""Words that stand in place of a value. Source: USGS_RDB_DOC, codes in place of values."""


def looks_like_rdb(line: str) -> bool:
    """Whether a file's first line after the comments names the columns of RDB.

    >>> looks_like_rdb("agency_cd\\tsite_no\\tdatetime\\ttz_cd\\t90643_00045\\t90643_00045_cd")
    True
    """
    return "site_no" in line.split("\t")


def read_usgs_rdb(path: Path, *, unit: str | None = None, station: str | None = None) -> RainRecord:
    """Read precipitation from RDB; gaps stay gaps.

    Parameters
    ----------
    path : Path
        Comments, a row of names, a row of definitions, and rows of instantaneous or daily values.
    unit : None
        The parameter fixes its unit (inches), so none may be given.
    station : str, optional
        Site number; needed when the file holds several sites.

    Returns
    -------
    RainRecord
        Depths [m] at the step of the file.

    Raises
    ------
    RecordError (REC-001 to REC-015, REC-033)
        Every problem of the file at once, each with its line; the first 20 are listed.

    Notes
    -----
    Columns are found by name: parameter 00045, for daily files with statistic 00006 (sum). Times
    are turned to the least offset of their ``tz_cd``, which is standard time. An empty cell,
    -999999 and the words that stand in place of a value are missing. Provisional (P) and estimated
    (e) values are used, and findings count them.

    Source
    ------
    USGS_RDB_DOC (rows, names, qualifiers).
    """
    problems = Problems(path)
    refuse_unit(unit, problems, form="parameter 00045", fixed="inches")
    file = _File(problems, station)
    with open_lines(path, problems) as lines:
        for line in lines:
            if line.strip() and not line.startswith("#"):
                file.line(line.split("\t"), lines.number)
    shift_s = file.settle()
    return build(
        file.rows,
        name=station or next(iter(file.sites), path.stem),
        source=f"{path.name}, USGS RDB parameter 00045",
        fill_method="none",
        problems=problems,
        findings=[*lines.cut_short(), *file.findings()],
        shift_s=shift_s,
        clock_unknown=file.offsets_min == {None},
    )


@dataclass
class _File:
    """One pass over the file; each site may bring its own rows of names and definitions."""

    problems: Problems
    station: str | None
    rows: Rows = field(default_factory=Rows)
    sites: dict[str, None] = field(default_factory=dict)
    offsets_min: set[int | None] = field(default_factory=set)
    counts: Counter[str] = field(default_factory=Counter)
    words: Counter[str] = field(default_factory=Counter)
    names: list[str] = field(default_factory=list)
    rain: int = -1
    defined: bool = False
    stamps: Stamps = field(default_factory=Stamps)

    def line(self, cells: list[str], line: int) -> None:
        """Take one line that is no comment."""
        if "site_no" in cells:
            self._heading(cells, line)
        elif not self.names or (not self.defined and not self._is_definition(cells)):
            self.problems.fatal(
                "REC-033",
                "no row of column names" if not self.names else "no row of column definitions",
                line=line,
                got=" ".join(cells),
                allowed="names such as site_no and datetime, then definitions such as 5s and 14n",
                next="get the file again in tab-separated form, whole",
            )
        elif not self.defined:
            self.defined = True
        elif len(cells) != len(self.names):
            wrong_count(self.problems, line, got=len(cells), allowed=len(self.names))
        else:
            self._row([c.strip() for c in cells], line)

    def _is_definition(self, cells: list[str]) -> bool:
        return len(cells) == len(self.names) and all(_FORMAT.fullmatch(c.strip()) for c in cells)

    def _heading(self, cells: list[str], line: int) -> None:
        self.names, self.defined = [c.strip() for c in cells], False
        rain = [i for i, n in enumerate(self.names) if _RAIN.fullmatch(n)]
        if len(rain) != 1 or "datetime" not in self.names:
            self.problems.fatal(
                "REC-033",
                "not one column of precipitation (parameter 00045), or no datetime",
                line=line,
                got=", ".join(self.names),
                allowed="datetime and one column such as 90643_00045",
                next="get the file again with the one series of parameter 00045 that you need",
            )
        self.rain = rain[0]
        statistic = _RAIN.fullmatch(self.names[self.rain])
        if statistic and statistic[1] not in (None, _DAILY_SUM):
            self.problems.fatal(
                "REC-033",
                "this daily statistic is not the sum of the day",
                line=line,
                got=self.names[self.rain],
                allowed=f"statistic {_DAILY_SUM}",
                next="get the file again with daily sums",
            )

    def _cell(self, cells: list[str], name: str) -> str:
        return cells[self.names.index(name)] if name in self.names else ""

    def _row(self, cells: list[str], line: int) -> None:
        site = self._cell(cells, "site_no")
        if len(self.sites) <= 20 or site == self.station:
            self.sites[site] = None
        if self.station is not None and site != self.station:
            return
        when, depth = self._time(cells, line), self._depth(cells[self.rain], line)
        if when is None or depth is None:
            return
        flags = re.split(r"[:,\s]+", self._cell(cells, f"{self.names[self.rain]}_cd"))
        self.counts["provisional"] += "P" in flags
        self.counts["estimated"] += "e" in flags or "E" in flags
        self.rows.time_s.append(when)
        self.rows.depth_m.append(depth)
        self.rows.kept.append(Kept.MISSING if math.isnan(depth) else Kept.MEASURED)
        self.rows.line.append(line)

    def _time(self, cells: list[str], line: int) -> int | None:
        text, zone = self._cell(cells, "datetime"), self._cell(cells, "tz_cd").upper()
        day = self.stamps.day(text[:10])
        clock = self.stamps.clock(text[11:]) if text[10:11] == " " else None
        if day is None or (clock is None and len(text) != 10):
            not_a_date(self.problems, line, text, "2012-10-11 or 2012-10-11 15:00")
            return None
        if clock is None:
            self.offsets_min.add(None)
            return day * DAY_S
        if zone and zone not in OFFSETS_MIN:
            self.problems.add(
                "REC-033",
                "this time-zone code is not known",
                line=line,
                where="tz_cd",
                got=zone,
                allowed=", ".join(OFFSETS_MIN),
                next="get the file again with times in UTC",
            )
            return None
        self.rows.dates_only = False
        offset = OFFSETS_MIN[zone] if zone else None
        self.offsets_min.add(offset)
        return day * DAY_S + clock.second - 60 * (offset or 0)

    def _depth(self, text: str, line: int) -> float | None:
        value = number(text)
        if not text or value == _MISSING:
            return math.nan
        if value is None and text.upper() in TEXT_CODES:
            self.words[text] += 1
            return math.nan
        depth = math.nan if value is None else float(value * _M_PER_IN)
        if value is None or not 0.0 <= depth <= MAX_DEPTH_M:
            self.problems.add(
                "REC-010" if value is None else "REC-011",
                "this is neither a number nor a word that stands in place of a value"
                if value is None
                else "the depth is negative or more than has ever been measured in a day",
                line=line,
                where=self.names[self.rain],
                got=text,
                allowed=f"0 to {MAX_DEPTH_M / 0.0254:.1f} in, or empty where missing",
                next=AGAIN,
            )
            return None
        return depth

    def settle(self) -> int:
        """What is unclear about the site; seconds from UTC to standard time."""
        names = ", ".join(list(self.sites)[:20])
        if self.station is None and len(self.sites) > 1:
            self.problems.add(
                "REC-015",
                "the file holds several sites",
                got=names,
                next="say which station to read",
            )
            self.problems.check()  # their rows would only contradict each other
        elif self.station is not None and self.station not in self.sites:
            self.problems.add(
                "REC-015",
                "the file does not hold this site",
                got=self.station,
                allowed=names,
                next="use a site number that the file has",
            )
        known = [m for m in self.offsets_min if m is not None]
        if known and None in self.offsets_min:
            self.problems.add(
                "REC-013",
                "some rows have a time zone and some have none",
                next="get the file again from its publisher",
            )
        return 60 * min(known, default=0)

    def findings(self) -> list[Finding]:
        """What a reader should know about these values."""
        found = []
        if not self.rows.dates_only:
            found.append(
                Finding(
                    "REC-142",
                    "note",
                    "the file does not say whether a time marks the start or the end of its step; "
                    "it is taken as the start",
                    source=ENGINEERING_CHOICE,
                    next="nothing, unless one step more or less matters to you",
                )
            )
        for code, key, what, advice in (
            ("REC-131", "provisional", "provisional values: their publisher may still change them",
             "get the file again once they are approved"),
            ("REC-132", "estimated", "values that the publisher estimated, not measured",
             "look at them if they are many"),
        ):  # fmt: skip
            if self.counts[key]:
                found.append(
                    Finding(
                        code,
                        "note",
                        what,
                        got=plural(self.counts[key], "value"),
                        source="USGS_RDB_DOC, qualifiers",
                        next=advice,
                    )
                )
        if self.words:
            found.append(
                Finding(
                    "REC-141",
                    "note",
                    "words stand in place of values; they were read as missing",
                    got=", ".join(
                        f"{w} {plural(n, 'time')}" for w, n in sorted(self.words.items())
                    ),
                    source="USGS_RDB_DOC, codes in place of values",
                    next="look at the days if they are many",
                )
            )
        return found
