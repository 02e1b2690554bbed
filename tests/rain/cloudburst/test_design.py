"""The rain to design for: table first, then record, then scaling, each said."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rain.cloudburst.uccle import DAY_MM, HOUR_MM
from rain.files import DATA
from rain.within_day.records import record_of
from roofspring.errors import RangeError
from roofspring.rain import read
from roofspring.rain.cloudburst import (
    AlternatingBlock,
    DepthTable,
    Kind,
    annual_maxima,
    ari_of_aep,
    design_rain,
    fit_gev,
    short_ratio,
    table_curve,
    table_depth_m,
)
from roofspring.rain.cloudburst.design import scale_factors
from roofspring.rain.readers.frequency_csv import FrequencyTable

FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Table:
    """What a reader of published tables gives."""

    duration_s: FloatArray
    return_years: FloatArray
    depth_m: FloatArray
    basis: Kind = "ARI"
    source: str = "a made-up service"
    lower_m: FloatArray | None = None
    upper_m: FloatArray | None = None


def power_table(kind: Kind = "ARI") -> Table:
    """Depths that follow a power law of both: straight lines in logarithms."""
    durations = np.array([300.0, 900.0, 3600.0, 86_400.0])
    years = np.array([2.0, 5.0, 10.0, 100.0])
    depth = 0.004 * (durations[:, None] / 300.0) ** 0.4 * years[None, :] ** 0.25
    return Table(durations, years, depth, kind)


@given(duration_s=st.floats(300.0, 86_400.0), years=st.floats(2.0, 100.0))
def test_a_table_is_read_between_its_cells(duration_s: float, years: float) -> None:
    want = 0.004 * (duration_s / 300.0) ** 0.4 * years**0.25
    got = table_depth_m(power_table(), duration_s=duration_s, return_years=years, kind="ARI")
    assert got == pytest.approx(want, rel=1e-9)
    rain = design_rain(duration_s=duration_s, return_years=years, kind="ARI", table=power_table())
    assert rain.way == "table" and rain.depth_m == got and rain.findings == ()
    assert rain.low_m is None and rain.source == "a made-up service"


def test_kinds_of_return_period_are_turned() -> None:
    table = power_table("ARI")
    got = table_depth_m(table, duration_s=3600.0, return_years=10.0, kind="AEP")
    ari = table_depth_m(table, duration_s=3600.0, return_years=ari_of_aep(0.1), kind="ARI")
    assert got == ari
    assert got is not None and got < table.depth_m[2, 2]  # 1 in 10 years is an ARI of 9.49


def test_a_table_is_never_stretched() -> None:
    table = power_table()
    for duration_s, years in ((299.0, 10.0), (90_000.0, 10.0), (3600.0, 1.9), (3600.0, 101.0)):
        assert table_depth_m(table, duration_s=duration_s, return_years=years, kind="ARI") is None
    assert table_curve(table, return_years=200.0, kind="ARI") is None
    with pytest.raises(RangeError, match="REC-087"):
        design_rain(duration_s=3600.0, return_years=200.0, kind="ARI", table=table)
    record = read(DATA / "brussels_daily_1976_2005.csv")
    rain = design_rain(
        duration_s=86_400.0, return_years=200.0, kind="ARI", table=table, record=record
    )
    assert rain.way == "record"
    assert [f.code for f in rain.findings] == ["REC-174", "REC-173", "REC-175"]


def test_below_the_shortest_duration_of_a_table() -> None:
    table = power_table()
    long = Table(table.duration_s[2:], table.return_years, table.depth_m[2:])
    rain = design_rain(duration_s=900.0, return_years=10.0, kind="ARI", table=long)
    # The published ratio of 15 to 60 minutes (HERSHFIELD_1961, from memory).
    assert rain.depth_m == pytest.approx(0.57 * long.depth_m[0, 2], rel=1e-12)
    assert rain.way == "scaled" and rain.base_s == 3600.0
    assert rain.low_m is not None and rain.high_m is not None
    assert rain.low_m < rain.depth_m < rain.high_m
    assert [f.code for f in rain.findings] == ["REC-176"]


def test_printed_bounds_are_the_band() -> None:
    table = power_table()
    bound = replace(table, lower_m=0.8 * table.depth_m, upper_m=1.3 * table.depth_m)
    rain = design_rain(duration_s=2000.0, return_years=7.0, kind="ARI", table=bound)
    assert rain.low_m == pytest.approx(0.8 * rain.depth_m, rel=1e-9)
    assert rain.high_m == pytest.approx(1.3 * rain.depth_m, rel=1e-9)
    assert rain.level_frac == 0.90
    # Scaled below the table, the doubt of the rule is joined to them.
    assert bound.lower_m is not None and bound.upper_m is not None
    hours = replace(
        bound,
        duration_s=table.duration_s[2:],
        depth_m=table.depth_m[2:],
        lower_m=bound.lower_m[2:],
        upper_m=bound.upper_m[2:],
    )
    scaled = design_rain(duration_s=900.0, return_years=7.0, kind="ARI", table=hours)
    assert scaled.low_m is not None and scaled.high_m is not None
    doubt = short_ratio(900.0)[1]
    down = np.hypot(np.log(0.8), np.log(1.0 - doubt))
    up = np.hypot(np.log(1.3), np.log(1.0 + doubt))
    assert scaled.low_m == pytest.approx(scaled.depth_m * np.exp(-down), rel=1e-9)
    assert scaled.high_m == pytest.approx(scaled.depth_m * np.exp(up), rel=1e-9)


def test_an_empty_cell_is_not_read_across() -> None:
    table = power_table()
    cells = table.depth_m.copy()
    cells[3, 3] = np.nan
    holed = replace(table, depth_m=cells)
    assert table_depth_m(holed, duration_s=7200.0, return_years=50.0, kind="ARI") is None
    assert table_depth_m(holed, duration_s=1800.0, return_years=50.0, kind="ARI") is not None
    curve = table_curve(holed, return_years=50.0, kind="ARI")
    assert curve is not None and curve.durations_s == (300.0, 900.0, 3600.0)


def test_the_reader_of_published_tables_fits() -> None:
    # The layout of a published table (NOAA Atlas 14); its 5-minute row as read from the server.
    table: DepthTable = FrequencyTable(
        duration_s=np.array([300.0]),
        return_years=np.array([1.0, 2.0]),
        depth_m=np.array([[0.553, 0.620]]) * 0.0254,
        basis="ARI",
        series="Partial duration",
        unit="inches",
        location="",
        source="test",
    )
    got = table_depth_m(table, duration_s=300.0, return_years=2.0, kind="ARI")
    assert got == pytest.approx(0.620 * 0.0254, rel=1e-12)


def test_a_curve_of_the_table_makes_a_nested_storm() -> None:
    table = power_table()
    curve = table_curve(table, return_years=10.0, kind="ARI")
    assert curve is not None
    total = float(table.depth_m[2, 2])
    storm = AlternatingBlock(curve).depths_m(total, duration_s=3600.0, step_s=300.0)
    assert storm.max() == pytest.approx(table.depth_m[0, 2], rel=1e-9)
    windows = np.convolve(storm, np.ones(3), mode="valid")
    assert windows.max() == pytest.approx(table.depth_m[1, 2], rel=1e-9)


def test_a_record_is_fitted_at_its_own_duration() -> None:
    record = read(DATA / "brussels_daily_1976_2005.csv")
    rain = design_rain(duration_s=86_400.0, return_years=10.0, kind="AEP", record=record)
    fit = fit_gev(annual_maxima(record, duration_s=86_400.0).depth_m)
    assert rain.depth_m == fit.depth_m(10.0, kind="AEP")
    assert rain.way == "record" and rain.base_s == 86_400.0
    assert rain.low_m is not None and rain.high_m is not None
    assert rain.low_m < rain.depth_m < rain.high_m
    assert rain.mean_m_per_s == pytest.approx(rain.depth_m / 86_400.0)
    assert [f.code for f in rain.findings] == ["REC-173"]


def test_uccle_hour_lies_in_the_band_scaled_from_its_days() -> None:
    # SNEYERS_1977: a daily record made of the 35 greatest days, scaled to an hour, against the fit
    # of the greatest hours.
    years = np.arange(1938, 1973)
    start = np.datetime64("1938-01-01")
    rain = np.zeros(int((np.datetime64("1973-01-01") - start).astype(int)))
    for year, depth in zip(years, DAY_MM, strict=True):
        rain[int((np.datetime64(f"{year}-07-01") - start).astype(int))] = depth / 1e3
    record = replace(record_of(rain), start=start)
    for return_years in (2.0, 10.0, 50.0):
        got = design_rain(
            duration_s=3600.0, return_years=return_years, kind="AEP", record=record, law="gumbel"
        )
        assert got.way == "scaled" and got.low_m is not None and got.high_m is not None
        hour = fit_gev(HOUR_MM / 1e3).depth_m(return_years, kind="AEP")
        assert got.low_m < hour < got.high_m


@given(
    one=st.floats(300.0, 86_400.0),
    two=st.floats(300.0, 86_400.0),
    years=st.floats(1.5, 50.0),
    factor=st.floats(1.01, 4.0),
)
def test_longer_and_rarer_are_deeper(one: float, two: float, years: float, factor: float) -> None:
    record = BRUSSELS
    short, long = sorted((one, two))

    def depth(duration_s: float, return_years: float) -> float:
        return design_rain(
            duration_s=duration_s,
            return_years=return_years,
            kind="AEP",
            record=record,
            resamples_count=100,
        ).depth_m

    assert depth(short, years) <= depth(long, years) * (1 + 1e-12)
    assert depth(short, years * factor) > depth(short, years)


BRUSSELS = read(DATA / "brussels_daily_1976_2005.csv")


@pytest.mark.parametrize("to_s", [300.0, 1800.0, 3600.0, 7200.0, 86_400.0])
def test_scaling_has_no_doubt_where_it_does_nothing(to_s: float) -> None:
    assert scale_factors(to_s, to_s) == (1.0, 1.0, 1.0)
    factor, low, high = scale_factors(86_400.0, to_s)
    assert low <= factor <= high


def test_bad_tables_are_refused() -> None:
    table = power_table()
    for bad in (
        replace(table, depth_m=table.depth_m[:, :3]),
        replace(table, depth_m=table.depth_m[::-1]),
        replace(table, depth_m=-table.depth_m),
        replace(table, return_years=table.return_years[::-1]),
    ):
        with pytest.raises(RangeError, match="REC-087"):
            table_depth_m(bad, duration_s=3600.0, return_years=10.0, kind="ARI")
    with pytest.raises(RangeError, match="REC-087"):
        design_rain(duration_s=60.0, return_years=10.0, kind="ARI", table=table)
    with pytest.raises(RangeError, match="REC-087"):
        design_rain(duration_s=3600.0, return_years=10.0, kind="ARI")


def test_a_table_of_zeros_is_refused_with_its_source() -> None:
    table = power_table()
    flat = replace(table, depth_m=np.zeros_like(table.depth_m))
    with pytest.raises(RangeError, match="a made-up service"):
        table_depth_m(flat, duration_s=3600.0, return_years=10.0, kind="ARI")
