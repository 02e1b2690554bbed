"""Frost days counted from the record: on a series made by hand, and on a real one."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from network.build import DATA, dry
from roofspring.network.frost import frost_findings
from roofspring.rain import read


def test_days_are_counted_and_the_coldest_is_named() -> None:
    low, high = np.full(365, 4.0), np.full(365, 12.0)
    low[10:20], high[12:14], low[13] = -1.0, -0.5, -9.0
    record = replace(dry(365), tmin_degc=low, tmax_degc=high)
    (found,) = frost_findings(record)
    assert found.code == "FRO-101" and "January" in found.what
    assert (
        found.got
        == "10 frost days a year, 2 of them below 0 °C all day; coldest -9 °C on 2001-01-14"
    )


def test_a_place_without_frost_says_nothing() -> None:
    record = replace(dry(30), tmin_degc=np.zeros(30), tmax_degc=np.ones(30))
    assert frost_findings(record) == ()


def test_without_temperatures_it_is_said_that_nobody_looked() -> None:
    (found,) = frost_findings(dry(30))
    assert (found.code, found.severity) == ("FRO-102", "note")


def test_brussels() -> None:
    """Counted again here, straight from the file (MIT, tests/data/README.md)."""
    path = DATA / "brussels_daily_1976_2005.csv"
    rows = [line.split(",") for line in path.read_text("utf-8").splitlines()[1:]]
    frost = sum(float(row[2]) < 0.0 for row in rows) / (len(rows) / 365.25)
    (found,) = frost_findings(read(path))
    assert float(found.got.split()[0]) == pytest.approx(frost, abs=0.5)
