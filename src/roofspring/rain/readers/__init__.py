"""Readers of rain records: one file per form, all behind one registry."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from roofspring.errors.names import did_you_mean
from roofspring.rain.readers._columns import looks_like_heading
from roofspring.rain.readers._stamps import Stamp
from roofspring.rain.readers._text import Problems, first_content_line
from roofspring.rain.readers.epw import TypicalYear, read_epw_temperature
from roofspring.rain.readers.frequency_csv import FrequencyTable, read_frequency_table
from roofspring.rain.readers.ghcn_csv import looks_like_ghcn_csv, read_ghcn_csv
from roofspring.rain.readers.ghcn_dly import looks_like_dly, read_ghcn_dly
from roofspring.rain.readers.gsod_csv import looks_like_gsod_csv, read_gsod_csv
from roofspring.rain.readers.ncei_csv import looks_like_ncei_csv, read_ncei_csv
from roofspring.rain.readers.not_read import NOT_READ, reason
from roofspring.rain.readers.plain_csv import read_csv
from roofspring.rain.readers.power_csv import looks_like_power_csv, read_power_csv
from roofspring.rain.readers.usgs_rdb import looks_like_rdb, read_usgs_rdb
from roofspring.rain.readers.xlsx import looks_like_xlsx, read_xlsx
from roofspring.rain.record import RainRecord

__all__ = [
    "NOT_READ",
    "READERS",
    "FrequencyTable",
    "Reader",
    "TypicalYear",
    "load",
    "read_csv",
    "read_epw_temperature",
    "read_frequency_table",
    "read_ghcn_csv",
    "read_ghcn_dly",
    "read_gsod_csv",
    "read_ncei_csv",
    "read_power_csv",
    "read_usgs_rdb",
    "read_xlsx",
]

_TABLE_OPTIONS = frozenset({"stamp", "tip", "tip_step_s"})


@dataclass(frozen=True)
class Reader:
    """One form of file: its title, how its first line looks, how to read it, what it may be told.

    ``read`` takes a path and, by name, ``unit``, ``station`` and the ``options``.
    """

    title: str
    looks_like: Callable[[str], bool]
    read: Callable[..., RainRecord]
    options: frozenset[str] = field(default=frozenset())


READERS: dict[str, Reader] = {
    "ghcn-dly": Reader("GHCN-Daily, fixed columns", looks_like_dly, read_ghcn_dly),
    "ghcn-csv": Reader("GHCN-Daily, by-station or by-year CSV", looks_like_ghcn_csv, read_ghcn_csv),
    "gsod-csv": Reader("GSOD, CSV", looks_like_gsod_csv, read_gsod_csv),
    "ncei-csv": Reader("NCEI daily summaries, CSV", looks_like_ncei_csv, read_ncei_csv),
    "usgs-rdb": Reader("USGS tab-separated, parameter 00045", looks_like_rdb, read_usgs_rdb),
    "power-csv": Reader("NASA POWER daily CSV", looks_like_power_csv, read_power_csv),
    "xlsx": Reader(
        "spreadsheet (XLSX) with a heading", looks_like_xlsx, read_xlsx, _TABLE_OPTIONS | {"sheet"}
    ),
    "csv": Reader("plain CSV with a heading", looks_like_heading, read_csv, _TABLE_OPTIONS),
}
"""Every form that can be read, by its name, the most particular first."""


def load(
    path: Path | str,
    *,
    form: str | None = None,
    unit: str | None = None,
    station: str | None = None,
    stamp: Stamp | None = None,
    tip: str | None = None,
    tip_step_s: float | None = None,
    sheet: str | None = None,
) -> RainRecord:
    """Read a rain record as it stands, gaps and all.

    Parameters
    ----------
    path : Path or str
    form : str, optional
        A name in `READERS`; told from the first line of the file when not given.
    unit : str, optional
        Unit of rain, where the form does not fix it and the file does not say it.
    station : str, optional
        Which station, where the file holds several.
    stamp : {"start", "end"}, optional
        Plain CSV and spreadsheets: whether a time marks the start (as when not given) or the end
        of its step.
    tip : str, optional
        Plain CSV and spreadsheets: depth of one tip, such as ``0.2 mm``, where rows are tips.
    tip_step_s : float, optional
        Step that tips are added up to [s]; 300 when not given. Refused where rows are depths.
    sheet : str, optional
        Spreadsheets: name of the sheet; the first one when not given.

    Returns
    -------
    RainRecord
        With `Kept.MISSING` and `Kept.FAILED` where there is no value.

    Raises
    ------
    RecordError (REC-001 to REC-021, REC-030 to REC-038)
        The file cannot be read, its form is not known, or it has problems, all listed at once.
    """
    path = Path(path)
    problems = Problems(path)
    names = ", ".join(READERS)
    if form is not None and form not in READERS:
        why = reason(form)
        problems.fatal(
            "REC-019",
            "this form of record is not known" if why is None else f"this form is not read: {why}",
            got=form,
            allowed=names,
            next=did_you_mean(form, READERS, otherwise="use one of these, or leave the form out"),
        )
    if form is None:
        form = _sniff(path, problems)
    told: dict[str, Any] = {
        key: value
        for key, value in (
            ("stamp", stamp), ("tip", tip), ("tip_step_s", tip_step_s), ("sheet", sheet),
        )
        if value is not None
    }  # fmt: skip
    reader = READERS[form]
    _check_options(form, told, problems)
    return reader.read(path, unit=unit, station=station, **told)


def _sniff(path: Path, problems: Problems) -> str:
    """The form that the first line shows; never the unit."""
    line = first_content_line(path, problems)
    for known in NOT_READ.values():
        if known.looks_like(line):
            problems.fatal(known.code, known.what, next=known.next)
    form = next((name for name, reader in READERS.items() if reader.looks_like(line)), None)
    if form is None:
        problems.fatal(
            "REC-004",
            "the form of the record is not recognised",
            got=line or "an empty file",
            allowed="; ".join(f"{name} ({reader.title})" for name, reader in READERS.items()),
            next="give a plain CSV a heading line such as date,precip_mm",
        )
    return form


def _check_options(form: str, told: dict[str, Any], problems: Problems) -> None:
    for key in told.keys() - READERS[form].options:
        takers = [name for name, reader in READERS.items() if key in reader.options]
        problems.add(
            "REC-038",
            f"{key} cannot be told for a file of the form {form}",
            where=key,
            got=str(told[key]),
            allowed=f"with {' or '.join(takers)}",
            next=f"leave out {key}",
        )
    if (stamp := told.get("stamp")) not in (None, "start", "end"):
        problems.add(
            "REC-038",
            "a time marks the start or the end of its step",
            where="stamp",
            got=str(stamp),
            allowed="start, end",
            next="use one of these",
        )
    problems.check()
