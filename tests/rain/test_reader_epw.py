"""EPW: rain refused with the reason, temperatures of a typical year."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest

from rain.files import put, told
from roofspring.errors import RecordError
from roofspring.rain.readers import read_epw_temperature

HEAD = "LOCATION,Alder Bench,XX,XXX,Invented,999999,45.00,-110.00,-7.0,1500.0\n" + "\n".join(
    ("DESIGN CONDITIONS,0", "TYPICAL/EXTREME PERIODS,0", "GROUND TEMPERATURES,0",
     "HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0", 'COMMENTS 1,"an open quote', "COMMENTS 2,",
     "DATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31")
) + "\n"  # fmt: skip


def row(day: date, hour: int, degc: float) -> str:
    # Fields 1 to 5 date and time, 7 dry bulb, 34 and 35 rain (CRAWLEY_1999).
    return (
        f"{1985 + day.month},{day.month},{day.day},{hour},60,?9,{degc:.1f}" + ",0" * 26 + ",999,99"
    )


def text() -> str:
    """A year in which hour 15 is 10 degrees over hour 5, and the level is the day of the year."""
    rows = []
    for i in range(365):
        day = date(2001, 1, 1) + timedelta(days=i)
        rows += [row(day, h, i / 10 + {5: -5.0, 15: 5.0}.get(h, 0.0)) for h in range(1, 25)]
    return HEAD + "\n".join(rows) + "\n"


def test_rain_is_refused_with_the_reason(tmp_path: Path) -> None:
    (problem,) = told(put(tmp_path, text()))
    assert problem.code == "REC-030"
    assert "typical" in problem.what and "mostly empty" in problem.what
    assert "read_epw_temperature" in problem.next


def test_temperatures(tmp_path: Path) -> None:
    year = read_epw_temperature(put(tmp_path, text()))
    assert year.name == "Alder Bench, XXX" and year.latitude_deg == 45.0
    np.testing.assert_allclose(year.tmin_degc, np.arange(365) / 10 - 5.0, atol=1e-9)
    np.testing.assert_allclose(year.tmax_degc, np.arange(365) / 10 + 5.0, atol=1e-9)
    assert [f.code for f in year.findings] == ["REC-139"]
    days = np.array(
        ["2020-01-01", "2020-02-28", "2020-02-29", "2020-03-01", "2021-12-31"], "datetime64[D]"
    )
    low, high = year.on(days)
    np.testing.assert_allclose(low, np.array([0, 58, 58, 59, 364]) / 10 - 5.0, atol=1e-9)
    np.testing.assert_allclose(high - low, 10.0, atol=1e-9)


@pytest.mark.parametrize(
    ("old", "new", "code"),
    [
        (row(date(2001, 3, 1), 7, 5.9) + "\n", "", "REC-040"),
        (",3,1,7,60,?9,5.9,", ",13,1,7,60,?9,5.9,", "REC-009"),
        (",3,1,7,60,?9,5.9,", ",2,30,7,60,?9,5.9,", "REC-009"),
        (",3,1,7,60,?9,5.9,", ",3,1,0,60,?9,5.9,", "REC-009"),
        (",3,1,7,60,?9,5.9,", ",3,1,7,60,?9,99.9,", "REC-010"),
        (",3,1,7,60,?9,5.9,", ",3,1,7,60,?9,99.8,", "REC-021"),
        (",3,1,7,60,?9,5.9,", ",3,1,7,60,?9,5.9,1,", "REC-008"),
        ("LOCATION,", "PLACE,", "REC-040"),
        (",45.00,", ",north,", "REC-040"),
    ],
)
def test_files_that_are_not_whole(tmp_path: Path, old: str, new: str, code: str) -> None:
    whole = text()
    assert old in whole
    with pytest.raises(RecordError) as caught:
        read_epw_temperature(put(tmp_path, whole.replace(old, new)))
    assert {p.code for p in caught.value.problems} == {code}


def test_a_file_cut_short(tmp_path: Path) -> None:
    whole = text()
    for end in (0, 10, 500, 2_000, len(whole) // 2, len(whole) - 30):
        with pytest.raises(RecordError):
            read_epw_temperature(put(tmp_path, whole[:end]))
