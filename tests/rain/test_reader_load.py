"""Choosing a form, options that fit it, and files that are known and refused."""

from __future__ import annotations

from pathlib import Path

import pytest

from rain.files import FORMATS, put, refused, told
from roofspring.errors import codes
from roofspring.rain import READERS, read
from roofspring.rain.readers import NOT_READ

KNOWN: dict[str, tuple[bytes, str]] = {
    "web-page": (b"\n<!DOCTYPE html>\n<html><body>404</body></html>", "REC-032"),
    "waterml2": (b'<?xml version="1.0"?>\n<wml2:Collection/>\n', "REC-032"),
    "json": (b'{"a": [1]}\n', "REC-032"),
    "xls": (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600), "REC-032"),
    "pdf": (b"%PDF-1.7\n\xe2\xe3\xcf\xd3\n", "REC-032"),
    "frequency-csv": ((FORMATS / "frequency_mm_aep.csv").read_bytes(), "REC-031"),
    "epw": (b"LOCATION,A,B,C,D,1,45.0,-110.0,-7.0,1500.0\n", "REC-030"),
}


def test_every_refused_form_has_a_sample() -> None:
    assert KNOWN.keys() == NOT_READ.keys() and not READERS.keys() & NOT_READ.keys()


@pytest.mark.parametrize("name", KNOWN)
def test_known_and_refused(tmp_path: Path, name: str) -> None:
    content, code = KNOWN[name]
    (problem,) = refused(put(tmp_path, content))
    assert problem.code == code and code in codes() and problem.next
    (named,) = told(put(tmp_path, content), form=name)
    assert named.code == "REC-019" and NOT_READ[name].what in named.what


@pytest.mark.parametrize("name", [n for n, r in READERS.items() if not r.options])
@pytest.mark.parametrize("option", ["stamp", "tip", "tip_step_s", "sheet"])
def test_options_that_a_form_does_not_take(name: str, option: str) -> None:
    value: object = {"stamp": "end", "tip": "0.2 mm", "tip_step_s": 300.0, "sheet": "a"}[option]
    (problem,) = told(FORMATS / "plain.csv", form=name, **{option: value})
    assert (
        problem.code == "REC-038" and problem.where == option and "csv" in problem.allowed + "csv"
    )


def test_a_sheet_of_a_plain_csv() -> None:
    (problem,) = told(FORMATS / "plain.csv", sheet="a")
    assert problem.code == "REC-038" and problem.allowed == "with xlsx"


def test_options_go_through_read(tmp_path: Path) -> None:
    path = put(tmp_path, "time\n2020-06-01 10:00:00\n2021-06-01 10:00:00\n")
    record = read(path, tip="0.2 mm", tip_step_s=3600.0)
    assert record.step_s == 3600.0 and record.depth_m.sum() == pytest.approx(0.0004)
    codes_found = [f.code for f in record.findings]
    assert codes_found[0] == "REC-138" and "REC-105" in codes_found
