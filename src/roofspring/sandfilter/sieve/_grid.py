"""Rows of text from a CSV file or a sheet of a spreadsheet, bounded, each with its line."""

from __future__ import annotations

import csv
import io
import warnings
import zipfile
from dataclasses import dataclass
from pathlib import Path
from typing import Any, NoReturn

from roofspring.errors import Problem, SieveError
from roofspring.errors.names import did_you_mean

MAX_BYTES = 2 * 1024**2
MAX_UNPACKED_BYTES = 32 * 1024**2
MAX_ROWS = 500
MAX_COLUMNS = 40
"""A sieve test has ten rows: these are far more than it needs. Engineering choice."""
PACKED = b"PK\x03\x04"

Row = tuple[int, list[str]]


@dataclass(frozen=True)
class Grid:
    """Rows of cells, and what the comments of the file say."""

    rows: list[Row]
    comments: str


def grid(path: Path, *, sheet: str | None = None) -> Grid:
    """Every row that is not empty or a comment, with its number in the file.

    Raises
    ------
    SieveError (SIV-001, SIV-003)
        The file cannot be opened, is too large, or is neither text nor a spreadsheet.
    """
    try:
        size = path.stat().st_size
        if size > MAX_BYTES:
            _fatal(
                path,
                "the file is too large for a sieve test",
                got=f"{size / 1024**2:.1f} MB",
                allowed=f"{MAX_BYTES // 1024**2} MB",
            )
        data = path.read_bytes()
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        _fatal(path, f"the file could not be opened: {reason}")
    found = _sheet(path, data, sheet) if data.startswith(PACKED) else _text(path, data, sheet)
    if not found.rows:
        _fatal(path, "the file holds no row")
    return found


def _text(path: Path, data: bytes, sheet: str | None) -> Grid:
    if sheet is not None:
        _fatal(path, "a text file has no sheets", got=sheet)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        _fatal(path, "the file is not UTF-8 text")
    if "\0" in text:
        _fatal(path, "the file is not text", got="a zero byte")
    lines = text.splitlines()
    kept = [
        (n, line)
        for n, line in enumerate(lines, 1)
        if line.strip() and not line.lstrip().startswith("#")
    ]
    if len(kept) > MAX_ROWS:
        _fatal(
            path,
            "the file has too many rows for a sieve test",
            got=f"{len(kept)} rows",
            allowed=f"{MAX_ROWS}",
        )
    comments = "\n".join(line for line in lines if line.lstrip().startswith("#"))
    if not kept:
        return Grid([], comments)
    between = next((d for d in "\t;" if d in kept[0][1]), ",")
    rows = []
    for number, line in kept:
        try:
            cells = next(csv.reader(io.StringIO(line), delimiter=between, strict=True))
        except csv.Error as error:
            raise SieveError(
                Problem(
                    "SIV-003",
                    f"the row cannot be split into cells: {error}",
                    str(path),
                    number,
                    next="check the quotation marks on this line",
                )
            ) from error
        rows.append((number, [c.strip() for c in cells[:MAX_COLUMNS]]))
    return Grid(rows, comments)


def _sheet(path: Path, data: bytes, sheet: str | None) -> Grid:
    import openpyxl  # late: it is slow to import

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of styles and drawings, which are not looked at
        try:
            with zipfile.ZipFile(io.BytesIO(data)) as packed:
                size = sum(info.file_size for info in packed.infolist())
            if size > MAX_UNPACKED_BYTES:
                _fatal(path, "the spreadsheet is too large once it is unpacked")
            book = openpyxl.load_workbook(io.BytesIO(data), read_only=True, data_only=True)
            names = [s.title for s in book.worksheets]
            chosen = names[0] if sheet is None and names else sheet or ""
            if chosen not in names:
                _fatal(
                    path,
                    "the spreadsheet has no such sheet",
                    got=chosen,
                    allowed=", ".join(names)[:200],
                    step=did_you_mean(
                        chosen, names, otherwise="give the name of one of its sheets"
                    ),
                )
            rows: list[Row] = []
            comments: list[str] = []
            found = book[chosen].iter_rows(max_row=MAX_ROWS, max_col=MAX_COLUMNS)
            for number, row in enumerate(found, 1):
                cells = [_cell(c) for c in row]
                if cells and cells[0].startswith("#"):
                    comments.append(cells[0])
                elif any(cells):
                    rows.append((number, cells))
            book.close()
        except SieveError:
            raise
        except Exception as error:  # broken packages fail in more ways than can be named
            _fatal(
                path,
                "this is not a whole spreadsheet of the XLSX form",
                got=f"{type(error).__name__}: {error}"[:80],
            )
    return Grid(rows, "\n".join(comments))


def _cell(cell: Any) -> str:
    """A cell as a text file would have it: one that shows a percent holds a share."""
    value = cell.value
    if value is None:
        return ""
    if isinstance(value, (int, float)) and "%" in str(cell.number_format):
        return f"{100.0 * value:.12g} %"
    return f"{value:.12g}" if isinstance(value, float) else str(value).strip()


def _fatal(path: Path, what: str, *, got: str = "", allowed: str = "", step: str = "") -> NoReturn:
    raise SieveError(
        Problem(
            "SIV-001",
            what,
            str(path),
            got=got,
            allowed=allowed or "a sieve test of a few rows, as CSV in UTF-8 or as XLSX",
            next=step or "check the path, or save the table again as CSV",
        )
    )
