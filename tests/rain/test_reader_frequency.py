"""Precipitation-frequency tables of NOAA, against the numbers printed in them."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from rain.files import FORMATS, put, told
from roofspring.errors import RecordError
from roofspring.rain.readers import FrequencyTable, read_frequency_table

ARI = FORMATS / "frequency_inches_ari.csv"
TEXT = ARI.read_text()


def at(table: FrequencyTable, duration_s: float, years: float) -> float:
    (i,) = np.flatnonzero(table.duration_s == duration_s)
    (j,) = np.flatnonzero(table.return_years == years)
    return float(table.depth_m[i, j])


def test_a_published_table_of_depths() -> None:
    table = read_frequency_table(ARI)
    assert table.basis == "ARI" and table.unit == "inches" and table.series == "Partial duration"
    assert table.depth_m.shape == (19, 10) and np.isfinite(table.depth_m).all()
    assert (table.latitude_deg, table.longitude_deg) == (26.6, -81.9)
    assert table.location == "Southeastern States"
    # NOAA_ATLAS14: 100 years, 24 h 12.1 in; 5 min 1.15 in; 1 year, 60 days 21.0 in.
    assert at(table, 86_400.0, 100.0) == pytest.approx(12.1 * 0.0254, rel=1e-12)
    assert at(table, 300.0, 100.0) == pytest.approx(1.15 * 0.0254, rel=1e-12)
    assert at(table, 60 * 86_400.0, 1.0) == pytest.approx(21.0 * 0.0254, rel=1e-12)
    # 5 min over 60 min: 0.26 there.
    assert at(table, 300.0, 100.0) / at(table, 3_600.0, 100.0) == pytest.approx(0.26, abs=0.005)
    assert table.findings == () and table.lower_m is None


def test_a_published_table_of_intensities() -> None:
    table = read_frequency_table(FORMATS / "frequency_mm_per_hour_ari.csv")
    # 73 mm/h over 5 minutes; 9 mm/h over a day.
    assert at(table, 300.0, 1.0) == pytest.approx(0.073 / 12.0, rel=1e-12)
    assert at(table, 86_400.0, 1000.0) == pytest.approx(0.009 * 24.0, rel=1e-12)
    # Printed as 0: no depth.
    assert np.isnan(table.depth_m[-1, :3]).all() and at(table, 864_000.0, 10.0) == 0.24
    assert [f.code for f in table.findings] == ["REC-140"] and table.findings[0].got == "3 zeros"


def test_chances_in_a_year_and_bounds() -> None:
    table = read_frequency_table(FORMATS / "frequency_mm_aep.csv")
    assert table.basis == "AEP" and table.return_years.tolist() == [2.0, 5.0, 10.0, 100.0]
    assert at(table, 86_400.0, 100.0) == 0.130
    assert table.lower_m is not None and table.upper_m is not None
    assert (table.lower_m < table.depth_m).all() and (table.depth_m < table.upper_m).all()


@pytest.mark.parametrize(
    ("old", "new", "code"),
    [
        ("(inches)", "(furlongs)", "REC-039"),
        ("1,2,5,10,25", "1,2,5,ten,25", "REC-039"),
        ("1,2,5,10,25", "1,5,2,10,25", "REC-039"),
        ("by duration for ARI (years):, 1,2,5,10,25,50,100,200,500,1000\n", "", "REC-039"),
        ("0.553,0.620", "0.553,,0.620", "REC-039"),
        ("0.553,0.620", "0.553,x", "REC-010"),
        ("0.553,0.620", "-0.553,0.620", "REC-010"),
        ("0.553,0.620", "553,620", "REC-010"),
        ("0.553,0.620", "0.653,0.620", "REC-039"),
        ("5-min:", "11-min:", "REC-039"),
    ],
)
def test_garbled_tables(tmp_path: Path, old: str, new: str, code: str) -> None:
    text = TEXT.replace(old, new, 1)
    assert text != TEXT
    with pytest.raises(RecordError) as caught:
        read_frequency_table(put(tmp_path, text))
    assert {p.code for p in caught.value.problems} == {code}
    assert all(p.next for p in caught.value.problems)


def test_a_point_outside_and_other_files(tmp_path: Path) -> None:
    for text in ("", "Error 3.0\nSelected location is not within a project area\n", "a,b\n1,2\n"):
        with pytest.raises(RecordError) as caught:
            read_frequency_table(put(tmp_path, text))
        assert {p.code for p in caught.value.problems} == {"REC-039"}
    for end in range(0, len(TEXT), 41):
        try:
            table = read_frequency_table(put(tmp_path, TEXT[:end]))
        except RecordError:
            continue
        assert table.depth_m.shape == (len(table.duration_s), len(table.return_years))


def test_bounds_that_do_not_fit(tmp_path: Path) -> None:
    text = (FORMATS / "frequency_mm_aep.csv").read_text().replace("24-hr:, 43,60,72,100\n", "")
    with pytest.raises(RecordError, match="REC-039"):
        read_frequency_table(put(tmp_path, text))


def test_it_is_no_record() -> None:
    (problem,) = told(ARI)
    assert problem.code == "REC-031" and "read_frequency_table" in problem.next
