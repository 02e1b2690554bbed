"""Daily CSV of NASA POWER: the header block decides."""

from __future__ import annotations

from pathlib import Path

import pytest

from rain.files import FORMATS, codes, put, told
from roofspring.rain import load

TEXT = (FORMATS / "power.csv").read_text()


def test_it_is_for_screening_only() -> None:
    (finding,) = load(FORMATS / "power.csv").findings
    assert finding.code == "REC-130" and finding.severity == "caution"
    assert "screening only" in finding.what


@pytest.mark.parametrize(
    ("old", "new", "code"),
    [
        ("-END HEADER-\n", "", "REC-034"),
        ("availability range: -999", "availability range", "REC-034"),
        ("(mm/day)", "(mm/hour)", "REC-034"),
        ("PRECTOTCORR  ", "PRECSNO  ", "REC-034"),
        ("YEAR,MO,DY", "YEAR,MO,HR", "REC-005"),
        ("63.5", "-63.5", "REC-011"),
        ("63.5", "2000", "REC-011"),
        ("2020,2,28,20", "2020,2,28,200", "REC-021"),
    ],
)
def test_what_the_header_must_say(tmp_path: Path, old: str, new: str, code: str) -> None:
    assert TEXT.replace(old, new) != TEXT
    assert {p.code for p in told(put(tmp_path, TEXT.replace(old, new)))} == {code}


def test_hourly_files_are_refused(tmp_path: Path) -> None:
    text = TEXT.replace("YEAR,MO,DY,", "YEAR,MO,DY,HR,").replace("2020,2,", "2020,2,1,")
    assert [p.code for p in told(put(tmp_path, text))] == ["REC-034"]


def test_the_missing_value_is_the_one_in_the_header(tmp_path: Path) -> None:
    # Read as -99, the header's -999 becomes a negative depth.
    text = TEXT.replace("availability range: -999", "availability range: -99")
    assert codes(told(put(tmp_path, text))) == [("REC-011", 15)]
    assert load(put(tmp_path, text.replace(",-999", ",-99"))).days_count == 7
