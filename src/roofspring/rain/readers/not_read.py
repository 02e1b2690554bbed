"""Files that are known by their first line and refused, each with the reason."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from roofspring.rain.readers._text import OLD_OFFICE, PDF
from roofspring.rain.readers.epw import WHY_NO_RAIN, looks_like_epw
from roofspring.rain.readers.frequency_csv import looks_like_frequency_csv


@dataclass(frozen=True)
class NotRead:
    """One form that is no rain record here: how its first line looks, why, and what to do."""

    looks_like: Callable[[str], bool]
    code: str
    what: str
    next: str


def _page(line: str) -> bool:
    return line.lstrip().lower().startswith(("<!doctype html", "<html"))


def _xml(line: str) -> bool:
    return line.lstrip().startswith("<") and not _page(line)


NOT_READ: dict[str, NotRead] = {
    "epw": NotRead(
        looks_like_epw,
        "REC-030",
        f"the rain of an EPW weather file is not read: {WHY_NO_RAIN}",
        "use the record of a gauge; an EPW file may give the temperatures (read_epw_temperature)",
    ),
    "frequency-csv": NotRead(
        looks_like_frequency_csv,
        "REC-031",
        "this is a table of precipitation frequency, not a record of rain",
        "use it for gutters and overflows (read_frequency_table); give a record for storage",
    ),
    "web-page": NotRead(
        _page,
        "REC-032",
        "this is a web page, not a record: the download brought an error or a form",
        "open it in a browser to see what it says, and get the file again",
    ),
    "waterml2": NotRead(
        _xml,
        "REC-032",
        "XML files, such as WaterML 2, are not read",
        "ask the publisher for the same series as CSV",
    ),
    "json": NotRead(
        lambda line: line.lstrip().startswith(("{", "[")),
        "REC-032",
        "JSON files are not read",
        "ask the publisher for the same series as CSV",
    ),
    "xls": NotRead(
        lambda line: line.encode("latin-1", "replace") == OLD_OFFICE,
        "REC-032",
        "the old form of spreadsheets (XLS) is not read",
        "open it and save it as XLSX or CSV",
    ),
    "pdf": NotRead(
        lambda line: line.encode("latin-1", "replace") == PDF,
        "REC-032",
        "a PDF is made to be looked at; no numbers are read from it",
        "ask the publisher for the numbers as CSV",
    ),
}
"""Forms that are known and refused, by name."""


def reason(form: str) -> str | None:
    """Why a form of this name is not read; None if the name is not known at all."""
    known = NOT_READ.get(form)
    return None if known is None else f"{known.what}; {known.next}"
