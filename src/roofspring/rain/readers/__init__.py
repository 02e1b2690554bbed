"""Readers of rain records: one file per form, all behind one registry."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from roofspring.rain.readers._columns import looks_like_heading
from roofspring.rain.readers._text import Problems, first_content_line
from roofspring.rain.readers.ghcn_csv import looks_like_ghcn_csv, read_ghcn_csv
from roofspring.rain.readers.ghcn_dly import looks_like_dly, read_ghcn_dly
from roofspring.rain.readers.plain_csv import read_csv
from roofspring.rain.record import RainRecord


class ReadFunction(Protocol):
    """The one signature of all readers."""

    def __call__(
        self, path: Path, *, unit: str | None = None, station: str | None = None
    ) -> RainRecord:
        """Read ``path``; gaps stay gaps."""


@dataclass(frozen=True)
class Reader:
    """One form of file: its title, how its first line looks, and how to read it."""

    title: str
    looks_like: Callable[[str], bool]
    read: ReadFunction


READERS: dict[str, Reader] = {
    "ghcn-dly": Reader("GHCN-Daily, fixed columns", looks_like_dly, read_ghcn_dly),
    "ghcn-csv": Reader("GHCN-Daily, by-station CSV", looks_like_ghcn_csv, read_ghcn_csv),
    "csv": Reader("plain CSV with a heading", looks_like_heading, read_csv),
}
"""Every form that can be read, by its name, the most particular first."""


def load(
    path: Path | str,
    *,
    form: str | None = None,
    unit: str | None = None,
    station: str | None = None,
) -> RainRecord:
    """Read a rain record as it stands, gaps and all.

    Parameters
    ----------
    path : Path or str
    form : {"csv", "ghcn-dly", "ghcn-csv"}, optional
        Told from the first line of the file when not given.
    unit : str, optional
        Unit of the rain column of a plain CSV whose heading does not say.
    station : str, optional
        Which station, where the file holds several.

    Returns
    -------
    RainRecord
        With `Kept.MISSING` and `Kept.FAILED` where there is no value.

    Raises
    ------
    RecordError (REC-001 to REC-021)
        The file cannot be read, its form is not known, or it has problems, all listed at once.
    """
    path = Path(path)
    problems = Problems(path)
    names = ", ".join(READERS)
    if form is not None and form not in READERS:
        problems.fatal(
            "REC-019",
            "this form of record is not known",
            got=form,
            allowed=names,
            next="use one of these, or leave the form out",
        )
    if form is None:
        line = first_content_line(path, problems)
        form = next((name for name, reader in READERS.items() if reader.looks_like(line)), None)
        if form is None:
            problems.fatal(
                "REC-004",
                "the form of the record is not recognised",
                got=line or "an empty file",
                allowed="; ".join(f"{name} ({reader.title})" for name, reader in READERS.items()),
                next="give a plain CSV a heading line such as date,precip_mm",
            )
    return READERS[form].read(path, unit=unit, station=station)
