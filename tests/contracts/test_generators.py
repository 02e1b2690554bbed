"""One contract for everything that invents rain."""

from __future__ import annotations

import json
import pickle
import time
from collections.abc import Callable
from dataclasses import FrozenInstanceError, replace
from functools import cache, partial

import numpy as np
import pytest

from rain.files import DATA
from roofspring.errors import Finding, RangeError, RecordError, codes
from roofspring.rain import Kept, RainRecord, read
from roofspring.rain.futures import (
    MODELS,
    ChangeFactor,
    FittedModel,
    MarkovModel,
    MonthlyNormals,
    MovingBlocks,
    NearestDays,
    WholeYears,
    ensemble,
    member,
    model_named,
)
from roofspring.sources import bibliography

LEAP = np.datetime64("2003-11-15")


@cache
def brussels() -> RainRecord:
    return read(DATA / "brussels_daily_1976_2005.csv")


@cache
def seattle() -> RainRecord:
    return read(DATA / "seattle_daily_2012_2015.csv")


def one_year(*, start: str = "2019-06-17", days: int = 365) -> RainRecord:
    """A short record without temperatures that starts in the middle of a month."""
    rng = np.random.default_rng(8)
    depth = np.where(rng.random(days) < 0.3, rng.exponential(0.006, days), 0.0)
    return RainRecord(
        start=np.datetime64(start),
        step_s=86_400.0,
        depth_m=depth,
        kept=np.zeros(days, dtype=np.uint8),
        name="porch gauge",
        source="porch.csv",
    )


def by_hour() -> RainRecord:
    """Two years of hours."""
    daily = one_year(start="2019-01-01", days=731)
    share = np.zeros(24)
    share[[3, 4, 15]] = 0.25, 0.25, 0.5
    depth = np.outer(daily.depth_m, share).ravel()
    return replace(daily, step_s=3600.0, depth_m=depth, kept=np.zeros(len(depth), dtype=np.uint8))


CHANGE = ChangeFactor.by_season(rain=(1.1, 1.0, 0.7, 0.9), wet_days=(1.1, 0.9, 0.8, 1.0))


def fit_named(name: str, record: RainRecord) -> FittedModel:
    return model_named(name).fit(record)


FITTED: dict[str, Callable[[RainRecord], FittedModel]] = {
    **{name: partial(fit_named, name) for name in MODELS},
    "markov as the chain": lambda r: MarkovModel(years_differ="as-the-chain", harmonics=2).fit(r),
    "pairs of years": lambda r: WholeYears(block_years=2).fit(r),
    "changed": lambda r: CHANGE.model(MovingBlocks().fit(r)),
    "normals": lambda r: MonthlyNormals.of_record(r).model(),
}


SOURCES: dict[str, Callable[[], RainRecord]] = {
    "brussels": brussels,
    "seattle": seattle,
    "one year": one_year,
    "by hour": by_hour,
}


@cache
def fitted(name: str, record: str) -> FittedModel:
    return FITTED[name](SOURCES[record]())


RECORDS = tuple(SOURCES)


@pytest.mark.parametrize("record", RECORDS)
@pytest.mark.parametrize("name", FITTED)
def test_contract(name: str, record: str) -> None:
    model = fitted(name, record)
    made = model.simulate(years=9, seed=3, start=LEAP)
    # Whole years from the first day, leap days and all: 2004, 2008 and 2012 have one.
    assert made.start == LEAP and made.step_s == 86_400.0
    assert made.days_count == 9 * 365 + 3 == len(made.depth_m) == len(made.kept)
    assert str(made.days[-1]) == "2012-11-14"
    assert np.isfinite(made.depth_m).all() and (made.depth_m >= 0.0).all() and made.depth_m.any()
    assert made.depth_m.dtype == np.float64
    # Marked as invented, with words that name the model, what it was learned from, and the seed.
    assert (made.kept == Kept.INVENTED).all()
    assert "invented" in made.name and "seed 3" in made.source and model.title in made.source
    assert "REC-150" in {f.code for f in made.findings}
    # The same seed gives the same record, another seed another; but a record with one whole year
    # from this day has only that one to give.
    assert made.hash == model.simulate(years=9, seed=3, start=LEAP).hash
    one = name in ("whole-years", "pairs of years") and record in ("one year", "by hour")
    assert (made.hash == model.simulate(years=9, seed=4, start=LEAP).hash) is one
    # Temperatures come along where there are any, and only then.
    if record in ("brussels", "seattle"):
        assert made.tmin_degc is not None and made.tmax_degc is not None
        assert len(made.tmin_degc) == len(made.tmax_degc) == made.days_count
        assert (made.tmin_degc <= made.tmax_degc).all()
        assert made.tmin_degc.min() > -50.0 and made.tmax_degc.max() < 60.0
        month = made.days.astype("datetime64[M]").astype(int) % 12
        assert made.tmax_degc[month == 6].mean() > made.tmax_degc[month == 0].mean() + 8.0
    else:
        assert made.tmin_degc is None and made.tmax_degc is None


@pytest.mark.parametrize("record", RECORDS)
@pytest.mark.parametrize("name", FITTED)
def test_it_can_be_told_and_kept(name: str, record: str) -> None:
    model = fitted(name, record)
    plain = json.loads(json.dumps(model.to_dict(), allow_nan=False))
    assert plain["model"] and plain["findings"] is not None
    assert len(model.summary()) > 20 and model.title
    for finding in model.simulate(years=1, seed=0).findings:
        assert finding.code in codes()
        key = finding.source.partition(",")[0]
        assert key in bibliography() or key == "engineering choice"
        assert finding.what and finding.next
    # A fitted model goes to another process and comes back the same.
    again = pickle.loads(pickle.dumps(model))
    assert again.simulate(years=2, seed=7).hash == model.simulate(years=2, seed=7).hash


@pytest.mark.parametrize("name", FITTED)
def test_fitting_twice_is_fitting_once(name: str) -> None:
    first, second = FITTED[name](seattle()), FITTED[name](seattle())
    assert first.to_dict() == second.to_dict()
    assert first.simulate(years=1, seed=1).hash == second.simulate(years=1, seed=1).hash


@pytest.mark.parametrize("name", FITTED)
@pytest.mark.parametrize("start", ["2004-02-29", "2001-12-31", "1999-03-01"])
def test_any_first_day(name: str, start: str) -> None:
    made = fitted(name, "seattle").simulate(years=3, seed=1, start=np.datetime64(start))
    assert str(made.start) == start
    assert str(made.days[-1] + 1)[:4] == str(int(start[:4]) + 3)


@pytest.mark.parametrize("name", FITTED)
def test_members_do_not_depend_on_each_other(name: str) -> None:
    model = fitted(name, "seattle")
    few = [r.hash for r in ensemble(model, members=3, years=12, seed=11)]
    many = [r.hash for r in ensemble(model, members=5, years=12, seed=11)]
    backwards = [member(model, i, years=12, seed=11).hash for i in (4, 3, 2, 1, 0)]
    assert many[:3] == few and backwards[::-1] == many
    assert len(set(many)) == 5
    assert "seed 11, member 2" in member(model, 2, years=1, seed=11).source


def test_an_ensemble_is_made_one_at_a_time() -> None:
    model = fitted("nearest-days", "seattle")
    start = time.perf_counter()
    stream = ensemble(model, members=100_000, years=30, seed=0)
    assert next(stream).days_count == next(stream).days_count
    # 100,000 futures of 30 years would take a quarter of an hour and 20 GB.
    assert time.perf_counter() - start < 5.0


@pytest.mark.parametrize("name", MODELS)
def test_what_cannot_be_fitted_to(name: str) -> None:
    model = model_named(name)
    year = one_year()
    with pytest.raises(RecordError, match="REC-060"):
        model.fit(one_year(days=364))
    holed = year.depth_m.copy()
    holed[100] = np.nan
    with pytest.raises(RecordError, match="REC-061") as caught:
        model.fit(replace(year, depth_m=holed))
    assert caught.value.problems[0].where == str(year.days[100])
    with pytest.raises(RecordError, match="REC-062"):
        model.fit(replace(year, depth_m=np.zeros(365)))


@pytest.mark.parametrize("name", FITTED)
def test_what_cannot_be_asked(name: str) -> None:
    model = fitted(name, "seattle")
    for years in (0, 10_001):
        with pytest.raises(RangeError, match="REC-023"):
            model.simulate(years=years, seed=1)
    with pytest.raises(RangeError, match="REC-064"):
        model.simulate(years=1, seed=-1)
    for number, seed in ((-1, 1), (100_000, 1), (0, -1)):
        with pytest.raises(RangeError, match="REC-064"):
            member(model, number, years=1, seed=seed)
    for members, seed in ((0, 1), (100_001, 1), (1, -1)):
        with pytest.raises(RangeError, match="REC-064"):
            ensemble(model, members=members, years=1, seed=seed)


def test_unknown_models() -> None:
    with pytest.raises(RangeError, match="REC-019"):
        model_named("guess")


@pytest.mark.parametrize(
    "make",
    [
        lambda: MarkovModel(order=3),  # type: ignore[arg-type]  # wrong on purpose
        lambda: MarkovModel(harmonics=6),
        lambda: MarkovModel(wet_day_m=0.3),
        lambda: WholeYears(block_years=0),
        lambda: MovingBlocks(block_days=1),
        lambda: MovingBlocks(window_days=46),
        lambda: NearestDays(neighbours=0),
        lambda: NearestDays(memory_days=0.5),
        lambda: NearestDays(window_days=0),
    ],
)
def test_settings_outside_their_limits(make: Callable[[], object]) -> None:
    with pytest.raises(RangeError, match="REC-063"):
        make()


@pytest.mark.parametrize("name", MODELS)
def test_settings_are_only_settings(name: str) -> None:
    model = model_named(name)
    assert model.name == name and model == model_named(name)
    with pytest.raises(FrozenInstanceError):
        model.wet_day_m = 0.1  # type: ignore[attr-defined]  # must fail


def test_a_bad_record_is_not_forgotten() -> None:
    """A record with whole years of zeros carries a stop; so does what is made from it."""
    stop = Finding("REC-103", "stop", "two whole years without rain", source="engineering choice")
    note = Finding("REC-106", "note", "traces", source="engineering choice")
    record = one_year().with_findings(stop, note)
    for name in MODELS:
        made = model_named(name).fit(record).simulate(years=1, seed=1)
        assert stop in made.findings and note not in made.findings
