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
from roofspring.rain import Neighbour, RainRecord, RainSummary, Stamp
from roofspring.rain.futures import AcceptanceTable, acceptance, model_named
from roofspring.rain.readers.frequency_csv import read_frequency_table
from roofspring.rain.stations import Station
from roofspring.units import UnitSet
from roofspring.workflows.opening import neighbours_of, open_plan, rain_of

SHOWN_MODELS = ("whole-years", "markov-1-gamma")
ACCEPTANCE_MEMBERS = 100


@dataclass(frozen=True)
class RecordFile:
    """A rain record on disk and what the person says of it; see `roofspring.rain.read`.

    ``path`` may be a plan, or the folder of one: its record is then read as the plan says, beside
    the neighbours it names, and nothing else may be told of it. ``units`` are those of the answer;
    those of the plan, or metric, when not given.
    """

    path: Path
    form: str | None = None
    unit: str | None = None
    station: str | None = None
    stamp: Stamp | None = None
    tip: str | None = None
    tip_step_s: float | None = None
    sheet: str | None = None
    units: UnitSet | None = None

    def read(self, *, fill: str | None = None) -> ReadRain:
        """The record, its gaps filled as told, as the plan says, or from the same season.

        Raises
        ------
        PlanError, RecordError
            Every problem of the plan, or of the file or a neighbour.
        """
        told = {name: getattr(self, name) for name in _TOLD}
        if not (self.path.is_dir() or self.path.suffix.lower() == ".toml"):
            units = self.units or "metric"
            record = rain.read(self.path, **told, fill=fill or "same-season", units=units)
            return ReadRain(record, units)
        if given := [name for name, value in told.items() if value is not None]:
            raise RecordError(
                Problem(
                    "REC-038",
                    "a plan says itself how its record is read",
                    file=str(self.path),
                    where=", ".join(given),
                    allowed="told beside a record, not beside a plan",
                    next="write it into the [rain] table of the plan, or name the record itself",
                )
            )
        loaded = open_plan(self.path)
        units = self.units or loaded.plan.show
        near = neighbours_of(loaded)
        table = loaded.plan.rain.table
        return ReadRain(
            rain_of(loaded, fill=fill, neighbours=near, units=units),
            units,
            near,
            None if table is None else loaded.path.parent / table,
        )


_TOLD = ("form", "unit", "station", "stamp", "tip", "tip_step_s", "sheet")


@dataclass(frozen=True)
class ReadRain:
    """A record that was read, and what its plan has beside it."""

    record: RainRecord
    units: UnitSet
    neighbours: tuple[Neighbour, ...] = ()
    table: Path | None = None


@dataclass(frozen=True)
class RainAnswer:
    """What a rain record holds and what is doubtful about it."""

    words: str
    summary: RainSummary
    filled_frac: float
    findings: tuple[Finding, ...]
    files: tuple[str, ...] = ()
    units: UnitSet = "metric"

    def to_dict(self) -> dict[str, Any]:
        """Plain dictionary for JSON: SI, so without the units of the words."""
        return {key: value for key, value in asdict(self).items() if key != "units"}


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
) -> RainAnswer:
    """Read a rain record and describe it; with ``out``, write its page of pictures there too.

    Parameters
    ----------
    file : RecordFile
    out : Path, optional
        Folder for ``rain.html``; made when missing.
    table : Path, optional
        Published table of rain depths for the place, for the page; that of the plan when not given.

    Raises
    ------
    RecordError, OutputError
        Every problem of the file, or of the table; a table without a page to stand on (REC-038);
        the page cannot be written.
    """
    if table is not None and out is None:
        raise RecordError(
            Problem(
                "REC-038",
                "a published table is named, and no folder for the page that it stands on",
                where="--table",
                got=str(table),
                next="add --out and a folder",
            )
        )
    began = time.perf_counter()
    got = file.read()
    record, table = got.record, table or got.table
    answer = _answer(got)
    if out is None:
        return answer
    from roofspring.report.rain_page import rain_document, render_rain_html

    document = rain_document(
        record,
        words=answer.words,
        neighbours=got.neighbours,
        units=got.units,
        table=None if table is None else read_frequency_table(table),
        acceptance=_acceptance(record),
        provenance=Provenance(__version__, "", record.hash, time.perf_counter() - began),
    )
    make_folder(out)
    write_text_atomic(out / "rain.html", render_rain_html(document))
    return replace(answer, files=(str(out / "rain.html"),))


def _answer(got: ReadRain, *files: Path) -> RainAnswer:
    record = got.record
    return RainAnswer(
        record_words(record),
        rain.describe(record),
        record.filled_frac,
        ranked(record.findings),
        tuple(str(f) for f in files),
        got.units,
    )


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


def read_rain(file: RecordFile, *, out: Path, fill: str | None = None) -> RainAnswer:
    """Read a record of any form and write it as our plain CSV, with a mark on every value.

    Raises
    ------
    RecordError, OutputError
        Every problem of the file; the new file is already there or cannot be written.
    """
    _free(out)
    got = file.read(fill=fill)
    rain.write_csv(got.record, out)
    return _answer(got, out)


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
    got = file.read()
    record, units = got.record, got.units
    fitted = model_named(model or default_model(record)).fit(record)
    table = held_against(record, fitted, seed=seed)
    made = fitted.simulate(years=years, seed=seed)
    rain.write_csv(made, out)
    findings = dict.fromkeys((*made.findings, *(table.findings if table else ())))
    return MadeRain(
        record_words(made),
        fitted.summary(units=units),
        table.summary(units=units) if table else TOO_SHORT_TO_HOLD,
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
