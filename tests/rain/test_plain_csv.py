"""What the plain CSV reader takes, and what it refuses and why."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rain.files import codes, put, refused
from roofspring.errors import RecordError
from roofspring.rain import Kept, describe, load, read
from roofspring.rain.readers import _text

# An inch is 25.4 mm exactly (NIST_HB44, appendix C).


@pytest.mark.parametrize(
    ("heading", "unit", "cell", "depth_m"),
    [
        ("precip_mm", None, "12.7", 0.0127),
        ("rain (in)", None, "0.5", 0.0127),
        ("Rain [mm]", None, "12.7", 0.0127),
        ("depth_cm", None, "1.27", 0.0127),
        ("Rainfall amount (inches)", None, "0.5", 0.0127),
        ("PRCP", "mm", "12.7", 0.0127),
        ("PRCP", "0.1 mm", "127", 0.0127),
        ("PRCP", "0.01 in", "50", 0.0127),
        ("precip_mm", "mm", "12.7", 0.0127),
    ],
)
def test_units(tmp_path: Path, heading: str, unit: str | None, cell: str, depth_m: float) -> None:
    path = put(tmp_path, f"date,{heading}\n2012-01-01,{cell}\n")
    assert load(path, unit=unit).depth_m.tolist() == [depth_m]


@pytest.mark.parametrize(
    ("heading", "unit", "code"),
    [
        ("rain", None, "REC-006"),
        ("rain", "litres", "REC-007"),
        ("rain (l)", None, "REC-007"),
        ("rain (mm/h)", None, "REC-007"),
        ("precip_mm_per_h", None, "REC-007"),
        ("prcp_tenths_mm", None, "REC-007"),
        ("precip_mm", "in", "REC-007"),
        ("snow_depth_cm", None, "REC-005"),
        ("rain_mm,precip_mm", None, "REC-005"),
        ("rain_mm,rain_mm", None, "REC-005"),
        ("rain_mm,tmin", None, "REC-006"),
        ("rain_mm,datetime", None, "REC-005"),
    ],
)
def test_headings_are_never_guessed(
    tmp_path: Path, heading: str, unit: str | None, code: str
) -> None:
    path = put(tmp_path, f"date,{heading}\n2012-01-01,{'1,' * heading.count(',')}1\n")
    assert code in {p.code for p in refused(path, unit=unit)}


@pytest.mark.parametrize("between", [",", ";", "\t"])
def test_delimiters_line_ends_comments_and_byte_order_mark(tmp_path: Path, between: str) -> None:
    text = (
        "\ufeff# from a gauge\r\ndate,precip_mm,tmax_degF\r\n"
        "2012-01-01,1.5,50\n\n#\n2012-01-02,2,41\r2012-01-03,3,32"
    )
    record = load(put(tmp_path, text.replace(",", between)))
    assert record.depth_m.tolist() == [0.0015, 0.002, 0.003]
    assert record.tmax_degc == pytest.approx([10.0, 5.0, 0.0], abs=1e-9)


def test_missing_traces_and_absent_rows(tmp_path: Path) -> None:
    cells = ["", "NA", "NaN", "null", "-9999", "-999", "-999.0", "T", "trace", "99.99"]
    rows = "".join(f"2012-01-{i + 1:02d},{c}\n" for i, c in enumerate(cells))
    record = load(put(tmp_path, f"date,precip_mm\n{rows}2012-01-13,1\n"))
    assert np.flatnonzero(record.kept == Kept.MISSING).tolist() == [0, 1, 2, 3, 4, 5, 6, 10, 11]
    assert np.flatnonzero(record.kept == Kept.TRACE).tolist() == [7, 8]
    assert record.depth_m[7] == 0.0 and record.depth_m[9] == 0.09999


def test_rows_out_of_order_and_repeated(tmp_path: Path) -> None:
    path = put(tmp_path, "date,precip_mm\n2012-01-02,2\n2012-01-01,1\n2012-01-02,2\n2012-01-03,3\n")
    record = load(path)
    assert record.depth_m.tolist() == [0.001, 0.002, 0.003]
    assert [f.code for f in record.findings] == ["REC-110", "REC-111"]


def test_every_problem_is_listed_at_once(tmp_path: Path) -> None:
    rows = [
        "2012-13-01,1",
        "2011-02-29,1",
        "2012-01-03,-1",
        "2012-01-04,1826",
        "2012-01-05,abc",
        '2012-01-06,"1,5"',
        "2012-01-07,1 234",
        "2012-01-08",
        "2012-01-09,1,5",
        "10/01/2012,1",
        "2012-01-11,1_0",
        "2012-01-12,inf",
        "2012-01-13,0x10",
        "2012-01-14,٣",
        "2012-01-15,1e9999",
    ]
    problems = refused(put(tmp_path, "date,precip_mm\n" + "\n".join(rows) + "\n"))
    wanted = ["009", "009", "011", "011", "010", "010", "010", "008", "008", "009"] + ["010"] * 5
    assert codes(problems) == [(f"REC-{c}", i + 2) for i, c in enumerate(wanted)]
    assert "comma" in problems[5].what


def test_a_decimal_comma_in_a_semicolon_file_is_refused(tmp_path: Path) -> None:
    (problem,) = refused(put(tmp_path, "date;precip_mm\n2012-01-01;1,5\n"))
    assert problem.code == "REC-010" and problem.got == "1,5" and "comma" in problem.what


def test_the_list_of_problems_is_capped_and_counted(tmp_path: Path) -> None:
    problems = refused(put(tmp_path, "date,precip_mm\n" + "2012-01-01,-1\n" * 57))
    assert len(problems) == 21
    assert problems[-1].code == "REC-020" and problems[-1].what.startswith("37 more")


def test_one_day_with_two_values(tmp_path: Path) -> None:
    path = put(tmp_path, "date,precip_mm\n2012-01-01,1\n2012-01-02,1\n2012-01-01,2\n")
    (problem,) = refused(path)
    assert (problem.code, problem.line) == ("REC-012", 4) and "line 2" in problem.got


@pytest.mark.parametrize(
    ("rows", "lines"),
    [
        ("2012-01-01T00:00,1\n2012-01-01T01:00,1\n2012-01-01T02:00,1\n2012-01-01T02:30,1\n", [5]),
        ("2012-01-01T00:00,1\n2012-01-01T07:00,1\n2012-01-01T14:00,1\n", [None]),
        ("2012-01-01,1\n2012-01-08,1\n2012-01-15,1\n", [None]),
        ("2012-01-01T00:00,1\n", [None]),
        ("2012-01-01T00:00Z,1\n2012-01-01T01:00,1\n", [3]),
        ("2012-01-01T00:00:00,1\n2012-01-01T00:00:30,1\n", [None]),
    ],
    ids=["stray", "7 h", "weekly", "one hour", "mixed zones", "30 s"],
)
def test_uneven_steps(tmp_path: Path, rows: str, lines: list[int | None]) -> None:
    problems = refused(put(tmp_path, "time,precip_mm\n" + rows))
    assert codes(problems) == [("REC-013", line) for line in lines]


def test_sub_daily_records_lie_on_whole_days(tmp_path: Path) -> None:
    rows = "2012-01-01T22:30,1\n2012-01-01T22:45,2\n2012-01-02T01:00,4\n"
    record = load(put(tmp_path, "time,precip_mm\n" + rows.replace("22:45", "22:45")), unit="mm")
    assert record.step_s == 900.0 and record.days_count == 2
    assert record.start == np.datetime64("2012-01-01T00:00")
    assert record.depth_m[90] == 0.001 and record.depth_m[96 + 4] == 0.004
    assert int((record.kept == Kept.MISSING).sum()) == 2 * 96 - 3


def test_a_file_joined_to_itself_keeps_its_step(tmp_path: Path) -> None:
    rows = "".join(f"2012-01-01T{h:02d}:00,{h}\n" for h in range(24))
    record = load(put(tmp_path, "time,precip_mm\n" + rows + rows))
    assert record.step_s == 3600.0 and record.depth_m.tolist() == [h / 1e3 for h in range(24)]
    assert [f.code for f in record.findings] == ["REC-110", "REC-111"]


def test_extremes_of_a_day_need_three_quarters_of_its_readings(tmp_path: Path) -> None:
    rows = [
        f"2012-01-{day:02d}T{h:02d}:00,0,{h if h < readings else ''}\n"
        for day, readings in ((1, 24), (2, 18), (3, 17))
        for h in range(24)
    ]
    record = load(put(tmp_path, "time,precip_mm,temp_c\n" + "".join(rows)))
    assert record.tmin_degc is not None and record.tmax_degc is not None
    assert record.tmin_degc[:2].tolist() == [0.0, 0.0] and np.isnan(record.tmin_degc[2])
    assert record.tmax_degc[:2].tolist() == [23.0, 17.0] and np.isnan(record.tmax_degc[2])


def test_summer_time_is_turned_to_standard_time(tmp_path: Path) -> None:
    rows = "2012-10-28T01:00+02:00,1\n2012-10-28T02:00+02:00,2\n2012-10-28T02:00+01:00,3\n"
    record = load(put(tmp_path, "time,precip_mm\n" + rows))
    assert record.depth_m[:3].tolist() == [0.001, 0.002, 0.003]


def test_readings_at_nine_belong_to_their_date(tmp_path: Path) -> None:
    record = load(put(tmp_path, "time,rain_mm\n2012-01-01 09:00,1\n2012-01-02 09:00,2\n"))
    assert record.step_s == 86_400.0 and record.depth_m.tolist() == [0.001, 0.002]
    assert [f.code for f in record.findings] == ["REC-119"]


def test_a_day_of_steps_cannot_exceed_the_greatest_rain_known(tmp_path: Path) -> None:
    rows = "".join(f"2012-01-01T{h:02d}:00,100\n" for h in range(24))
    (problem,) = refused(put(tmp_path, "time,precip_mm\n" + rows))
    assert problem.code == "REC-011" and problem.where == "2012-01-01"


def test_a_station_column(tmp_path: Path) -> None:
    path = put(tmp_path, "station,date,rain_mm\nA,2012-01-01,1\nB,2012-01-01,2\n")
    assert refused(path)[0].code == "REC-015"
    assert load(path, station="B").depth_m.tolist() == [0.002]
    assert refused(path, station="C")[0].code == "REC-015"
    plain = put(tmp_path, "date,rain_mm\n2012-01-01,1\n", name="b.csv")
    assert refused(plain, station="A")[0].code == "REC-015"


HOSTILE: dict[str, tuple[bytes, str]] = {
    "empty": (b"", "REC-004"),
    "comments only": (b"# a\n# b\n", "REC-004"),
    "no heading": (b"2012-01-01,1\n", "REC-004"),
    "heading only": (b"date,precip_mm\n", "REC-014"),
    "all missing": (b"date,precip_mm\n2012-01-01,\n2012-01-02,NA\n", "REC-014"),
    "zero bytes": (b"date,precip_mm\n2012-01-01,\x00\x00\n", "REC-003"),
    "gzip": (b"\x1f\x8b\x08\x00" + bytes(range(200, 256)), "REC-003"),
    "utf-16": ("date,precip_mm\n2012-01-01,1\n".encode("utf-16"), "REC-003"),
    "latin-1": (b"date,precip_mm,name\n2012-01-01,1,\xe9\n", "REC-003"),
    "long line": (b"date,precip_mm\n2012-01-01," + b"1" * 70_000, "REC-002"),
    "open quote": (b'date,precip_mm\n2012-01-01,"1\n2012-01-02,1\n', "REC-008"),
    "text after quote": (b'date,precip_mm\n"2012-01-01"x,1\n', "REC-008"),
    "far apart": (
        b"time,rain_mm\n0001-01-01T00:00,1\n0001-01-01T01:00,1\n9999-12-31T00:00,1\n",
        "REC-002",
    ),
    "year 0": (b"date,precip_mm\n0000-01-01,1\n", "REC-009"),
    "other table": (b"city,country\nA,B\n", "REC-004"),
    "too cold": (b"date,precip_mm,tmin_c\n2012-01-01,1,-273\n", "REC-021"),
    "value marked missing": (b"date,precip_mm,kept\n2012-01-01,1,missing\n", "REC-010"),
    "strange mark": (b"date,precip_mm,kept\n2012-01-01,1,maybe\n", "REC-010"),
}  # fmt: skip


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_files(tmp_path: Path, name: str) -> None:
    content, code = HOSTILE[name]
    assert code in {p.code for p in refused(put(tmp_path, content))}


SOUND = (
    "# roofspring rain record, version 1\n# name: x\ntime,precip_mm,kept,tmin_c,tmax_c\n"
    "2012-01-01T00:00:00,1.5,measured,1,2\n2012-01-01T12:00:00,T,trace,,\n"
    "2012-01-02T00:00:00,,missing,-9999,3\n",
    "date;rain (in);station\n2012-02-29;0.5;A\n2012-03-01;NA;A\n",
    "USC00000001,20110101,PRCP,5,,,,\nUSC00000001,20110103,MDPR,30,,,,\n"
    "USC00000001,20110103,DAPR,2,,,,\nUSC00000001,20110103,TMIN,-30,,X,,\n",
    "USW00093986191003PRCP" + "    0  6" * 31 + "\n",
)
JUNK = st.sampled_from(
    [*",;\t\n\r\"'#T-+.eE09 \ufeff\0\x1a\u0663", "9999", "NaN", "inf", "-9999", "0000-00-00"]
)


@settings(max_examples=400, deadline=None)
@given(sound=st.sampled_from(SOUND), data=st.data())
def test_broken_copies_of_sound_files_never_end_in_a_traceback(
    sound: str, data: st.DataObject, tmp_path_factory: pytest.TempPathFactory
) -> None:
    text = sound
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(text)))
        cut = data.draw(st.integers(0, 12))
        text = text[:at] + data.draw(JUNK | st.just("")) + text[at + cut :]
    path = put(tmp_path_factory.getbasetemp(), text, name="broken.csv")
    try:
        record = load(path)
    except RecordError as error:
        assert error.problems and all(p.code.startswith("REC-0") for p in error.problems)
    else:
        assert len(record.depth_m) == len(record.kept) > 0
        assert ((record.depth_m >= 0.0) | np.isnan(record.depth_m)).all()
        describe(record)


def test_paths_that_are_not_files(tmp_path: Path) -> None:
    assert refused(tmp_path)[0].code == "REC-001"
    assert refused(tmp_path / "absent.csv")[0].code == "REC-001"
    assert refused(Path("a\0b"))[0].code == "REC-001"


def test_a_file_over_the_limit_is_not_opened(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(_text, "MAX_BYTES", 100)
    path = put(tmp_path, "date,precip_mm\n" + "2012-01-01,1\n" * 20)
    assert refused(path)[0].code == "REC-002"


def test_forms_are_named_or_told(tmp_path: Path) -> None:
    path = put(tmp_path, "date,precip_mm\n2012-01-01,1\n")
    assert load(path, form="csv").depth_m.tolist() == [0.001]
    with pytest.raises(RecordError, match="REC-019"):
        load(path, form="epw")
    with pytest.raises(RecordError, match="REC-016"):
        load(path, form="ghcn-dly")
    with pytest.raises(RecordError, match="REC-019"):
        read(path, fill="zero")
