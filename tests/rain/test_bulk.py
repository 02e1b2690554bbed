"""Blocks read all at once give what reading row by row gives: values, marks, lines and problems.

Dates are held against `datetime.date`, numbers against `decimal.Decimal` (standard library).
Reading row by row is held against published values elsewhere; here the two ways are held against
each other.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from rain.files import codes, dly_line, put, refused
from roofspring.errors import RecordError
from roofspring.rain import Kept, RainRecord, load, write_csv
from roofspring.rain.readers import _bulk, _readings
from roofspring.rain.readers._text import BLOCK_BYTES, Lines

Told = tuple[RainRecord | None, list[tuple[str, int | None, str]]]


def both_ways(path: Path, monkeypatch: pytest.MonkeyPatch, **options: Any) -> Told:
    """What a file holds, or is refused for; the same whether blocks are taken whole or not."""
    told: list[Told] = []
    with monkeypatch.context() as patch:
        for rows_only in (False, True):
            if rows_only:
                patch.setattr(Lines, "block", lambda _: b"")
            try:
                told.append((load(path, **options), []))
            except RecordError as error:
                told.append((None, [(p.code, p.line, p.got) for p in error.problems]))
    (fast, quick), (slow, careful) = told
    assert quick == careful
    assert (fast is None) == (slow is None)
    if fast is not None and slow is not None:
        for name in ("depth_m", "kept", "tmin_degc", "tmax_degc"):
            a, b = getattr(fast, name), getattr(slow, name)
            assert (a is None) == (b is None)
            if a is not None:
                assert a.tobytes() == b.tobytes(), name  # bit for bit, -0.0 and NaN too
        assert fast.hash == slow.hash
        assert (fast.findings, fast.source, fast.start, fast.step_s) == (
            slow.findings, slow.source, slow.start, slow.step_s,
        )  # fmt: skip
    return fast, quick


def cut(texts: list[str]) -> _bulk.Cells:
    made = _bulk.cells(
        ("\n".join(f"{t},x" for t in texts) + "\n").encode(), delimiter=",", columns=2
    )
    assert made is not None
    return made


class TestPieces:
    def test_every_day_from_1583_to_2400_and_no_other(self) -> None:
        first = date(1583, 1, 1)
        days = [first + timedelta(n) for n in range(0, 298_000, 7)]
        texts = [str(d) for d in days]
        got, good = _bulk.dates(cut(texts).padded(0, 10))
        assert good.all()
        assert got.tolist() == [(d - date(1970, 1, 1)).days for d in days]

    @pytest.mark.parametrize("year", [1, 1900, 2000, 2011, 2012, 9999])
    def test_all_months_and_days_of_a_year(self, year: int) -> None:
        texts = [f"{year:04d}-{m:02d}-{d:02d}" for m in range(14) for d in range(33)]
        got, good = _bulk.dates(cut(texts).padded(0, 10))
        for text, day, fine in zip(texts, got.tolist(), good.tolist(), strict=True):
            try:
                real = date.fromisoformat(text)
            except ValueError:
                assert not fine, text
            else:
                assert fine and day == (real - date(1970, 1, 1)).days

    def test_what_is_no_date(self) -> None:
        texts = ["0000-01-01", "2012/01/01", "2012-1-01 ", " 2012-01-0", "2O12-01-01", "2012-01-1"]
        assert not _bulk.dates(cut(texts).padded(0, 10))[1].any()

    @pytest.mark.parametrize("factor", ["1", "0.001", "0.0254", "0.000254", "0.0001", "0.01"])
    def test_numbers_are_rounded_once_as_decimals_are(self, factor: str) -> None:
        rng = np.random.default_rng(8)
        texts = [
            f"{rng.integers(0, 10 ** rng.integers(1, 7))}.{rng.integers(0, 10**5):05d}"
            for _ in range(5_000)
        ] + ["0", "0.0", ".5", "5.", "007", "999999999999"]
        whole, decimals, minus, good = _bulk.numbers(cut(texts), 0)
        assert good.all() and not minus.any()
        parts = Decimal(factor).as_tuple()
        times = int("".join(map(str, parts.digits)))
        assert isinstance(parts.exponent, int)
        got = _bulk.quotient(whole, decimals, factor=times, shift=-parts.exponent)
        assert got.tolist() == [float(Decimal(t) * Decimal(factor)) for t in texts]

    def test_what_is_no_plain_number(self) -> None:
        texts = ["", "-", ".", "-.", "1-", "1.2.3", "1e3", "+1", " 1", "1 ", "T", "0x1", "--1",
                 "1234567890123", "1_000", "nan"]  # fmt: skip
        assert not _bulk.numbers(cut(texts), 0)[3].any()
        whole, decimals, minus, good = _bulk.numbers(cut(["-12.70", "-.5"]), 0)
        assert (whole.tolist(), decimals.tolist()) == ([1270, 5], [2, 1])
        assert minus.all() and good.all()

    def test_lines_with_other_cells_are_not_cut(self) -> None:
        for text in (b"1,2\n1\n", b"1,2,3\n", b"1\n2,3,4\n", b"1,2\n\n3,4\n"):
            assert _bulk.cells(text, delimiter=",", columns=2) is None
        assert _bulk.cells(b"1\n\n2\n", delimiter=",", columns=1) is None


STEPS = 6_000
HEADS = {
    "minutes": "time,precip_mm",
    "inches": "time,rain (in),temp (F)",
    "own": "date,precip_mm,tmin_c,tmax_c,kept",
    "semicolons": "time;precip_mm",
}


def rows_of(kind: str) -> list[list[str]]:
    rng = np.random.default_rng(17)
    depth = rng.gamma(0.3, 0.4, STEPS)
    if kind == "own":
        days = np.datetime64("1990-01-01") + np.arange(STEPS)
        kept = rng.choice(["measured", "", "filled", "trace", "spread"], STEPS)
        return [
            [str(d), "0" if k == "trace" else f"{r:.1f}", f"{t - 4:.1f}", f"{t + 5:.1f}", str(k)]
            for d, r, t, k in zip(days, depth, rng.normal(0.0, 9.0, STEPS), kept, strict=True)
        ]
    step = np.timedelta64(5, "m")
    times = (np.datetime64("2011-11-20T00:00") + np.arange(STEPS) * step).astype(str)
    if kind == "inches":
        return [
            [t.replace("T", " ") + ":00", f"{r / 25.4:.2f}", f"{f:.1f}"]
            for t, r, f in zip(times, depth, rng.normal(40.0, 9.0, STEPS), strict=True)
        ]
    return [[t, f"{r:.2f}"] for t, r in zip(times, depth, strict=True)]


def joined(rows: list[list[str]], kind: str, *, end: str = "\n") -> str:
    between = ";" if kind == "semicolons" else ","
    return end.join([HEADS[kind], *(between.join(r) for r in rows)]) + end


Change = Callable[[list[list[str]]], object]


def nothing(_: object) -> None:
    """Leave everything as it is."""


def cells(column: int, words: tuple[str, ...], *, every: int, first: int = 900) -> Change:
    """Put words into a column, one after another."""

    def change(rows: list[list[str]]) -> None:
        for i, row in enumerate(rows[first::every]):
            row[column] = words[i % len(words)]

    return change


def marked_utc(part: slice) -> Change:
    def change(rows: list[list[str]]) -> None:
        for row in rows[part]:
            row[0] += "Z" if ":" in row[0] else ""

    return change


ODD: dict[str, Change] = {
    "nothing": nothing,
    "empty cells": cells(1, ("",), every=90),
    "words": cells(1, ("NA", "T", "-9999", "trace", "-999", "NaN"), every=70),
    "exponents and signs": cells(1, ("1e-1", "+0.2", "0.30 ", " .1", "-0"), every=70),
    "bad cells": cells(1, ("1,2", "x", "-3", "9999", "1 234"), every=400),
    "bad times": cells(0, ("2011-13-01", "2011-02-29", "2011-11-31", "", "noon"), every=400),
    "a cell more": lambda rows: rows[4321].append("1"),
    "a cell less": lambda rows: rows[4321].pop(),
    "quotation marks": lambda rows: rows[4321].__setitem__(1, '"0.1"'),
    "a comment": lambda rows: rows[4321].__setitem__(0, "# " + rows[4321][0]),
    "a zero byte": lambda rows: rows[4321].__setitem__(1, "\0"),
    "rows twice": lambda rows: rows.insert(4000, list(rows[3999])),
    "two values": lambda rows: rows.insert(4000, [rows[3999][0], "77", *rows[3999][2:]]),
    "out of order": lambda rows: rows.insert(4000, rows.pop(100)),
    "an absent row": lambda rows: rows.pop(4000),
    "UTC": marked_utc(slice(None)),
    "UTC here and there": marked_utc(slice(3000, 3100)),
    "mostly words": cells(1, ("NA", "", "T"), every=1),
}


class TestTables:
    @pytest.mark.parametrize("kind", HEADS)
    @pytest.mark.parametrize("odd", ODD)
    def test_both_ways_are_one(
        self, kind: str, odd: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        rows = rows_of(kind)
        ODD[odd](rows)
        record, problems = both_ways(put(tmp_path, joined(rows, kind)), monkeypatch)
        fine = {"nothing", "empty cells", "words", "rows twice", "out of order", "an absent row",
                "mostly words", "UTC"}  # fmt: skip
        if odd in fine and (kind, odd) != ("own", "words"):
            assert record is not None, problems
        if odd in {"bad cells", "bad times", "a cell more", "a cell less", "two values"}:
            assert record is None

    @pytest.mark.parametrize("end", ["\r\n", "\r", "\n"])
    def test_line_ends(self, end: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        text = joined(rows_of("minutes"), "minutes", end=end)
        record, _ = both_ways(put(tmp_path, b"\xef\xbb\xbf" + text.encode()), monkeypatch)
        plain = load(put(tmp_path, joined(rows_of("minutes"), "minutes"), name="plain.csv"))
        assert record is not None
        assert record.depth_m.tobytes() == plain.depth_m.tobytes()

    def test_lines_are_numbered_through_many_blocks(self, tmp_path: Path) -> None:
        times = np.datetime64("2011-01-01T00:00") + np.arange(60_000) * np.timedelta64(5, "m")
        lines = [f"{t},0.1" for t in times.astype(str)]
        assert sum(map(len, lines)) > 4 * BLOCK_BYTES
        lines[54_320] = lines[54_320].replace("0.1", "0,1")
        lines[59_998] = lines[59_998].replace("-", "/")
        text = "time,precip_mm\n" + "\n".join(lines) + "\n"
        assert codes(refused(put(tmp_path, text))) == [("REC-008", 54_322), ("REC-009", 60_000)]
        for junk, at in ((b"\xe9", 50_000), (b"\0", 30_000)):
            broken = text.encode().splitlines(keepends=True)
            broken[at] = junk + broken[at]
            (problem,) = refused(put(tmp_path, b"".join(broken)))[-1:]
            assert (problem.code, problem.line) == ("REC-003", at + 1)

    def test_our_own_file_comes_back_bit_for_bit(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        made = load(put(tmp_path, joined(rows_of("own"), "own")))
        write_csv(made, tmp_path / "ours.csv")
        again, _ = both_ways(tmp_path / "ours.csv", monkeypatch)
        assert again is not None and again.hash == made.hash
        assert {Kept.FILLED, Kept.TRACE, Kept.SPREAD} <= set(again.kept.tolist())

    def test_a_last_line_without_an_end(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        text = joined(rows_of("minutes"), "minutes")[:-1]
        record, _ = both_ways(put(tmp_path, text), monkeypatch)
        assert record is not None
        assert [f.where for f in record.findings if f.code == "REC-145"] == [f"line {STEPS + 1}"]


def dly_rows() -> list[str]:
    """Twenty years of three elements, and one that is not read."""
    rng = np.random.default_rng(23)
    lines = []
    for month in np.arange("1990-01", "2010-01", dtype="datetime64[M]"):
        days = int(
            ((month + 1).astype("datetime64[D]") - month.astype("datetime64[D]")).astype(int)
        )
        stamp = str(month).replace("-", "")
        for element, values in (
            ("PRCP", np.round(rng.gamma(0.3, 90.0, days)).astype(int)),
            ("TMAX", np.round(rng.normal(120.0, 80.0, days)).astype(int)),
            ("TMIN", np.round(rng.normal(20.0, 80.0, days)).astype(int)),
            ("SNOW", np.zeros(days, dtype=int)),
        ):
            flags = rng.choice(["  6", "T 6", " D6", "P 6", "   "], days, p=[0.9, *[0.025] * 4])
            cells = [f"{v:5d}{f}" for v, f in zip(values.tolist(), flags, strict=True)]
            for gone in rng.integers(0, days, 2):
                cells[gone] = "-9999   "
            cells += ["-9999   "] * (31 - days)
            lines.append(dly_line(cells, element=element, month=stamp))
    return lines


def span(first: int, last: int, text: str, *, at: int = 504) -> Callable[[list[str]], object]:
    """Write over some characters of a line."""

    def change(lines: list[str]) -> None:
        assert len(text) == last - first
        lines[at] = lines[at][:first] + text + lines[at][last:]

    return change


def on_the_fifth(value: str, element: str, month: str) -> str:
    gone = "-9999   "
    return dly_line([gone] * 4 + [value] + [gone] * 26, element=element, month=month)


def cut_blanks(lines: list[str]) -> None:
    lines[:] = [s.rstrip() for s in lines]


def day_30_of_february(lines: list[str]) -> None:
    (at,) = (i for i, s in enumerate(lines) if s[11:21] == "199502PRCP")
    span(21 + 8 * 29, 21 + 8 * 30, "   12  6", at=at)(lines)


ODD_LINES: dict[str, Callable[[list[str]], object]] = {
    "nothing": nothing,
    "trailing blanks cut": cut_blanks,
    "a line cut short": lambda lines: lines.__setitem__(500, lines[500][:200]),
    "a line twice": lambda lines: lines.insert(600, lines[400]),
    "another value": lambda lines: lines.append(lines[400][:21] + "  777  6" + lines[400][29:]),
    "month 13": span(15, 17, "13"),
    "year 0": span(11, 15, "0000"),
    "30 February": day_30_of_february,
    "letters": span(21, 29, "  1O3  6"),
    "a sign inside": span(21, 29, " 1-03  6"),
    "a blank inside": span(21, 29, " 1 03  6"),
    "below 0": span(21, 29, "  -12  6"),
    "below 0 but failed": span(21, 29, "  -12 X6"),
    "too much": span(21, 29, "18251  6"),
    "a total": lambda lines: lines.extend(
        [
            on_the_fifth("  300   ", "MDPR", "201001"),
            on_the_fifth("    4   ", "DAPR", "201001"),
            on_the_fifth("    4   ", "PRCP", "201002"),
        ]
    ),
    "days of a total": lambda lines: lines.append(on_the_fifth("  400   ", "DAPR", "201001")),
    "another station": span(0, 11, "USC00000001"),
    "a tab for a flag": span(27, 28, "\t"),
    "small letters": span(0, 2, "us"),
    "a blank line": lambda lines: lines.insert(700, ""),
}


def station_rows(lines: list[str]) -> list[list[str]]:
    """The same values, one on a row."""
    rows = []
    for line in lines:
        for at in range(31):
            cell = line[21 + 8 * at : 29 + 8 * at]
            if cell[:5] != "-9999":
                day = f"{line[11:17]}{at + 1:02d}"
                flags = [c.strip() for c in cell[5:]]
                rows.append([line[:11], day, line[17:21], cell[:5].strip(), *flags, "0700"])
    return rows


def cell(column: int, text: str, *, at: int = 15_000) -> Change:
    return lambda rows: rows[at].__setitem__(column, text)


def no_times(rows: list[list[str]]) -> None:
    for row in rows:
        del row[7]


def of_day(element: str, first: int, *words: str) -> Change:
    """Write over some cells of one element on one day."""

    def change(rows: list[list[str]]) -> None:
        (row,) = (r for r in rows if r[1:3] == ["19950511", element])
        row[first : first + len(words)] = words

    return change


def another_value(rows: list[list[str]]) -> None:
    (row,) = (r for r in rows if r[1:3] == ["19950511", "PRCP"])
    rows.append([*row[:3], "777", "", "", "6", "0700"])


HEADING = ["ID", "DATE", "ELEMENT", "DATA_VALUE", "M_FLAG", "Q_FLAG", "S_FLAG", "OBS_TIME"]
ODD_CELLS: dict[str, Change] = {
    "nothing": nothing,
    "no time": no_times,
    "another station": cell(0, "USC00000001"),
    "no station": cell(0, "us000000001"),
    "a heading inside": lambda rows: rows.insert(9_000, HEADING),
    "month 13": of_day("TMAX", 1, "19951301"),
    "a day too many": of_day("TMAX", 1, "19950229"),
    "a point": of_day("TMAX", 3, "12."),
    "eight digits": of_day("TMAX", 3, "12345678"),
    "no value": of_day("TMAX", 3, ""),
    "gone": of_day("TMAX", 3, "-9999"),
    "below 0": of_day("PRCP", 3, "-5", "", ""),
    "failed below 0": of_day("PRCP", 3, "-5", "", "X"),
    "too much": of_day("PRCP", 3, "18251", "", ""),
    "another element": of_day("TMAX", 2, "TOBSX"),
    "flags of two letters": of_day("PRCP", 4, "TT"),
    "one time less": lambda rows: rows[15_000].pop(),
    "two cells more": lambda rows: rows[15_000].extend(["1", "2"]),
    "two values": another_value,
}
FINE_CELLS = {
    "nothing", "no time", "a heading inside", "failed below 0", "gone", "another element",
    "flags of two letters", "one time less",
}  # fmt: skip


class TestFixedColumns:
    @pytest.mark.parametrize("odd", ODD_LINES)
    @pytest.mark.parametrize("end", ["\n", "\r\n"])
    def test_both_ways_are_one(
        self, odd: str, end: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        lines = dly_rows()
        ODD_LINES[odd](lines)
        path = put(tmp_path, end.join(lines) + end, name="a.dly")
        record, problems = both_ways(path, monkeypatch)
        fine = {"nothing", "trailing blanks cut", "a line twice", "below 0 but failed", "a total",
                "a tab for a flag", "a blank line"}  # fmt: skip
        assert (record is not None) == (odd in fine), problems

    @pytest.mark.parametrize("odd", ODD_CELLS)
    @pytest.mark.parametrize("told", [None, "USW00093986"])
    def test_rows_by_station(
        self, odd: str, told: str | None, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        rows = station_rows(dly_rows())
        ODD_CELLS[odd](rows)
        text = "".join(",".join(r) + "\n" for r in rows)
        record, problems = both_ways(put(tmp_path, text), monkeypatch, station=told)
        fine = FINE_CELLS | ({"another station"} if told else set())
        assert (record is not None) == (odd in fine), problems

    def test_by_station_and_fixed_columns_are_one_record(self, tmp_path: Path) -> None:
        lines = dly_rows()
        fixed = load(put(tmp_path, "\n".join(lines) + "\n", name="a.dly"))
        text = "".join(",".join(r) + "\n" for r in station_rows(lines))
        rows = load(put(tmp_path, text))
        assert rows.hash == fixed.hash

    def test_repeats_without_end_stay_small(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """A file that says the same month again and again is kept once."""
        monkeypatch.setattr(_readings, "MAX_UNSETTLED", 10_000)
        longest = 0
        compact = _readings.Series.compact

        def watched(self: _readings.Series, *args: Any, **named: Any) -> None:
            nonlocal longest
            compact(self, *args, **named)
            longest = max(longest, len(self.day))

        monkeypatch.setattr(_readings.Series, "compact", watched)
        line = dly_line(["   10  6"] * 31)
        record = load(put(tmp_path, f"{line}\n" * 20_000, name="a.dly"))
        assert record.days_count == 31 and longest < 200_000
        assert {f.code: f.got for f in record.findings}["REC-111"] == f"{19_999 * 31:,} values"
