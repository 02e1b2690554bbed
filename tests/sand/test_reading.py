"""Sieve tests as people write them: good ones, and every way of going wrong."""

from __future__ import annotations

import itertools
from pathlib import Path

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from roofspring.errors import SieveError
from roofspring.sandfilter.sieve import (
    Kind,
    SieveRow,
    parse_opening,
    read_sieve_file,
    sieve_test,
    typed_sieve_test,
)
from sand.sands import ASTM_M, PIT, write


def codes(error: pytest.ExceptionInfo[SieveError]) -> list[str]:
    return [p.code for p in error.value.problems]


def test_masses_become_a_curve(tmp_path: Path) -> None:
    test = read_sieve_file(write(tmp_path, PIT))
    # By hand: 11.6 of 499.6 g in the pan; 36.6 finer than 0.15; 160.6 than 0.3 mm.
    assert test.pan_frac == pytest.approx(11.6 / 499.6)
    assert test.curve.passing(0.15e-3)[0] == pytest.approx(36.6 / 499.6)
    assert test.curve.passing(0.3e-3)[0] == pytest.approx(160.6 / 499.6)
    assert test.loss_frac == pytest.approx(0.6 / 500.2)
    assert test.total_kg == pytest.approx(0.4996)
    assert not test.invented
    assert [f.code for f in test.findings] == ["SIV-104"]


def test_all_five_kinds_say_the_same(tmp_path: Path) -> None:
    masses = (0.0, 40.0, 100.0, 50.0, 10.0)
    sieves = ("1.18", "0.6", "0.3", "0.15", "pan")
    cumulative = [sum(masses[: k + 1]) for k in range(5)]
    columns = {
        "retained g": masses,
        "cumulative retained g": cumulative,
        "retained %": [m / 2.0 for m in masses],
        "cumulative retained %": [c / 2.0 for c in cumulative],
        "% passing": [100.0 - c / 2.0 for c in cumulative],
    }
    found = []
    for heading, values in columns.items():
        rows = "".join(f"{s},{v:g}\n" for s, v in zip(sieves, values, strict=True))
        test = read_sieve_file(write(tmp_path, f"sieve mm,{heading}\n{rows}"))
        found.append(test.curve)
        assert test.pan_frac == pytest.approx(0.05)
    for curve in found[1:]:
        assert curve.sizes_m == found[0].sizes_m
        assert curve.passing_frac == pytest.approx(found[0].passing_frac)


@pytest.mark.parametrize(
    "text",
    [
        "sieve no;retained [g]\n30;60\n50;90\n100;45\npan;5\n",
        "sieve\tmass retained (kg)\n0.6 mm\t0.060\n300 um\t0.090\nNo. 100\t0.045\npan\t0.005\n",
        "opening um,retained\n600,60 g\n300,90 g\n150,45 g\nPan,5 g\n",
        "\ufeffsieve size mm,weight retained g\npan,5\n0.15,45\n0.3,90\n0.6,60\n",
        'aperture mm,"retained, g"\n# a comment\n\n0.6,60\n0.3,90\n0.15,45\npan,5\nsum,200\n',
        "sieve in,retained oz\n0.023622047,60\n0.011811024,90\n0.0059055118,45\npan,5\n",
    ],
)
def test_ways_to_write_one_test(tmp_path: Path, text: str) -> None:
    curve = read_sieve_file(write(tmp_path, text)).curve
    assert curve.sizes_m == pytest.approx((0.15e-3, 0.3e-3, 0.6e-3), rel=1e-6)
    assert curve.passing_frac == pytest.approx((0.025, 0.25, 0.70))


def test_a_spreadsheet(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    book.worksheets[0].title = "notes"
    sheet = book.create_sheet("pit")
    sheet.append(["# INVENTED for a test"])
    sheet.append([None, None])
    sheet.append(["Sieve No.", "Retained (g)"])
    for row in ((30, 60), (50, 90.0), (100, 45), ("pan", 5), ("before", 200.3)):
        sheet.append(row)
    path = tmp_path / "sand.xlsx"
    book.save(path)
    test = read_sieve_file(path, sheet="pit")
    assert test.curve.passing_frac == pytest.approx((0.025, 0.25, 0.70))
    assert test.invented
    with pytest.raises(SieveError, match="SIV-001"):
        read_sieve_file(path, sheet="gone")
    with pytest.raises(SieveError, match="SIV-001"):
        read_sieve_file(write(tmp_path, PIT), sheet="pit")


def test_words_above_the_heading_are_passed_over(tmp_path: Path) -> None:
    """As a laboratory's sheet has them: client, date, number of the sample."""
    book = openpyxl.Workbook()
    sheet = book.worksheets[0]
    for row in (
        ("Client", "A. Builder"),
        ("Sample No.", "17"),
        ("Date", "2026-01-03"),
        (None,),
        ("Sieve", "% passing"),
        ("No. 30", 70),
        ("No. 50", 25),
        ("No. 100", 2.5),
    ):
        sheet.append(row)  # fmt: skip
    path = tmp_path / "lab.xlsx"
    book.save(path)
    curve = read_sieve_file(path).curve
    assert curve.sizes_m == pytest.approx((0.15e-3, 0.3e-3, 0.6e-3))
    assert curve.passing_frac == pytest.approx((0.025, 0.25, 0.70))
    for words in ("River sand from the ford\n", "sieve analysis of a sand,,\nby,me\n"):
        made = read_sieve_file(write(tmp_path, words + PIT))
        assert made.curve == read_sieve_file(write(tmp_path, PIT)).curve


def test_the_mass_before_that_is_told_stands_over_the_files(tmp_path: Path) -> None:
    test = read_sieve_file(write(tmp_path, PIT), before_kg=0.5)
    assert test.loss_frac == pytest.approx(0.4 / 500.0)


def test_a_small_sample_is_told(tmp_path: Path) -> None:
    """ASTM C136 asks for 300 g of a fine aggregate (from memory)."""
    small = "sieve mm,retained g\n0.6,60\n0.3,130\n0.15,45\npan,{}\n"
    for pan, told in (("64", True), ("65", False)):
        test = read_sieve_file(write(tmp_path, small.format(pan)))
        assert ("SIV-106" in [f.code for f in test.findings]) is told


def test_cells_that_show_percents_hold_shares(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    sheet = book.worksheets[0]
    sheet.append(["Opening mm", "Passing"])
    for row in ((0.6, 0.70), (0.3, 0.25), (0.15, 0.025)):
        sheet.append(row)
        sheet.cell(sheet.max_row, 2).number_format = "0.0%"
    path = tmp_path / "sand.xlsx"
    book.save(path)
    curve = read_sieve_file(path).curve
    assert curve.passing_frac == pytest.approx((0.025, 0.25, 0.70))


@pytest.mark.parametrize(
    ("text", "code", "line"),
    [
        (PIT.replace("0.300,172", "0.300,-172"), "SIV-006", 6),
        (PIT.replace("0.600,92", "6.00,92"), "SIV-009", 5),
        (PIT.replace("0.600,92", "0.300,92"), "SIV-008", 6),
        (PIT.replace("0.600,92.0", "0.600,92.0 mm"), "SIV-005", 5),
        (PIT.replace("0.600,92.0", "0.600,"), "SIV-005", 5),
        (PIT.replace("0.600,92.0", "0.600"), "SIV-003", 5),
        (PIT.replace("0.600,92.0", '0.600,"92'), "SIV-003", 5),
        (PIT.replace("0.600,92.0", "600,92.0"), "SIV-016", 5),
        (PIT.replace("0.600,92.0", "fine,92.0"), "SIV-004", 5),
        (PIT.replace("sieve mm", "sieve"), "SIV-004", 3),
        (PIT.replace("retained g", "retained"), "SIV-002", 1),
        (PIT.replace("retained g", "g"), "SIV-002", 1),
        (PIT.replace("sieve mm", "what"), "SIV-002", 1),
        (PIT.replace("total,499.6", "total,599.6"), "SIV-012", 10),
        (PIT.replace("before,500.2", "before,560"), "SIV-012", 2),
        (PIT.replace("total,499.6", "before,500.2"), "SIV-008", 10),
        (PIT.replace("0.600,92.0", "0.600,1,092"), "SIV-003", 5),
        (PIT.replace("retained g", "retained kg"), "SIV-017", None),
        (PIT.replace("retained g", "retained mg"), "SIV-017", None),
        ("0.6,92\nsieve mm,retained g\n0.3,172\n0.15,24\npan,3\n", "SIV-003", 1),
        (PIT.replace("before,500.2\n", "").replace("pan,11.6\n", ""), "SIV-015", None),
        ("sieve mm,retained g\n0.6,3\npan,4\n", "SIV-010", None),
        ("sieve mm,retained g\n0.6,0\n0.3,0\npan,0\n", "SIV-014", None),
        ("sieve mm,retained g\npan,4\n", "SIV-010", None),
        ("sieve mm,passing %\n0.6,140\n0.3,20\n", "SIV-007", 2),
        ("sieve mm,passing %\n1.18,99\n0.6,60\n0.3,70\n0.15,5\n", "SIV-013", 4),
        ("sieve mm,passing %\n0.6,0.99\n0.3,0.4\n", "SIV-005", 2),
        ("sieve mm,cumulative retained %\n0.6,0.1\n0.3,0.4\npan,1\n", "SIV-005", 4),
        ("sieve mm,retained %\n0.6,30\n0.3,20\npan,20\n", "SIV-012", 4),
        ("sieve mm,retained %\n0.6,0\n0.3,0\n0.15,0\npan,0\n", "SIV-012", 5),
        ("sieve mm,cumulative retained %\n0.6,30\n0.3,80\npan,90\n", "SIV-012", 4),
        ("sieve mm,sieve no,retained g\n0.6,30,3\n", "SIV-002", 1),
        ("sieve mm,retained g,passing %\n0.6,30,3\n", "SIV-002", 1),
        ("", "SIV-001", None),
        ("# nothing\n", "SIV-001", None),
    ],
)  # fmt: skip
def test_what_is_wrong_is_named_with_its_line(
    tmp_path: Path, text: str, code: str, line: int | None
) -> None:
    path = write(tmp_path, text)
    with pytest.raises(SieveError) as error:
        read_sieve_file(path)
    first = error.value.problems[0]
    assert (first.code, first.line) == (code, line)
    assert first.file == str(path)
    assert first.next


def test_all_bad_rows_come_at_once(tmp_path: Path) -> None:
    text = PIT.replace("0.600,92.0", "600,92.0").replace("0.150,124.0", "0.150,x")
    with pytest.raises(SieveError) as error:
        read_sieve_file(write(tmp_path, text))
    assert codes(error) == ["SIV-016", "SIV-005"]


@pytest.mark.parametrize(
    ("text", "looks_like"),
    [
        # Each is one kind under the heading of another.
        ("sieve mm,passing %\n1.18,2\n0.6,30\n0.3,80\n0.15,97\n", "all above it"),
        ("sieve mm,cumulative retained %\n1.18,98\n0.6,70\n0.3,20\n0.15,3\n", "passing"),
        ("sieve mm,retained %\n1.18,2\n0.6,30\n0.3,80\n0.15,97\npan,100\n", "all above it"),
        ("sieve mm,retained %\n1.18,98\n0.6,70\n0.3,20\n0.15,3\npan,0\n", "passing"),
        ("sieve mm,retained g\n1.18,10\n0.6,60\n0.3,150\n0.15,290\npan,300\n", "all above it"),
        ("sieve mm,cumulative retained g\n1.18,10\n0.6,50\n0.3,90\n0.15,40\npan,5\n", "each"),
    ],
)  # fmt: skip
def test_retained_taken_for_passing_is_seen(tmp_path: Path, text: str, looks_like: str) -> None:
    with pytest.raises(SieveError) as error:
        read_sieve_file(write(tmp_path, text))
    assert codes(error) == ["SIV-011"]
    assert looks_like in error.value.problems[0].got


def test_a_kind_that_is_said_in_so_many_words_is_taken(tmp_path: Path) -> None:
    path = write(tmp_path, "sieve mm,g\n1.18,10\n0.6,60\n0.3,150\n0.15,290\npan,300\n")
    kinds: tuple[Kind, ...] = ("retained-mass", "cumulative-retained-mass")
    each, cumulative = (read_sieve_file(path, kind=k).curve for k in kinds)
    assert each.passing_frac[0] == pytest.approx(300 / 810)
    assert cumulative.passing_frac[0] == pytest.approx(10 / 300)


def test_a_small_loss_is_a_finding_and_a_large_one_an_error(tmp_path: Path) -> None:
    for before, expected in (("500.2", []), ("503", ["SIV-101"]), ("497", ["SIV-101"])):
        text = PIT.replace("500.2", before)
        test = read_sieve_file(write(tmp_path, text))
        assert [f.code for f in test.findings if f.code == "SIV-101"] == expected
    test = read_sieve_file(write(tmp_path, PIT.replace("before,500.2\n", "")))
    assert "SIV-102" in [f.code for f in test.findings] and test.loss_frac is None
    weighed = PIT.replace("pan,11.6\n", "").replace("total,499.6\n", "")
    test = read_sieve_file(write(tmp_path, weighed))
    assert test.pan_frac == pytest.approx(12.2 / 500.2)  # what is missing has passed


@given(factor=st.floats(0.1, 100.0))
@settings(deadline=None)
def test_only_shares_of_the_mass_count(factor: float) -> None:
    masses = (0.027, 0.048, 0.092, 0.172, 0.124, 0.025, 0.0116)
    sieves = ("2.36 mm", "1.18 mm", "0.6 mm", "0.3 mm", "0.15 mm", "0.075 mm")
    rows = [SieveRow(parse_opening(s), m) for s, m in zip(sieves, masses, strict=False)]
    rows.append(SieveRow(None, masses[-1]))
    scaled = [SieveRow(r.opening_m, r.value * factor) for r in rows]
    ours = sieve_test(rows, kind="retained-mass").curve
    assert sieve_test(scaled, kind="retained-mass").curve.passing_frac == pytest.approx(
        ours.passing_frac, rel=1e-9
    )


@given(
    masses=st.lists(st.floats(0.0, 5.0), min_size=3, max_size=12),
    reverse=st.booleans(),
)
@settings(deadline=None)
def test_percents_never_fall_towards_coarser_sieves(masses: list[float], reverse: bool) -> None:
    sizes = ASTM_M[: len(masses) - 1][::-1]
    rows = [SieveRow(d, m) for d, m in zip(sizes, masses, strict=False)]
    rows.append(SieveRow(None, masses[-1]))
    if sum(masses) < 0.010:  # refused: nobody sieves so little
        return
    test = sieve_test(rows[::-1] if reverse else rows, kind="retained-mass", sure=True)
    passing = test.curve.passing_frac
    assert all(a <= b for a, b in itertools.pairwise(passing))
    assert sum(test.retained_frac) + test.pan_frac == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("texts", "code"),
    [
        (["0.6 mm"], "SIV-003"),
        (["0.6 mm=3", "0.3 mm=3 g", "pan=1 g"], "SIV-005"),
        (["0.6 mm=30 %", "0.3 mm=10 %"], "SIV-002"),
        (["0.6=3 g", "0.3 mm=3 g", "pan=1 g"], "SIV-004"),
        (["0.6 mm=3 g", "0.3 mm=3 g", "pan=1 g", "pan=1 g"], "SIV-008"),
        (["0.6 mm=1e400 g", "0.3 mm=3 g"], "SIV-005"),
    ],
)
def test_typed_tests_are_checked_too(texts: list[str], code: str) -> None:
    with pytest.raises(SieveError, match=code):
        typed_sieve_test(texts)


def test_masses_before_go_with_masses() -> None:
    with pytest.raises(SieveError, match="SIV-005"):
        typed_sieve_test(["0.6 mm=70 %", "0.3 mm=10 %"], kind="passing-percent", before_kg=0.5)


@pytest.mark.parametrize(
    "data",
    [b"\xff\xfe\x00\x01", b"sieve mm,retained g\n\x00", b"PK\x03\x04 not a spreadsheet",
     b"sieve mm,retained g\n" + b"0.6,1\n" * 600, b"x" * (3 * 1024**2)],
)  # fmt: skip
def test_files_that_are_no_table_are_refused(tmp_path: Path, data: bytes) -> None:
    path = tmp_path / "sand.csv"
    path.write_bytes(data)
    with pytest.raises(SieveError, match="SIV-001"):
        read_sieve_file(path)
    with pytest.raises(SieveError, match="SIV-001"):
        read_sieve_file(tmp_path / "missing.csv")


@given(text=st.text(max_size=300))
@settings(deadline=None)
def test_no_text_breaks_the_reader(tmp_path_factory: pytest.TempPathFactory, text: str) -> None:
    path = tmp_path_factory.getbasetemp() / "any.csv"
    path.write_text("sieve mm,retained g\n" + text, "utf-8", errors="replace")
    try:
        read_sieve_file(path)
    except SieveError:
        return
