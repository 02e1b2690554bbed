"""Rain records: look into one, turn one into our plain CSV, invent one, or get one."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any

from roofspring import rain
from roofspring.errors import Finding, OutputError, Problem, ranked
from roofspring.files import make_folder, write_text_atomic
from roofspring.rain import RainRecord, RainSummary, Stamp
from roofspring.rain.futures import model_named


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


def inspect_rain(file: RecordFile, *, out: Path | None = None) -> RainAnswer:
    """Read a rain record and describe it; with ``out``, write its page of pictures there too.

    Raises
    ------
    RecordError, OutputError
        Every problem of the file; the page cannot be written.
    """
    record = file.read()
    answer = RainAnswer(
        record_words(record), rain.describe(record), record.filled_frac, ranked(record.findings)
    )
    if out is None:
        return answer
    from roofspring.workflows.rain_page import rain_page

    make_folder(out)
    write_text_atomic(out / "rain.html", rain_page(record))
    return replace(answer, files=(str(out / "rain.html"),))


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
    from roofspring.rain.futures import acceptance
    from roofspring.reliability.futures import default_model

    _free(out)
    record = file.read()
    fitted = model_named(model or default_model(record)).fit(record)
    table = acceptance(record, fitted, members=100, seed=seed)
    made = fitted.simulate(years=years, seed=seed)
    rain.write_csv(made, out)
    findings = dict.fromkeys((*made.findings, *table.findings))
    return MadeRain(
        record_words(made), fitted.summary(), table.summary(), ranked(findings), (str(out),)
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
) -> Iterator[tuple[str, ...]]:
    """Stations near a place, nearest first: id, name, distance, years of rain.

    Raises
    ------
    RecordError
        Offline, or a place that is not on earth.
    """
    from roofspring.rain.download import fetch_list, nearest_stations

    make_folder(folder)
    for s in nearest_stations(
        latitude_deg,
        longitude_deg,
        count=count,
        fetch=lambda name: fetch_list(name, folder=folder).path,
    ):
        yield (
            s.identifier,
            s.name,
            f"{s.distance_m / 1000.0:.0f} km",
            f"{s.first_year} to {s.last_year}",
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
