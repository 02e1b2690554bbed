"""Rain from monthly normals alone, tried on places whose record is known."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from rain.futures.records import record
from roofspring.errors import RangeError, RecordError
from roofspring.rain import generate
from roofspring.rain.futures import Doubt, MonthlyNormals, acceptance, ensemble

NO_DOUBT = Doubt(rain_frac=0.0, wet_days_frac=0.0, spells_frac=0.0, shape_frac=0.0, years_frac=0.0)

TABLE = MonthlyNormals(
    rain_m=(0.090, 0.075, 0.080, 0.060, 0.055, 0.040, 0.0, 0.015, 0.045, 0.080, 0.095, 0.100),
    wet_days=(13, 11, 12, 10, 9, 6, 0, 3, 7, 11, 13, 14),
    tmean_degc=(-2.0, -0.5, 3.0, 7.0, 11.5, 15.0, 18.0, 17.5, 13.5, 8.0, 2.5, -1.0),
    place="Alder Bench",
)


def test_published_rules() -> None:
    # GENG_1986, from memory: p01 = 0.75 f, p11 = 0.25 + p01, scale -2.16 + 1.83 m in mm.
    climate = TABLE.climate()
    share = 12.0 / 31.0
    mean_mm = 80.0 / 12.0
    assert climate.p01_frac[2] == pytest.approx(0.75 * share, rel=1e-12)
    assert climate.p11_frac[2] == pytest.approx(0.25 + 0.75 * share, rel=1e-12)
    assert climate.wet_frac[2] == pytest.approx(share, rel=1e-12)
    assert climate.wet_day_m[2] * 1e3 == pytest.approx(mean_mm, rel=1e-12)
    assert climate.gamma_shape[2] == pytest.approx(mean_mm / (1.83 * mean_mm - 2.16), rel=1e-12)
    # A month that never rains never does.
    assert climate.p01_frac[6] == climate.p11_frac[6] == 0.0
    record = generate(years=20, seed=1, months=climate, start=np.datetime64("2001-01-01"))
    july = record.days.astype("datetime64[M]").astype(int) % 12 == 6
    assert not record.depth_m[july].any() and record.depth_m.any()


def test_without_doubt_the_normals_come_back() -> None:
    made = TABLE.model(doubt=NO_DOUBT).simulate(years=2000, seed=1)
    month = made.days.astype("datetime64[M]").astype(int) % 12
    rain = np.bincount(month, made.depth_m, 12) / 2000.0
    wet = np.bincount(month, made.depth_m >= 0.001, 12) / 2000.0
    # A month's rain varies by half of itself from year to year: error of the mean 1.2 %; the month
    # before still speaks in its first days, most where the next is dry.
    assert rain == pytest.approx(np.array(TABLE.rain_m), rel=0.06, abs=0.0003)
    assert wet == pytest.approx(np.array(TABLE.wet_days), rel=0.05, abs=0.05)
    # Wet days stay wet days: none has less than the table counts.
    assert made.depth_m[made.depth_m > 0.0].min() >= 0.001
    assert made.tmin_degc is not None and made.tmax_degc is not None
    mid = (made.tmin_degc + made.tmax_degc)[month == 0] / 2.0
    assert mid.mean() == pytest.approx(-2.0, abs=0.15)


def test_each_future_has_its_own_climate() -> None:
    doubt, sure = (
        np.array([r.mean_m_per_year for r in ensemble(model, members=150, years=30, seed=2)])
        for model in (TABLE.model(), TABLE.model(doubt=NO_DOUBT))
    )
    given = sum(TABLE.rain_m)
    assert sure.mean() == pytest.approx(given, rel=0.02)
    assert doubt.mean() == pytest.approx(given, rel=0.03)
    # Ten per cent for the mean of all futures, with what 30 years differ by in any case on top:
    # each of 150 years' means is within sqrt(0.1**2 + 0.12**2 / 30 + sure**2).
    spread = np.sqrt(0.10**2 + 0.12**2 / 30.0 + (sure.std() / given) ** 2)
    assert doubt.std() / doubt.mean() == pytest.approx(spread, rel=0.2)
    assert doubt.std() > 2.0 * sure.std()


@pytest.mark.parametrize("name", ["brussels", "cordoba", "iowa"])
def test_what_a_cistern_asks_lies_in_the_wider_band(name: str) -> None:
    """Normals of three places whose record is known: droughts and wet years of it are covered."""
    gauge = record(name)
    table = acceptance(gauge, MonthlyNormals.of_record(gauge).model(), seed=3)
    for statistic in (
        "annual mean", "annual spread", "longest dry spell of a year, mean", "driest 3 months",
        "driest 12 months", "greatest day of a year, mean",
    ):  # fmt: skip
        assert table.row(statistic).inside, table.row(statistic).words


def test_what_normals_cannot_know() -> None:
    """Seattle's summer drought is longer than a general rule makes it: the table says so."""
    gauge = record("seattle")
    table = acceptance(gauge, MonthlyNormals.of_record(gauge).model(), seed=3)
    assert "longest dry spell (too low in the model)" in table.fails_on


def test_it_says_that_only_normals_were_given() -> None:
    made = TABLE.model().simulate(years=2, seed=1)
    (finding,) = (f for f in made.findings if f.code == "REC-157")
    assert finding.severity == "caution" and finding.where == "Alder Bench"
    assert "no record" in finding.what and "10%" in finding.got and "12%" in finding.got
    assert "normals of Alder Bench" in made.source
    assert "674 mm" not in TABLE.model().summary() and "735 mm" in TABLE.model().summary()


def test_normals_of_a_record_are_its_means() -> None:
    gauge = record("brussels")
    normals = MonthlyNormals.of_record(gauge)
    month = gauge.days.astype("datetime64[M]").astype(int) % 12
    assert normals.rain_m[0] == pytest.approx(gauge.depth_m[month == 0].sum() / 30.0, rel=1e-9)
    assert normals.wet_days[0] == pytest.approx(
        (gauge.depth_m[month == 0] >= 0.001).sum() / 30.0, rel=1e-9
    )
    assert gauge.tmin_degc is not None and normals.trange_degc is not None
    with pytest.raises(RecordError, match="REC-060"):
        MonthlyNormals.of_record(replace(gauge, depth_m=gauge.depth_m[:100], kept=gauge.kept[:100]))


def test_a_dry_tropic_and_a_wet_coast() -> None:
    desert = MonthlyNormals(rain_m=(0.0002,) * 12, wet_days=(0.1,) * 12)
    coast = MonthlyNormals(
        rain_m=(0.9,) * 12, wet_days=(31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
    )
    light = MonthlyNormals(rain_m=(0.004,) * 12, wet_days=(20,) * 12)
    for normals in (desert, coast, light):
        made = normals.model(doubt=NO_DOUBT).simulate(years=500, seed=1)
        assert made.mean_m_per_year == pytest.approx(sum(normals.rain_m), rel=0.12)
        assert made.tmin_degc is None
        many = normals.model(doubt=Doubt(0.5, 0.5, 0.5, 0.5, 0.5))
        for rain in ensemble(many, members=20, years=1, seed=1):
            assert np.isfinite(rain.depth_m).all()


@pytest.mark.parametrize(
    "changes",
    [{"rain_m": (0.05,) * 11}, {"rain_m": (5.0,) * 12}, {"wet_days": (32.0,) * 12},
     {"wet_days": (0.0,) * 12}, {"tmean_degc": (200.0,) * 12}, {"wet_days": (30.0,) * 12},
     {"rain_m": (float("nan"),) * 12}],
)  # fmt: skip
def test_normals_outside_their_limits(changes: dict[str, object]) -> None:
    with pytest.raises(RangeError, match="REC-067"):
        replace(TABLE, **changes)  # type: ignore[arg-type]  # wrong on purpose


def test_doubt_outside_its_limits() -> None:
    with pytest.raises(RangeError, match="REC-063"):
        Doubt(rain_frac=0.9)
