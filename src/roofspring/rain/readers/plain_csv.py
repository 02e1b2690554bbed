"""Plain CSV: a heading line, a column of dates or times and a column of rain."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from pathlib import Path

from roofspring.rain.readers._stamps import Stamp
from roofspring.rain.readers._table import Table, Told
from roofspring.rain.readers._text import Lines, Problems, csv_rows, open_lines
from roofspring.rain.record import RainRecord

HEAD = "# roofspring rain record"
"""First line of our own files; name, source and fill method follow as comments."""


def read_csv(
    path: Path,
    *,
    unit: str | None = None,
    station: str | None = None,
    stamp: Stamp = "start",
    tip: str | None = None,
    tip_step_s: float | None = None,
) -> RainRecord:
    """Read a plain CSV record; gaps stay gaps.

    Parameters
    ----------
    path : Path
        Comma, semicolon or tab between the cells; a heading line; ``#`` lines are comments.
    unit : str, optional
        Unit of the rain column, where its heading does not say: ``mm``, ``cm``, ``m``, ``in``,
        ``0.1 mm`` or ``0.01 in``.
    station : str, optional
        Which rows to read, where the file has a ``station`` column.
    stamp : {"start", "end"}
        Whether a time marks the start or the end of its step.
    tip : str, optional
        Depth of one tip, such as ``0.2 mm``: each row is then the time of a tip. A column headed
        ``tip_mm`` says the same, tip by tip.
    tip_step_s : float, optional
        Step that tips are added up to [s], 60 to 86400, dividing a day; 300 when not given. Refused
        where rows are depths.

    Returns
    -------
    RainRecord
        Depths [m]; NaN and `Kept.MISSING` where the file has none.

    Raises
    ------
    RecordError (REC-001 to REC-021, REC-036 to REC-038)
        Every problem of the file at once, each with its line; the first 20 are listed.

    Notes
    -----
    Missing are: an absent row, an empty cell, ``NA``, ``N/A``, ``NaN``, ``null``, -9999 and -999.
    Nothing else: 99.99 is a depth. ``T`` or ``trace`` is kept as a trace, 0 m. A time with an
    offset is turned to the least offset in the file, which is standard time. Temperatures read
    through a day give its extremes when at least 75 % of the steps have one (engineering choice).

    Source
    ------
    WMO_EXTREMES, greatest rain in 24 hours (upper limit of a depth).
    """
    problems = Problems(path)
    head: dict[str, str] = {}
    told = Told(unit, station, stamp, tip, tip_step_s)
    with open_lines(path, problems) as lines:
        content = _content(lines, head)
        heading = next(content, None)
        if heading is None:
            problems.fatal("REC-014", "the file is empty", next="check the path")
        between = next((d for d in "\t;" if d in heading), ",")
        headings = next(csv.reader([heading], delimiter=between))
        table = Table(
            headings, told, problems, line=lines.number, cells="export again with decimal points"
        )
        for cells in csv_rows(content, lines, problems, delimiter=between):
            table.row(cells, lines.number)
            while lines.dry and (
                count := table.block(lines.block(), lines.number + 1, delimiter=between)
            ):
                lines.taken(count)
    return table.record(
        name=head.get("name", station or path.stem),
        source=head.get("source", f"{path.name}, plain CSV"),
        fill_method=head.get("fill_method", "none"),
        findings=lines.cut_short(),
    )


def _content(lines: Lines, head: dict[str, str]) -> Iterator[str]:
    """Lines that are neither empty nor comments; our own comments are remembered."""
    ours = False
    for line in lines:
        if line.startswith("#"):
            ours = ours or (lines.number == 1 and line.startswith(HEAD))
            key, colon, value = line[1:].partition(":")
            if ours and colon:
                head[key.strip()] = value.strip()[:200]
        elif line and not line.isspace():
            yield line
