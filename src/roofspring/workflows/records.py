"""Rain records: look into one, turn one into our plain CSV, invent one, or get one."""

from __future__ import annotations

import time
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any

from roofspring import __version__, rain
from roofspring.errors import Finding, OutputError, Problem, RecordError, ranked
from roofspring.files import make_folder, write_text_atomic
from roofspring.network.result import Provenance
from roofspring.rain import RainRecord, RainSummary, Stamp
from roofspring.rain.futures import AcceptanceTable, acceptance, model_named
from roofspring.rain.readers.frequency_csv import read_frequency_table
from roofspring.rain.stations import Station
from roofspring.units import UnitSet

SHOWN_MODELS = ("whole-years", "markov-1-gamma")
ACCEPTANCE_MEMBERS = 100


@dataclass(frozen=True)
class RecordFile:
    """A rain record on disk and what the person says of it; see `roofspring.rain.read`."""

    path: Path
    form: str | None = None
    unit: str | None = None
    station: str | None = None
    stamp: Stamp | None = None
    tip: str | None = None
    sheet: str | None = None

    def read(self, *, fill: str = "same-season") -> RainRecord:
        """The record, its gaps filled.

        Raises
        ------
        RecordError
            Every problem of the file.
        """
        return rain.read(
            self.path,
            form=self.form,
            unit=self.unit,
            station=self.station,
            stamp=self.stamp,
            tip=self.tip,
            sheet=self.sheet,
            fill=fill,
        )


@dataclass(frozen=True)
class RainAnswer:
    """What a rain record holds and what is doubtful about it."""

    words: str
    summary: RainSummary
    filled_frac: float
    findings: tuple[Finding, ...]
    files: tuple[str, ...] = ()

    def to_dict(self) -> dict[str, Any]:
        """Plain dictionary for JSON."""
        return asdict(self)


def record_words(record: RainRecord) -> str:
    """From when to when, at what step, read how, filled how."""
    days = record.days
    step = "daily" if record.steps_per_day_count == 1 else f"{record.step_s / 60:g}-minute"
    filled = (
        f"{100 * record.filled_frac:.1f} % of it filled ({record.fill_method})"
        if record.filled_frac > 0.0
        else "no gaps"
    )
    return f"{record.name}: {step}, {days[0]} to {days[-1]}; {record.source}; {filled}."


def inspect_rain(
    file: RecordFile,
    *,
    out: Path | None = None,
    table: Path | None = None,
    units: UnitSet = "metric",
) -> RainAnswer:
    """Read a rain record and describe it; with ``out``, write its page of pictures there too.

    Parameters
    ----------
    file : RecordFile
    out : Path, optional
        Folder for ``rain.html``; made when missing.
    table : Path, optional
        Published table of rain depths for the place, for the page.
    units : {"metric", "us"}
        Of the page.

    Raises
    ------
    RecordError, OutputError
        Every problem of the file; the page cannot be written.
    """
    began = time.perf_counter()
    record = file.read()
    answer = RainAnswer(
        record_words(record), rain.describe(record), record.filled_frac, ranked(record.findings)
    )
    if out is None:
        return answer
    from roofspring.report.rain_page import rain_document, render_rain_html

    document = rain_document(
        record,
        words=answer.words,
        units=units,
        table=None if table is None else read_frequency_table(table),
        acceptance=_acceptance(record),
        provenance=Provenance(__version__, "", record.hash, time.perf_counter() - began),
    )
    make_folder(out)
    write_text_atomic(out / "rain.html", render_rain_html(document))
    return replace(answer, files=(str(out / "rain.html"),))


def _acceptance(record: RainRecord) -> tuple[AcceptanceTable, ...]:
    """Two models held against the record; none where it is invented or too short for them."""
    if record.invented:
        return ()
    tables = []
    for name in SHOWN_MODELS:
        try:
            fitted = model_named(name).fit(record)
            tables.append(acceptance(record, fitted, members=ACCEPTANCE_MEMBERS, seed=1))
        except RecordError:  # too short: the page says that nothing was held against it
            return ()
    return tuple(tables)


def read_rain(file: RecordFile, *, out: Path, fill: str = "same-season") -> RainAnswer:
    """Read a record of any form and write it as our plain CSV, with a mark on every value.

    Raises
    ------
    RecordError, OutputError
        Every problem of the file; the new file is already there or cannot be written.
    """
    _free(out)
    record = file.read(fill=fill)
    rain.write_csv(record, out)
    return RainAnswer(
        record_words(record),
        rain.describe(record),
        record.filled_frac,
        ranked(record.findings),
        (str(out),),
    )


@dataclass(frozen=True)
class MadeRain:
    """An invented record, and how it compares with the one it was made from."""

    words: str
    fit: str
    acceptance: str
    findings: tuple[Finding, ...]
    files: tuple[str, ...]

    def to_dict(self) -> dict[str, Any]:
        """Plain dictionary for JSON."""
        return asdict(self)


def make_rain(
    file: RecordFile, *, out: Path, model: str | None = None, years: int = 30, seed: int = 1
) -> MadeRain:
    """Fit a model to a record, invent years of rain, and write them as plain CSV.

    Raises
    ------
    RecordError, RangeError, OutputError
        The record cannot be read or fitted, there is no such model, or the file is already there.
    """
    from roofspring.reliability.futures import TOO_SHORT_TO_HOLD, default_model, held_against

    _free(out)
    record = file.read()
    fitted = model_named(model or default_model(record)).fit(record)
    table = held_against(record, fitted, seed=seed)
    made = fitted.simulate(years=years, seed=seed)
    rain.write_csv(made, out)
    findings = dict.fromkeys((*made.findings, *(table.findings if table else ())))
    return MadeRain(
        record_words(made),
        fitted.summary(),
        table.summary() if table else TOO_SHORT_TO_HOLD,
        ranked(findings),
        (str(out),),
    )


def fetch_rain(station: str, *, folder: Path) -> tuple[Path, tuple[Finding, ...]]:
    """Get the GHCN-Daily record of a station from its publisher into a folder.

    Raises
    ------
    RecordError
        Offline, no such station, or what came is not a record.
    """
    from roofspring.rain.download import fetch_station

    make_folder(folder)
    fetched = fetch_station(station, folder=folder)
    return fetched.path, fetched.findings


def near_stations(
    latitude_deg: float, longitude_deg: float, *, folder: Path, count: int = 5
) -> tuple[Station, ...]:
    """Stations of GHCN-Daily near a place with ten years of rain or more, nearest first.

    Raises
    ------
    RecordError
        Offline, or a place that is not on earth.
    """
    from roofspring.rain.download import fetch_list, nearest_stations

    make_folder(folder)
    return nearest_stations(
        latitude_deg,
        longitude_deg,
        count=count,
        fetch=lambda name: fetch_list(name, folder=folder).path,
    )


def _free(out: Path) -> None:
    if out.exists():
        raise OutputError(
            Problem(
                "OUT-002",
                "a file stands here already",
                file=str(out),
                next="name another file with --out, or move that one away",
            )
        )
