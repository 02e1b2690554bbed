"""Records and documents for the tests of the rain page."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np

from roofspring import rain
from roofspring.network.result import Provenance
from roofspring.rain.futures.acceptance import AcceptanceRow, AcceptanceTable
from roofspring.rain.readers.frequency_csv import FrequencyTable, read_frequency_table
from roofspring.rain.record import FloatArray, Kept, RainRecord
from roofspring.report.rain_page import RainDocument, rain_document
from roofspring.units import MONTH_NAMES, UnitSet

DATA = Path(__file__).parent.parent / "data"
BRUSSELS, SEATTLE = "brussels_daily_1976_2005.csv", "seattle_daily_2012_2015.csv"
NEW_YORK = "new_york_jfk_hourly_2013.csv"
PROVENANCE = Provenance("0.1.0", "", "", 0.4)


@cache
def real(name: str) -> RainRecord:
    """A record of the test data, read and filled."""
    return rain.read(DATA / name)


@cache
def frequency_table() -> FrequencyTable:
    """A published table of heavy rain, in inches."""
    return read_frequency_table(DATA / "formats" / "frequency_inches_ari.csv")


def daily(first: str, depth_m: FloatArray, *, kept: Kept = Kept.MEASURED) -> RainRecord:
    """A daily record of Alder Bench."""
    return RainRecord(
        start=np.datetime64(first),
        step_s=86400.0,
        depth_m=depth_m,
        kept=np.full(len(depth_m), kept, dtype=np.uint8),
        name="Alder Bench",
        source="numbers of a test",
    )


@cache
def century() -> RainRecord:
    """A hundred years with gaps everywhere: the largest pictures."""
    rng = np.random.default_rng(20)
    n = 36525
    record = daily("1921-01-01", np.where(rng.random(n) < 0.4, rng.gamma(0.7, 0.008, n), 0.0))
    kept = np.where(rng.random(n) < 0.04, Kept.FILLED, Kept.MEASURED)
    kept[rng.random(n) < 0.01] = Kept.MISSING
    depth = np.where(kept == Kept.MISSING, np.nan, record.depth_m)
    return replace(record, kept=kept.astype(np.uint8), depth_m=depth)


def acceptance_table() -> AcceptanceTable:
    """One monthly statistic, above in March and below in July, and one of years, inside."""
    observed = [2.0 if m == 2 else 0.0 if m == 6 else 1.0 for m in range(12)]
    rows = [
        AcceptanceRow("monthly skew", name, "", value, 0.5, 1.0, 1.5, 0.5 <= value <= 1.5)
        for name, value in zip(MONTH_NAMES, observed, strict=True)
    ]
    rows.append(AcceptanceRow("annual mean", "", "m", 0.8, 0.7, 0.8, 0.9, True))
    return AcceptanceTable(tuple(rows), "plain chain", "Alder Bench", 100, 30, 0.00025)


def document(
    record: RainRecord,
    *,
    units: UnitSet = "metric",
    neighbours: tuple[rain.Neighbour, ...] = (),
    table: FrequencyTable | None = None,
    acceptance: tuple[AcceptanceTable, ...] = (),
) -> RainDocument:
    """The document of a record."""
    return rain_document(
        record,
        words="Read in a test; no gaps.",
        provenance=PROVENANCE,
        units=units,
        neighbours=neighbours,
        table=table,
        acceptance=acceptance,
    )


def few_days() -> RainRecord:
    """A week over the end of February with a gap, and names that try to become markup."""
    record = daily("2021-02-26", np.array([0.0, 0.003, np.nan, 0.0, 0.012, 0.0, 0.0]))
    kept = np.array([0, 0, Kept.MISSING, 0, 0, Kept.TRACE, 0], dtype=np.uint8)
    return replace(record, kept=kept, name="<script>alert(1)</script> & co", source='"><img src=x>')
