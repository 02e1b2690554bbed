"""A spreadsheet (XLSX): the columns of a plain CSV on one sheet."""

from __future__ import annotations

import warnings
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any, NoReturn

from roofspring.errors import RecordError
from roofspring.errors.names import did_you_mean
from roofspring.rain.readers._stamps import Stamp
from roofspring.rain.readers._table import Table, Told
from roofspring.rain.readers._text import MAX_LISTED, ZIP, Problems, open_file
from roofspring.rain.record import RainRecord

MAX_UNPACKED_BYTES = 256 * 1024**2
"""Most that a spreadsheet may unpack to; a full sheet of two columns fits. Engineering choice."""

MAX_COLUMNS = 100


def looks_like_xlsx(line: str) -> bool:
    """Whether a file begins as a packed folder does, which a spreadsheet is."""
    return line == ZIP.decode("latin-1")


def read_xlsx(
    path: Path,
    *,
    unit: str | None = None,
    station: str | None = None,
    sheet: str | None = None,
    stamp: Stamp = "start",
    tip: str | None = None,
    tip_step_s: float | None = None,
) -> RainRecord:
    """Read a rain record from a sheet of a spreadsheet; gaps stay gaps.

    Parameters
    ----------
    path : Path
    unit, station, stamp, tip, tip_step_s
        As in `read_csv`.
    sheet : str, optional
        Name of the sheet; the first one when not given.

    Returns
    -------
    RainRecord
        Depths [m]; NaN and `Kept.MISSING` where the sheet has none.

    Raises
    ------
    RecordError (REC-001 to REC-021, REC-035 to REC-038)
        Every problem of the sheet at once, each with its row; the first 20 are listed.

    Notes
    -----
    The first row that is not empty is the heading, with the rules of `read_csv`. Dates and times
    may be those of the spreadsheet or text. Times are rounded to the second. Of formulas the value
    saved with the file is read; a formula that was saved without one is an error, not a gap.

    Source
    ------
    ECMA_376 (dates, formulas and their saved values), through openpyxl.
    """
    problems = Problems(path)
    told = Told(unit, station, stamp, tip, tip_step_s)
    empty: list[int] = []
    with _opened(path, sheet, problems, values=True) as (rows, name):
        heading_row, headings = next(
            ((i, row) for i, row in rows if any(c is not None for c in row)), (0, ())
        )
        if not heading_row:
            problems.fatal(
                "REC-014", "the sheet is empty", got=name, next="give the name of the right sheet"
            )
        width = max(i for i, c in enumerate(headings) if c is not None) + 1
        table = Table(
            [str(c or "") for c in headings[:width]],
            told,
            problems,
            line=heading_row,
            cells="store the cell as a number, or write text with a decimal point",
        )
        columns = table.columns
        needed = [c.index for c in (columns.time, columns.clock, columns.rain) if c is not None]
        needed += [c.index for c in columns.temps.values()]
        for number, row in rows:
            if all(c is None for c in row):
                continue
            cells = [_text(c) for c in row[:width]] + [""] * (width - len(row))
            if any(not cells[i] for i in needed):
                empty.append(number)
            table.row(cells, number)
    if empty:
        _refuse_formulas(path, sheet, problems, set(empty), needed)
    return table.record(
        name=station or path.stem, source=f"{path.name}, sheet {name} of a spreadsheet"
    )


Row = tuple[Any, ...]


@contextmanager
def _opened(
    path: Path, sheet: str | None, problems: Problems, *, values: bool
) -> Iterator[tuple[Iterator[tuple[int, Row]], str]]:
    """Numbered rows of a sheet, and its name."""
    import openpyxl  # late: it is slow to import

    with open_file(path, problems) as stream, warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of styles and drawings, which are not looked at
        try:
            with zipfile.ZipFile(stream) as packed:
                size = sum(info.file_size for info in packed.infolist())
            if size > MAX_UNPACKED_BYTES:
                problems.fatal(
                    "REC-002",
                    "the spreadsheet is too large once it is unpacked",
                    got=f"{size / 1024**2:,.0f} MB",
                    allowed=f"{MAX_UNPACKED_BYTES // 1024**2} MB",
                    next="save the sheet as CSV",
                )
            book = openpyxl.load_workbook(stream, read_only=True, data_only=values)
        except RecordError:
            raise
        except Exception as error:  # broken packages fail in more ways than can be named
            _broken(problems, error)
        try:
            names = [s.title for s in book.worksheets]
            chosen = sheet if sheet is not None else next(iter(names), "")
            if chosen not in names:
                problems.fatal(
                    "REC-035",
                    "the spreadsheet has no such sheet",
                    where="sheet",
                    got=chosen or "no sheet with cells",
                    allowed=", ".join(names)[:200],
                    next=did_you_mean(
                        chosen, names, otherwise="give the name of one of its sheets"
                    ),
                )
            yield _rows(book[chosen], problems), chosen
        finally:
            book.close()


def _rows(sheet: Any, problems: Problems) -> Iterator[tuple[int, Row]]:
    rows = sheet.iter_rows(values_only=True, max_col=MAX_COLUMNS)
    number = 0
    while True:
        try:
            row = next(rows, None)
        except Exception as error:  # as above: the sheet is unpacked while it is read
            _broken(problems, error)
        if row is None:
            return
        number += 1
        yield number, row


def _broken(problems: Problems, error: Exception) -> NoReturn:
    problems.fatal(
        "REC-035",
        "this is not a whole spreadsheet of the XLSX form",
        got=f"{type(error).__name__}: {error}",
        next="open it in a spreadsheet and save it as XLSX or as CSV, without a password",
    )


def _text(value: object) -> str:
    """A cell as a plain CSV would have it."""
    if value is None:
        return ""
    if isinstance(value, datetime):
        moment = (value + timedelta(milliseconds=500)).replace(microsecond=0)
        return moment.date().isoformat() if moment.time() == time() else moment.isoformat()
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, time):
        return value.replace(microsecond=0).isoformat()
    if isinstance(value, timedelta):
        seconds = round(value.total_seconds())
        return f"{seconds // 3600:02d}:{seconds // 60 % 60:02d}:{seconds % 60:02d}"
    return repr(value) if isinstance(value, float) else str(value)


def _refuse_formulas(
    path: Path, sheet: str | None, problems: Problems, empty: set[int], needed: list[int]
) -> None:
    """Cells that are empty only because their formula was saved without its value."""
    with _opened(path, sheet, problems, values=False) as (rows, _):
        for number, row in rows:
            if number not in empty:
                continue
            for i in needed:
                if i < len(row) and str(row[i]).startswith("="):
                    problems.add(
                        "REC-035",
                        "the formula in this cell was saved without its value",
                        line=number,
                        where=f"column {i + 1}",
                        got=str(row[i]),
                        allowed="a value",
                        next="open the file in a spreadsheet, let it calculate, and save it again",
                    )
            if problems.count > MAX_LISTED:
                return
