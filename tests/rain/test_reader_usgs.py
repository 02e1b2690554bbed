"""RDB of the United States Geological Survey."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from rain.files import codes, found, put, told
from roofspring.rain import Kept, load

NAMES = "agency_cd\tsite_no\tdatetime\ttz_cd\t03_00035\t03_00035_cd\t09_00045\t09_00045_cd\n"
FORMATS = "5s\t15s\t20d\t6s\t14n\t10s\t14n\t10s\n"
# Rows of a published answer for site 395740074482628, 28 October 2012 (USGS_RDB_DOC, quoted).
ROWS = (
    "USGS\t395740074482628\t2012-10-28 13:00\tEST\t4.2\tP\t\t\n"
    "USGS\t395740074482628\t2012-10-28 13:15\tEST\t6.4\tP\t0.00\tP\n"
    "USGS\t395740074482628\t2012-10-28 13:30\tEST\t3.6\tP\t0.00\tP\n"
    "USGS\t395740074482628\t2012-10-28 13:45\tEST\t3.2\tP\t0.00\tP\n"
)


def test_a_published_answer(tmp_path: Path) -> None:
    record = load(put(tmp_path, "# comment\n" + NAMES + FORMATS + ROWS))
    assert record.step_s == 900.0 and record.name == "395740074482628"
    assert record.kept[52:56].tolist() == [Kept.MISSING] + [Kept.MEASURED] * 3
    assert found(record).keys() == {"REC-131", "REC-142"}
    assert found(record)["REC-131"] == "3 values"


def test_zones_are_turned_to_standard_time(tmp_path: Path) -> None:
    rows = "".join(
        f"USGS\t1\t2012-11-04 {clock}\t{zone}\t\t\t{rain}\tA\n"
        for clock, zone, rain in [
            ("00:00", "EDT", 0.1),
            ("01:00", "EDT", 0.2),
            ("01:00", "EST", 0.3),
        ]
    )
    record = load(put(tmp_path, NAMES + FORMATS + rows))
    # 00:00 EDT is 23:00 EST of the day before.
    np.testing.assert_allclose(record.depth_m[23:26] / 0.0254, [0.1, 0.2, 0.3], atol=1e-12)
    assert str(record.start) == "2012-11-03T00:00:00"


def test_words_and_missing_values(tmp_path: Path) -> None:
    cells = ["Ice", "Eqp", "Eqp", "-999999", "", "0.25"]
    rows = "".join(f"USGS\t1\t2020-01-0{i + 1}\t\t\t\t{c}\tA:e\n" for i, c in enumerate(cells))
    record = load(put(tmp_path, NAMES + FORMATS + rows))
    assert record.step_s == 86_400.0
    assert np.isnan(record.depth_m[:5]).all() and record.depth_m[5] == pytest.approx(0.00635)
    assert found(record)["REC-141"] == "Eqp 2 times, Ice 1 time"
    assert found(record)["REC-132"] == "6 values"


def test_several_sites_each_with_its_own_names(tmp_path: Path) -> None:
    other = NAMES.replace("09_00045", "12_00045").replace("\t03_00035\t03_00035_cd", "")
    text = (
        NAMES + FORMATS + "USGS\t1\t2020-01-01\t\t\t\t0.10\tA\n# next\n" + other
        + "5s\t15s\t20d\t6s\t14n\t10s\nUSGS\t2\t2020-01-01\t\t0.20\tA\n"
    )  # fmt: skip
    path = put(tmp_path, text)
    assert [p.code for p in told(path)] == ["REC-015"]
    assert load(path, station="2").depth_m.tolist() == [pytest.approx(0.00508)]
    assert [p.code for p in told(path, station="3")] == ["REC-015"]


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        (NAMES + ROWS, ("REC-033", 2)),
        (NAMES.replace("09_00045", "09_00065") + FORMATS + ROWS, ("REC-033", 1)),
        (NAMES.replace("03_00035", "03_00045") + FORMATS + ROWS, ("REC-033", 1)),
        (NAMES.replace("09_00045", "09_00045_00003") + FORMATS + ROWS, ("REC-033", 1)),
        (NAMES + FORMATS + ROWS.replace("EST", "XYZ", 1), ("REC-033", 3)),
        (NAMES + FORMATS + ROWS.replace("13:15", "25:15"), ("REC-009", 4)),
        (NAMES + FORMATS + ROWS.replace("0.00", "oops", 1), ("REC-010", 4)),
        (NAMES + FORMATS + ROWS.replace("0.00", "-0.01", 1), ("REC-011", 4)),
        (NAMES + FORMATS + ROWS.replace("\tP\n", "\n", 1), ("REC-008", 4)),
        (NAMES + FORMATS + ROWS.replace("EST", "", 1), ("REC-013", None)),
        (NAMES + FORMATS, ("REC-014", None)),
    ],
    ids=["no formats", "no rain", "two", "mean", "zone", "hour", "word", "below", "cells", "mixed",
         "none"],
)  # fmt: skip
def test_files_that_are_not_whole(
    tmp_path: Path, text: str, wanted: tuple[str, int | None]
) -> None:
    assert codes(told(put(tmp_path, text))) == [wanted]
