"""Models held against real records."""

from __future__ import annotations

import json
import time
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from rain.futures.records import record
from roofspring.errors import RangeError, RecordError
from roofspring.rain import RainRecord
from roofspring.rain.futures import (
    MODELS,
    AcceptanceTable,
    FittedModel,
    MarkovModel,
    acceptance,
    ensemble,
    model_named,
)
from roofspring.rain.futures.statistics import STATISTICS

LONG = ("brussels", "cordoba", "iowa")


@cache
def fitted(model: str, name: str) -> FittedModel:
    return model_named(model).fit(record(name))


@cache
def table(model: str, name: str) -> AcceptanceTable:
    return acceptance(record(name), fitted(model, name), seed=1)


@cache
def as_the_chain(name: str) -> AcceptanceTable:
    return acceptance(
        record(name), MarkovModel(years_differ="as-the-chain").fit(record(name)), seed=1
    )


@pytest.mark.parametrize("name", LONG)
@pytest.mark.parametrize("model", MODELS)
def test_most_of_a_record_lies_in_the_band(model: str, name: str) -> None:
    # A band of 90 % leaves about one in ten outside by chance; 85 % is what is asked of a model.
    found = table(model, name)
    assert found.members == 200 and len(found.rows) == 106
    assert found.inside_count >= 0.85 * len(found.rows), found.summary()
    assert found.row("annual mean").inside


@pytest.mark.parametrize("name", [*LONG, "seattle"])
@pytest.mark.parametrize("model", [m for m in MODELS if m.startswith("markov")])
def test_years_differ_enough_with_the_correction(model: str, name: str) -> None:
    found = table(model, name)
    assert found.row("annual spread").inside
    assert found.row("driest 12 months").observed >= 0.9 * found.row("driest 12 months").p05
    # Months too: with the correction no more of their spreads are too small than chance leaves.
    if name != "seattle":
        low = [r for r in found.failed if r.statistic == "monthly spread" and r.observed > r.p95]
        assert len(low) <= 2


def test_years_differ_too_little_without_it() -> None:
    """The known fault of daily chains (KATZ_PARLANGE_1998), in two of three long records."""
    iowa = as_the_chain("iowa").row("annual spread")
    assert not iowa.inside and iowa.observed > iowa.p95
    for name in ("brussels", "iowa"):
        plain, mended = as_the_chain(name), table("markov-1-gamma", name)
        assert plain.row("annual spread").p50 < 0.85 * plain.row("annual spread").observed
        assert mended.row("annual spread").p50 == pytest.approx(
            mended.row("annual spread").observed, rel=0.08
        )
        # And the dry years that a cistern is built for are too mild without it.
        assert plain.row("driest 12 months").p50 > 1.05 * mended.row("driest 12 months").p50
    # Cordoba's years differ no more than a chain's, and nothing is added there.
    cordoba = fitted("markov-1-gamma", "cordoba").to_dict()["years"]
    assert cordoba["overdispersion"] < 1.0 and cordoba["years_frac"] == 0.0


def test_a_short_record_cannot_say_how_years_differ() -> None:
    model = fitted("markov-1-gamma", "seattle")
    assert {"REC-151", "REC-154"} <= {f.code for f in model.findings}
    assert "too little" in model.summary()
    band = table("markov-1-gamma", "seattle").row("annual spread")
    # Four years: the band is so wide that passing says little.
    assert band.p95 > 3.0 * band.p05


def test_what_resampling_cannot_do() -> None:
    for model in ("whole-years", "moving-blocks", "nearest-days"):
        top = table(model, "iowa").row("greatest day")
        assert top.p95 == top.observed
        assert "REC-155" in {f.code for f in fitted(model, "iowa").findings}
    # Blocks forget what kind of year it is.
    assert not table("moving-blocks", "iowa").row("annual spread").inside
    # Likeness draws some days more than others; where that moves the mean it is said.
    drift = fitted("nearest-days", "brussels").to_dict()["mean_drift_frac"]
    assert drift < -0.02
    assert "REC-160" in {f.code for f in fitted("nearest-days", "brussels").findings}


def test_an_unfit_model_is_said_to_be_unfit() -> None:
    """Rain of Cordoba held against Brussels fails, on the right things, in plain words."""
    found = acceptance(record("brussels"), fitted("markov-1-gamma", "cordoba"), seed=1)
    assert found.inside_count < 0.5 * len(found.rows)
    assert found.fails_on.startswith("Fails on monthly mean in ")
    assert "longest dry spell (too high in the model)" in found.fails_on
    assert not found.row("share of wet days", month="July").inside
    (finding,) = found.findings
    assert finding.code == "REC-158" and finding.severity == "caution"
    spell = found.row("longest dry spell")
    assert not spell.inside and spell.words.endswith(": below")


def test_a_record_among_its_equals_passes_nine_times_in_ten() -> None:
    """Members of an ensemble held against the others: the share inside is that of the band."""
    model = fitted("markov-2-gamma", "brussels")
    made = list(ensemble(model, members=230, years=10, seed=5, start=np.datetime64("2001-01-01")))
    shares = [acceptance(one, made[30:], members=200).inside_count / 106.0 for one in made[:30]]
    # 30 tables of 106 rows that are not independent: spread of one share about 0.03.
    assert np.mean(shares) == pytest.approx(0.90, abs=0.025)


def test_the_table_can_be_told() -> None:
    found = table("markov-2-mixed", "brussels")
    plain = json.loads(json.dumps(found.to_dict(), allow_nan=False))
    assert len(plain["rows"]) == 106 and plain["years"] == 30
    assert all(row["words"] for row in plain["rows"])
    names = {row["statistic"] for row in plain["rows"]}
    assert names == {s.name for s in STATISTICS}
    text = found.summary()
    assert "of 106 statistics lie inside the 90 % band" in text and found.fails_on in text
    assert "about 11 outside" in text
    with pytest.raises(KeyError):
        found.row("wisdom")
    for row in found.rows:
        assert row.p05 <= row.p50 <= row.p95
        assert row.inside == (row not in found.failed)


def test_the_same_seed_gives_the_same_table() -> None:
    model, gauge = fitted("markov-1-gamma", "seattle"), record("seattle")
    first = acceptance(gauge, model, members=30, seed=4)
    assert first == acceptance(gauge, model, members=30, seed=4)
    assert first != acceptance(gauge, model, members=30, seed=5)
    given = acceptance(
        gauge, ensemble(model, members=30, years=4, seed=4, start=gauge.start), wet_day_m=0.00025
    )
    assert given.rows == first.rows


def test_months_without_rain_are_left_out() -> None:
    gauge = record("cordoba")
    month = gauge.days.astype("datetime64[M]").astype(int) % 12
    rainless = replace(gauge, depth_m=np.where(month == 6, 0.0, gauge.depth_m))
    model = MarkovModel().fit(rainless)
    assert any(f.code == "REC-152" and "July" in f.where for f in model.findings)
    found = acceptance(rainless, model, members=40, seed=1)
    names = {(r.statistic, r.month) for r in found.rows}
    assert ("mean of wet days", "July") not in names and ("mean of wet days", "June") in names
    assert ("monthly mean", "July") in names


def test_what_cannot_be_compared() -> None:
    gauge, model = record("seattle"), fitted("markov-1-gamma", "seattle")
    with pytest.raises(RecordError, match="REC-066"):
        acceptance(gauge, model, years=5)
    with pytest.raises(RecordError, match="REC-066"):
        acceptance(gauge, model, years=2)
    with pytest.raises(RecordError, match="REC-066"):
        acceptance(gauge, model, members=5)
    with pytest.raises(RangeError, match="REC-064"):
        acceptance(gauge, model, members=0)
    with pytest.raises(RecordError, match="REC-066"):
        acceptance(gauge, [])
    other = ensemble(model, members=20, years=4, seed=1, start=np.datetime64("2013-01-01"))
    with pytest.raises(RecordError, match="REC-066"):
        acceptance(gauge, other)
    short = ensemble(model, members=20, years=3, seed=1, start=gauge.start)
    with pytest.raises(RecordError, match="REC-066"):
        acceptance(gauge, short)
    holed = gauge.depth_m.copy()
    holed[7] = np.nan
    with pytest.raises(RecordError, match="REC-061"):
        acceptance(replace(gauge, depth_m=holed), model)


@pytest.mark.parametrize("model", MODELS)
def test_a_thousand_years_take_well_under_a_second(model: str) -> None:
    made = fitted(model, "brussels")
    made.simulate(years=1, seed=1)

    def once() -> float:
        start = time.perf_counter()
        made.simulate(years=1000, seed=1)
        return time.perf_counter() - start

    # 0.03 to 0.4 s measured; the best of three, as others use the machine too.
    assert min(once() for _ in range(3)) < 1.0


def test_rain_goes_with_cooler_summer_days() -> None:
    """Temperatures made with the chain know of rain, as those of the record do."""

    def gap(rain: RainRecord) -> float:
        assert rain.tmax_degc is not None
        july = rain.days.astype("datetime64[M]").astype(int) % 12 == 6
        wet = rain.depth_m >= 0.00025
        return float(rain.tmax_degc[july & ~wet].mean() - rain.tmax_degc[july & wet].mean())

    for name in LONG:
        made = fitted("markov-1-gamma", name).simulate(years=300, seed=2)
        # Error of the record's own gap: about 5 degrees / sqrt(150 independent days) = 0.4.
        assert gap(made) == pytest.approx(gap(record(name)), abs=1.2)
        source = record(name)
        assert source.tmin_degc is not None and made.tmin_degc is not None
        # The coldest hundredth of Iowa's nights is 2 degrees C colder than the model's: the normal
        # law of departures does not know that cold spells are colder than warm ones are warm.
        for share in (0.05, 0.5, 0.95):
            assert np.quantile(made.tmin_degc, share) == pytest.approx(
                np.quantile(source.tmin_degc, share), abs=1.5
            )
