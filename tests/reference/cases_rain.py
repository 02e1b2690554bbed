"""Rain: reading, gaps, made rain, within the day, extremes and design storms."""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from pathlib import Path

import numpy as np

from cases import Case
from rain import test_reader_epw as epw
from rain import test_reader_usgs as usgs
from rain.cloudburst.uccle import DAY_MM
from rain.files import codes, dly_line, put
from roofspring.errors import RecordError
from roofspring.rain import Kept, RainRecord, load
from roofspring.rain.cloudburst import (
    AlternatingBlock,
    Huff,
    PlusPowerCurve,
    TypeTwoStorm,
    aep_of_ari,
    clock_to_true,
    fit_gev,
    fit_gumbel,
    l_moments,
    short_ratio,
)
from roofspring.rain.futures.amounts import gamma_by_thom, mixed_moments
from roofspring.rain.futures.chain import long_run_wet_frac, rain_moments, wet_days_variance
from roofspring.rain.gaps import normal_ratio_m
from roofspring.rain.readers import read_epw_temperature
from roofspring.rain.within_day import DEFAULT_CASCADE, PulseParameters, pulse_moments

INCH_M = 0.0254
ELEVEN = np.array([2, 3, 4, 2.4, 5.5, 1.2, 5.4, 2.2, 7.1, 1.3, 1.5])
CHICAGO_IN = np.array([
    0.49, 0.66, 0.36, 0.58, 0.41, 0.47, 0.74, 0.53, 0.76, 0.57, 0.80, 0.66, 0.68, 0.68, 0.61, 0.88,
    0.49, 0.33, 0.96, 0.94, 0.80, 0.62, 0.71, 1.11, 0.64, 0.52, 0.64, 0.34, 0.70, 0.57, 0.92, 0.66,
    0.65, 0.63, 0.60,
])  # fmt: skip
TEN_MM = np.array([1.2, 0.5, 7.4, 3.3, 12.8, 0.3, 5.1, 22.0, 2.4, 0.8])
DENVER = PlusPowerCurve(96.6, 13.90, 0.97, rate_m_per_s=INCH_M / 3600.0)
PULSES = PulseParameters(gap_s=50 * 3600.0, length_s=4 * 3600.0, strength_m_per_s=1e-3 / 3600.0)


def _march_1910() -> RainRecord:
    """A line of the publisher's file for USW00093986, March 1910."""
    dry = "    0  6"
    line = dly_line(
        [dry] * 15 + ["  127  6", dry, "    0T 6", "   13  6"] + [dry] * 10 + ["    0T 6", dry]
    )
    with tempfile.TemporaryDirectory() as folder:
        return load(put(Path(folder), line + "\n", name="a.dly"))


def _rdb() -> RainRecord:
    """Rows of a published answer for site 395740074482628, 28 October 2012."""
    with tempfile.TemporaryDirectory() as folder:
        return load(put(Path(folder), usgs.NAMES + usgs.FORMATS + usgs.ROWS))


def _epw_fields() -> float:
    """How many fields a row must have, as the refusal of a shorter one says."""
    with tempfile.TemporaryDirectory() as folder:
        path = put(Path(folder), epw.HEAD + "1986,1,1,1,60,?9,4.0\n", name="a.epw")
        try:
            read_epw_temperature(path)
        except RecordError as refusal:
            (problem,) = refusal.problems
            assert codes([problem]) == [("REC-008", 9)]
            return float(problem.allowed.partition(",")[0])
    raise AssertionError("a short row was taken")


def _month() -> tuple[float, float]:
    """Mean and standard deviation of a month's rain [m]."""
    return rain_moments(
        p01_frac=0.2, p11_frac=0.5, days=30, wet_mean_m=0.0075, wet_var_m2=0.75 * 0.010**2
    )


def _made(id_: str, quantity: str, got: Callable[[], float], printed: str, unit: str) -> Case:
    where = {
        "G1": ("WILKS_2011", "chain of order 1, 0.2 and 0.5, 30 days"),
        "G2": ("WILKS_2011", "the same chain, gamma law of shape 0.75 and scale 10 mm"),
        "G3": ("THOM_1958", "1.2 0.5 7.4 3.3 12.8 0.3 5.1 22.0 2.4 0.8 mm"),
        "G4": ("WILKS_2011", "weight 0.35, means 12 and 3 mm"),
    }[id_]
    note = "Most likely values are 0.7663 and 7.282" if id_ == "G3" else ""
    return Case(
        id_, quantity, got, printed, unit, where[0],
        f"formula from memory; {where[1]}; the number is arithmetic", "computed", note=note,
    )  # fmt: skip


def _library(id_: str, quantity: str, got: Callable[[], float], printed: str) -> Case:
    return Case(
        id_, f"{quantity} of eleven values", got, printed, "", "LMOMENTS3_TESTS",
        "printed test value", "confirmed", within=1e-6 if id_ == "I2" else None,
        note="The library stops its search for the shape at 1e-6" if id_ == "I2" else "",
    )  # fmt: skip


def _pulses(quantity: str, got: Callable[[], float], printed: str, unit: str) -> Case:
    return Case(
        "G5", f"Poisson pulses, {quantity} of a day", got, printed, unit, "RODRIGUEZ_ITURBE_1987",
        "closed form from memory; gap 50 h, length 4 h, 1 mm/h; the number is arithmetic",
        "computed",
    )  # fmt: skip


def _worst_sum() -> float:
    p = DEFAULT_CASCADE
    whole = p.second_frac + p.first_frac + p.both_frac
    return float(whole.ravel()[np.abs(whole.ravel() - 1.0).argmax()])


def _chicago_year(years: float, printed: str) -> Case:
    return Case(
        "I5", f"10-minute rain of {years:g} years, Chicago, Gumbel law by moments",
        lambda: fit_gumbel(CHICAGO_IN, method="moments").depth_m(years, kind="AEP"),
        printed, "in", "CHOW_MAIDMENT_MAYS_1988", "example 12.2.1; the 35 maxima were remembered",
        "memory",
    )  # fmt: skip


def _block(place: int, printed: str) -> Case:
    def got() -> float:
        total = float(DENVER.depth_m(np.array([7200.0]))[0])
        return float(
            AlternatingBlock(DENVER).depths_m(total, duration_s=7200.0, step_s=600.0)[place]
            / INCH_M
        )

    return Case(
        "I6", f"alternating block, Denver, 10 years, block {place + 1} of 12", got, printed, "in",
        "CHOW_MAIDMENT_MAYS_1988", "example 14.4.1; coefficients remembered", "memory",
    )  # fmt: skip


def _type_two(hours: float, printed: str) -> Case:
    def got() -> float:
        storm = TypeTwoStorm().depths_m(1.0, duration_s=86_400.0, step_s=1800.0)
        return float(storm[: round(2 * hours)].sum())

    return Case(
        "I8", f"share of a Type II day by {hours:g} h", got, printed, "", "HAAN_1994",
        "closed form read; the number is arithmetic", "computed",
    )  # fmt: skip


def _huff(quartile: int, printed: str) -> Case:
    return Case(
        "I10", f"Huff's median storm, quartile {quartile}, fallen by half its time",
        lambda: 100.0 * float(Huff(quartile).depths_m(1.0, duration_s=2.0, step_s=1.0)[0]),
        printed, "%", "HUFF_1990", "medians at a point, recalled and found alike in two quotations",
        "quoted",
    )  # fmt: skip


CASES = [
    Case(
        "R1", "rain of March 1910 at USW00093986", lambda: _march_1910().depth_m.sum() * 1e3,
        "14.0", "mm", "MENNE_2012", "a line of the publisher's own file", "confirmed",
    ),
    Case(
        "R1", "rain of 16 March 1910 at USW00093986", lambda: _march_1910().depth_m[15] * 1e3,
        "12.7", "mm", "MENNE_2012", "a line of the publisher's own file", "confirmed",
    ),
    Case(
        "R4", "first measured rain in a published RDB answer, hour of the day",
        lambda: float(np.flatnonzero(_rdb().kept == Kept.MEASURED)[0]) / 4.0, "13.25", "h",
        "USGS_RDB_DOC", "rows of an answer for site 395740074482628", "quoted",
        note="The row before it, 13:00, is empty. The publisher's own sample of the form holds no "
        "precipitation and is refused",
    ),
    Case(
        "R4", "measured values in the same answer",
        lambda: float((_rdb().kept == Kept.MEASURED).sum()), "3", "", "USGS_RDB_DOC",
        "rows of an answer for site 395740074482628", "quoted",
    ),
    Case(
        "R5", "fields in a row of EPW", _epw_fields, "35", "", "CRAWLEY_1999",
        "order of the fields", "quoted",
        note="Rain, field 34, is refused whatever it holds: 999 where missing, mostly 0",
    ),
    Case(
        "R6", "normal ratio, rain at D from A, B and C",
        lambda: 100.0 * normal_ratio_m(
            [0.9111, 0.7223, 0.7989], normals_m=[0.8097, 0.6759, 0.7628], normal_m=0.9201
        ),
        "99.41", "cm", "SUBRAMANYA_EH", "worked example, inputs and answer remembered", "memory",
    ),
    _made(
        "G1", "share of wet days", lambda: float(long_run_wet_frac(np.array([0.2, 0.5]))),
        "0.285714", "",
    ),
    _made(
        "G1", "variance of the number of wet days",
        lambda: wet_days_variance(p01_frac=0.2, p11_frac=0.5, days=30), "11.1204", "",
    ),
    _made("G2", "mean rain of a month", lambda: _month()[0] * 1e3, "64.286", "mm"),
    _made("G2", "spread of a month's rain", lambda: _month()[1] * 1e3, "35.614", "mm"),
    _made("G3", "gamma law by Thom, shape", lambda: gamma_by_thom(TEN_MM)[0], "0.7792", ""),
    _made("G3", "gamma law by Thom, scale", lambda: gamma_by_thom(TEN_MM)[1], "7.161", "mm"),
    _made(
        "G4", "mixed exponential, mean",
        lambda: mixed_moments(weight_frac=0.35, heavy_m=12.0, light_m=3.0)[0], "6.15", "mm",
    ),
    _made(
        "G4", "mixed exponential, variance",
        lambda: mixed_moments(weight_frac=0.35, heavy_m=12.0, light_m=3.0)[1], "74.6775", "mm²",
    ),
    _pulses("mean rain", lambda: pulse_moments(PULSES, step_s=86_400.0).mean_m * 1e3, "1.92", "mm"),
    _pulses(
        "variance",
        lambda: pulse_moments(PULSES, step_s=86_400.0).variance_m2 * 1e6,
        "25.6127",
        "mm²",
    ),
    _pulses("dry share", lambda: pulse_moments(PULSES, step_s=86_400.0).dry_frac, "0.57121", ""),
    Case(
        "G6", "default cascade, the sum of chances farthest from 1", _worst_sum, "1", "",
        "OLSSON_1998", "a sample set printed by a public general library; must add up to 1",
        "confirmed", within=0.002 * (1 + 1e-9), note="Printed to three digits",
    ),
    _library("I1", "l1", lambda: l_moments(ELEVEN).l1_m, "3.23636364"),
    _library("I1", "l2", lambda: l_moments(ELEVEN).l2_m, "1.14181818"),
    _library("I1", "t3", lambda: l_moments(ELEVEN).t3, "0.27388535"),
    _library("I1", "t4", lambda: l_moments(ELEVEN).t4, "0.02335456"),
    _library("I1", "t5", lambda: l_moments(ELEVEN).t5, "-0.04246285"),
    _library("I2", "GEV location", lambda: fit_gev(ELEVEN).location_m, "2.1792884"),
    _library("I2", "GEV scale", lambda: fit_gev(ELEVEN).scale_m, "1.3956404"),
    _library("I2", "GEV shape", lambda: fit_gev(ELEVEN).shape, "-0.1555609"),
    _library("I3", "GEV 0.2-quantile", lambda: fit_gev(ELEVEN).quantile_m(0.2), "1.539112"),
    _library("I3", "GEV median", lambda: fit_gev(ELEVEN).quantile_m(0.5), "2.705672"),
    _library("I3", "GEV 0.8-quantile", lambda: fit_gev(ELEVEN).quantile_m(0.8), "4.537048"),
    _library("I4", "Gumbel location", lambda: fit_gumbel(ELEVEN).location_m, "2.285519"),
    _library("I4", "Gumbel scale", lambda: fit_gumbel(ELEVEN).scale_m, "1.647295"),
    _library("I4", "Gumbel 0.8-quantile", lambda: fit_gumbel(ELEVEN).quantile_m(0.8), "4.756363"),
    _chicago_year(5.0, "0.78"),
    _chicago_year(10.0, "0.88"),
    _chicago_year(50.0, "1.11"),
    Case(
        "I5", "10-minute rain of 100 years, Chicago, GEV law by L-moments",
        lambda: fit_gev(CHICAGO_IN).depth_m(100.0, kind="AEP"), "1.108", "in", "",
        "the same 35 maxima, made with a general library", "computed",
    ),
    Case(
        "I5", "greatest day at Uccle 1938 to 1972, GEV shape by L-moments, other sign",
        lambda: -fit_gev(DAY_MM).shape, "0.083", "", "SNEYERS_1977",
        "35 maxima; the shape was made with a general library", "computed",
        note="Maximum likelihood gives 0.232 for the same maxima: the method matters",
    ),
    _block(5, "0.693"),
    _block(6, "0.308"),
    _block(4, "0.178"),
    Case(
        "I7", "clock to true, one interval", lambda: clock_to_true(1), "1.13", "",
        "HERSHFIELD_1961", "factor from memory", "memory",
    ),
    Case(
        "I7", "clock to true, two intervals", lambda: clock_to_true(2), "1.04", "",
        "WEISS_1964", "factor from memory", "memory",
    ),
    Case(
        "I7", "5-minute rain over 60-minute rain", lambda: short_ratio(300.0)[0], "0.26 to 0.29",
        "", "HERSHFIELD_1961",
        "rule 0.29 from memory; two places of a newer atlas give 0.26 and 0.28", "memory",
    ),
    _type_two(6.0, "0.0801"),
    _type_two(11.5, "0.2804"),
    _type_two(12.5, "0.7196"),
    _type_two(18.0, "0.9199"),
    Case(
        "I9", "chance per year of a storm of ARI 2 years", lambda: aep_of_ari(2.0), "0.39347", "",
        "LANGBEIN_1949", "formula from memory; the number is arithmetic", "computed",
    ),
    _huff(1, "82"),
    _huff(2, "70"),
    _huff(3, "38"),
    _huff(4, "28"),
]  # fmt: skip
