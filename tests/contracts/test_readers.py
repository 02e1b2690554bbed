"""One contract for all readers of rain records: the same week in every form, and broken copies."""

from __future__ import annotations

import gzip
import re
import tracemalloc
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rain.files import FORMATS, found, put, sheet, told
from roofspring.errors import RecordError, codes
from roofspring.rain import READERS, Kept, RainRecord, load
from roofspring.rain.readers import _text
from roofspring.sources import bibliography

# The invented week of tests/data/formats: 12.7, 0, missing, 25.4, 0, 63.5 mm and a trace.
DEPTH_MM = [12.7, 0.0, np.nan, 25.4, 0.0, 63.5, 0.0]
TMIN_DEGC = [-5.0, 0.0, 5.0, 10.0, 15.0, 20.0, 25.0]
STATION = "USC00999901"


@dataclass(frozen=True)
class Case:
    """One form: its sample, what must be told to read it, what must be found, how to break it."""

    form: str
    file: str
    unit: str | None = None
    station: str | None = None
    findings: frozenset[str] = frozenset()
    traces: bool = True
    temps: bool = True
    wrong_unit: str = "mm"
    month_13: tuple[str, str] = ("2020-02-28", "2020-13-28")
    no_leap: tuple[str, str] = ("2020-02-29", "2019-02-29")
    comma: tuple[str, str] = ("", "")
    thousands: tuple[str, str] = ("", "")
    extra_cell: str = ",1"
    broken_codes: frozenset[str] = field(default_factory=lambda: frozenset({"REC-009"}))


CASES = {
    "ghcn-dly": Case(
        "ghcn-dly",
        "ghcn.dly",
        month_13=("202003PRCP", "202013PRCP"),
        no_leap=("202002PRCP", "201902PRCP"),
        comma=("  635  0", " 63,5  0"),
        thousands=("  635  0", "1,635  0"),
        extra_cell="    0  0",
        broken_codes=frozenset({"REC-016"}),
    ),
    "ghcn by station": Case(
        "ghcn-csv",
        "ghcn_by_station.csv",
        month_13=("20200228", "20201328"),
        no_leap=("20200229", "20190229"),
        comma=("PRCP,635,", 'PRCP,"63,5",'),
        thousands=("PRCP,635,", 'PRCP,"1,635",'),
    ),
    "ghcn by year": Case(
        "ghcn-csv",
        "ghcn_by_year.csv",
        station=STATION,
        month_13=(f"{STATION},20200228", f"{STATION},20201328"),
        no_leap=(f"{STATION},20200229", f"{STATION},20190229"),
        comma=("PRCP,635,", 'PRCP,"63,5",'),
        thousands=("PRCP,635,", 'PRCP,"1,635",'),
    ),
    "ncei access": Case(
        "ncei-csv",
        "ncei_access.csv",
        unit="0.1 mm",
        findings=frozenset({"REC-144"}),
        wrong_unit="cm",
        comma=('"  635"', '" 63,5"'),
        thousands=('"  635"', '"1,635"'),
    ),
    "ncei ordered": Case(
        "ncei-csv",
        "ncei_ordered_inches.csv",
        unit="in",
        findings=frozenset({"REC-144"}),
        wrong_unit="0.1 mm",
        comma=('"2.50"', '"2,50"'),
        thousands=('"2.50"', '"1,002.50"'),
    ),
    "gsod": Case(
        "gsod-csv",
        "gsod.csv",
        findings=frozenset({"REC-118", "REC-133", "REC-134"}),
        comma=('" 2.50"', '" 2,50"'),
        thousands=('" 2.50"', '"1,002.50"'),
    ),
    "usgs": Case(
        "usgs-rdb",
        "usgs_daily.rdb",
        findings=frozenset({"REC-131", "REC-132"}),
        traces=False,
        temps=False,
        comma=("\t2.50\t", "\t2,50\t"),
        thousands=("\t2.50\t", "\t1,002.50\t"),
        extra_cell="\t1",
    ),
    "power": Case(
        "power-csv",
        "power.csv",
        findings=frozenset({"REC-130"}),
        traces=False,
        month_13=("2020,2,28,", "2020,13,28,"),
        no_leap=("2020,2,29,", "2019,2,29,"),
        comma=(",63.5", ',"63,5"'),
        thousands=(",63.5", ',"1,063.5"'),
    ),
    "power by day of year": Case(
        "power-csv",
        "power_doy.csv",
        findings=frozenset({"REC-130"}),
        traces=False,
        month_13=("2020,59,", "2020,400,"),
        no_leap=("2020,60,", "2019,366,"),
        comma=(",63.5", ',"63,5"'),
        thousands=(",63.5", ',"1,063.5"'),
    ),
    "plain": Case(
        "csv",
        "plain.csv",
        comma=(",2.50,", ',"2,50",'),
        thousands=(",2.50,", ',"1,002.50",'),
    ),
    "spreadsheet": Case("xlsx", "", findings=frozenset()),
}
TEXT = [name for name, case in CASES.items() if case.file]
Sample = Callable[[str], Path]


@pytest.fixture
def sample(tmp_path: Path) -> Sample:
    """The sample file of a case; the spreadsheet is written first."""

    def give(name: str) -> Path:
        case = CASES[name]
        if case.file:
            return FORMATS / case.file
        rows: list[list[object]] = [["date", "rain (in)", "tmin_c", "tmax_c"]]
        inches: list[object] = [0.5, 0, None, 1.0, 0.0, 2.5, "T"]
        days = [datetime(2020, 2, 25 + i) for i in range(5)]
        days += [datetime(2020, 3, 1), datetime(2020, 3, 2)]
        rows += [[d, r, t, t + 10] for d, r, t in zip(days, inches, TMIN_DEGC, strict=True)]
        return sheet(tmp_path / "sample.xlsx", rows)

    return give


def read(name: str, path: Path) -> RainRecord:
    return load(path, unit=CASES[name].unit, station=CASES[name].station)


def refused(name: str, path: Path) -> list[tuple[str, int | None]]:
    case = CASES[name]
    return [(p.code, p.line) for p in told(path, unit=case.unit, station=case.station)]


def changed(name: str, pair: tuple[str, str]) -> tuple[str, int]:
    """The sample with one text changed, and the line on which it stands."""
    text = (FORMATS / CASES[name].file).read_text()
    before, mark, _ = text.partition(pair[0])
    assert mark and pair[0]
    return text.replace(*pair, 1), before.count("\n") + 1


def check_week(record: RainRecord, case: Case) -> None:
    assert record.step_s == 86_400.0 and str(record.start) == "2020-02-25"
    np.testing.assert_allclose(record.depth_m * 1e3, DEPTH_MM, rtol=0, atol=1e-12)
    kept = [Kept.MEASURED] * 7
    kept[2] = Kept.MISSING
    kept[6] = Kept.TRACE if case.traces else Kept.MEASURED
    assert record.kept.tolist() == kept
    if case.temps:
        assert record.tmin_degc is not None and record.tmax_degc is not None
        np.testing.assert_allclose(record.tmin_degc, TMIN_DEGC, atol=1e-9)
        np.testing.assert_allclose(record.tmax_degc, np.add(TMIN_DEGC, 10.0), atol=1e-9)
    else:
        assert record.tmin_degc is None and record.tmax_degc is None


def test_every_reader_has_a_sample() -> None:
    assert {case.form for case in CASES.values()} == set(READERS)


@pytest.mark.parametrize("name", CASES)
def test_the_same_week_from_every_form(name: str, sample: Sample) -> None:
    case, path = CASES[name], sample(name)
    record = read(name, path)
    check_week(record, case)
    assert record.name and case.form in READERS and path.name in record.source
    assert record.fill_method == "none"
    assert found(record).keys() == case.findings
    told_form = load(path, form=case.form, unit=case.unit, station=case.station)
    assert told_form.hash == record.hash


@pytest.mark.parametrize("name", CASES)
def test_codes_and_sources_are_known(name: str, sample: Sample) -> None:
    for finding in read(name, sample(name)).findings:
        assert finding.code in codes()
        key = finding.source.partition(",")[0]
        assert key in bibliography() or key == "engineering choice"


@pytest.mark.parametrize("name", CASES)
def test_only_one_form_claims_a_file(name: str, sample: Sample) -> None:
    # Plain CSV may claim what has a date and a rain column; every other form only its own.
    line = _text.first_content_line(sample(name), _text.Problems(Path(name)))
    claims = {form for form, reader in READERS.items() if reader.looks_like(line)} - {"csv"}
    assert claims == {CASES[name].form} - {"csv"}


@pytest.mark.parametrize("name", CASES)
def test_a_unit_is_never_guessed_and_never_overruled(name: str, sample: Sample) -> None:
    case, path = CASES[name], sample(name)
    if case.unit is not None:
        assert {p.code for p in told(path, station=case.station)} == {"REC-006"}
    assert {p.code for p in told(path, unit=case.wrong_unit, station=case.station)} <= {
        "REC-007",
        "REC-010",
    }


@pytest.mark.parametrize("name", CASES)
def test_a_station_that_is_not_there(name: str, sample: Sample) -> None:
    problems = told(sample(name), unit=CASES[name].unit, station="USC00000009")
    assert {p.code for p in problems} == {"REC-015"}


@pytest.mark.parametrize("name", TEXT)
@pytest.mark.parametrize("how", ["byte order mark", "mixed line ends", "gzip", "blank lines"])
def test_harmless_changes(name: str, how: str, tmp_path: Path) -> None:
    content = (FORMATS / CASES[name].file).read_bytes()
    lines = content.splitlines()
    ends = [b"\n", b"\r\n", b"\r"]
    content = {
        "byte order mark": b"\xef\xbb\xbf" + content,
        "mixed line ends": b"".join(x + ends[i % 3] for i, x in enumerate(lines)),
        "gzip": gzip.compress(content),
        "blank lines": b"\n" + content + b"\n\n",
    }[how]
    check_week(read(name, put(tmp_path, content, name="sample.txt")), CASES[name])


@pytest.mark.parametrize("name", TEXT)
def test_cut_short_at_many_places(name: str, tmp_path: Path) -> None:
    content = (FORMATS / CASES[name].file).read_bytes()
    whole = sum(d for d in DEPTH_MM if d == d) / 1e3
    for end in range(0, len(content), 7):
        try:
            record = read(name, put(tmp_path, content[:end], name="cut.txt"))
        except RecordError as error:
            assert all(p.code in codes() and p.what and p.next for p in error.problems)
        else:
            # What is left may be whole rows, or end in a value that lost digits: that is told.
            assert content[:end].endswith(b"\n") or "REC-145" in found(record)
            assert 0.0 <= np.nansum(record.depth_m) <= whole + 1e-12


@pytest.mark.parametrize("name", TEXT)
def test_bytes_that_are_no_text(name: str, tmp_path: Path) -> None:
    content = (FORMATS / CASES[name].file).read_bytes()
    middle = content.index(b"\n", len(content) // 2)
    for junk in (b"\0\0", b"\xff\xfe\xfa"):
        path = put(tmp_path, content[:middle] + junk + content[middle:], name="junk.txt")
        assert [code for code, _ in refused(name, path)] == ["REC-003"]
    packed = gzip.compress(content)
    for broken in (packed[: len(packed) // 2], packed[:40] + b"\0" * 20 + packed[60:]):
        assert refused(name, put(tmp_path, broken, name="broken.gz"))[0][0] == "REC-003"


@pytest.mark.parametrize("name", TEXT)
def test_a_row_with_one_cell_more(name: str, tmp_path: Path) -> None:
    lines = (FORMATS / CASES[name].file).read_text().splitlines()
    at = len(lines) - 1 if name != "ghcn-dly" else 1
    lines[at] += CASES[name].extra_cell
    if name.startswith("ghcn by"):
        lines[at] += ",1"
    path = put(tmp_path, "\n".join(lines) + "\n", name="wide.txt")
    assert refused(name, path) == [("REC-016" if name == "ghcn-dly" else "REC-008", at + 1)]


@pytest.mark.parametrize("name", TEXT)
@pytest.mark.parametrize("which", ["month_13", "no_leap"])
def test_days_that_no_calendar_has(name: str, which: str, tmp_path: Path) -> None:
    text, line = changed(name, getattr(CASES[name], which))
    problems = refused(name, put(tmp_path, text, name="day.txt"))
    assert {code for code, _ in problems} == CASES[name].broken_codes
    assert {number for _, number in problems} == {line}


@pytest.mark.parametrize("name", TEXT)
@pytest.mark.parametrize("which", ["comma", "thousands"])
def test_commas_in_numbers(name: str, which: str, tmp_path: Path) -> None:
    text, line = changed(name, getattr(CASES[name], which))
    problems = refused(name, put(tmp_path, text, name="comma.txt"))
    assert [n for _, n in problems] == [line]
    assert {code for code, _ in problems} <= {"REC-010", "REC-016"}


@pytest.mark.parametrize("name", TEXT)
def test_rows_twice(name: str, tmp_path: Path) -> None:
    case = CASES[name]
    text = (FORMATS / case.file).read_text()
    is_row = re.compile(rf"(USGS\t|{STATION}|\"{STATION}|\"9999|20[0-9][0-9][-,])")
    rows = [line for line in text.splitlines() if is_row.match(line)]
    record = read(name, put(tmp_path, text + "\n".join(rows) + "\n", name="twice.txt"))
    check_week(record, case)
    assert "REC-111" in found(record)
    # The same day with another depth cannot be settled by a program.
    old, new = {
        "ghcn-dly": ("  635  0", "  636  0"),
        "ncei access": ('"  635"', '"  636"'),
        "power": (",63.5", ",63.6"),
        "power by day of year": (",63.5", ",63.6"),
    }.get(name, ("PRCP,635,", "PRCP,636,") if name.startswith("ghcn") else ("2.50", "2.51"))
    other = [row.replace(old, new) for row in rows]
    assert other != rows
    problems = refused(name, put(tmp_path, text + "\n".join(other) + "\n", name="other.txt"))
    assert [code for code, _ in problems] == ["REC-012"]
    assert problems[0][1] is not None


@pytest.mark.parametrize("name", CASES)
def test_a_huge_file_is_refused_without_reading_it(
    name: str, sample: Sample, tmp_path: Path
) -> None:
    path = put(tmp_path, sample(name).read_bytes(), name="huge")
    with path.open("r+b") as stream:
        stream.truncate(_text.MAX_SCAN_BYTES + 1)  # sparse: it takes no room
    tracemalloc.start()
    try:
        assert refused(name, path) == [("REC-002", None)]
        assert tracemalloc.get_traced_memory()[1] < 2_000_000
    finally:
        tracemalloc.stop()


@pytest.mark.parametrize("name", TEXT)
def test_a_small_file_that_unpacks_to_a_huge_one(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(_text, "MAX_BYTES", 200_000)
    monkeypatch.setattr("roofspring.rain.readers.ghcn_csv.MAX_SCAN_BYTES", 200_000)
    content = (FORMATS / CASES[name].file).read_bytes() + b"\n" * 300_000
    path = put(tmp_path, gzip.compress(content), name="bomb.gz")
    assert path.stat().st_size < 5_000
    assert [code for code, _ in refused(name, path)] == ["REC-002"]


JUNK = st.sampled_from([*",;\t\n\r\"'#T-+.eE09 \ufeff\0\x1a", "9999", "NaN", "00045", "PRCP"])


@settings(max_examples=300, deadline=None)
@given(name=st.sampled_from(TEXT), data=st.data())
def test_broken_copies_never_end_in_a_traceback(
    name: str, data: st.DataObject, tmp_path_factory: pytest.TempPathFactory
) -> None:
    text = (FORMATS / CASES[name].file).read_text()
    for _ in range(data.draw(st.integers(1, 4))):
        at, cut = data.draw(st.integers(0, len(text))), data.draw(st.integers(0, 12))
        text = text[:at] + data.draw(JUNK | st.just("")) + text[at + cut :]
    path = put(tmp_path_factory.getbasetemp(), text, name="broken.txt")
    try:
        record = read(name, path)
    except RecordError as error:
        assert error.problems and all(p.code in codes() and p.next for p in error.problems)
    else:
        assert len(record.depth_m) == len(record.kept) > 0
        assert ((record.depth_m >= 0.0) | np.isnan(record.depth_m)).all()
