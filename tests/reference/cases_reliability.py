"""Reference methods for storage."""

from __future__ import annotations

from collections.abc import Callable

from cases import Case
from roofspring.constants import US_GALLON_M3
from roofspring.reliability.reference import (
    Balance,
    balance,
    days_of_store,
    dry_spell_m3,
    sequent_peak_m3,
    yearly_share_m3,
)
from roofspring.sources import COMMON_PRACTICE
from roofspring.units import parse

_RULES = {0.0: "yield after spillage", 0.5: "theta 0.5", 1.0: "yield before spillage"}
_TEN_STEPS = "capacity 1000 L, demand 300 L, empty, in 0 800 0 0 0 1500 0 0 0 0 L"
_MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"]
_RAIN_IN = (1.97, 2.40, 2.91, 3.81, 5.01, 3.12, 2.04, 2.07, 2.67, 3.76, 2.70, 2.64)
_GAL_PER_IN = 2500 * 0.62 * 0.85  # roof [ft2], rounded gallons per ft2 and inch, efficiency
_HELD_GAL = (595, 757, 1591, 3611, 7212, 8322, 8010, 7737, 8255, 10000, 10000, 10000)
_FLOWS = (1500, 1000, 500, 500, 500, 1200, 2900, 2900, 1000, 400, 600, 1600)


def _ten_steps(theta: float) -> Balance:
    inflow_m3 = [0.0, 0.8, 0.0, 0.0, 0.0, 1.5, 0.0, 0.0, 0.0, 0.0]
    return balance(inflow_m3, 0.3, capacity_m3=1.0, start_m3=0.0, theta=theta)


def _year() -> Balance:
    return balance(
        [inches * _GAL_PER_IN * US_GALLON_M3 for inches in _RAIN_IN],
        3000.0 * US_GALLON_M3,
        capacity_m3=10_000.0 * US_GALLON_M3,
        start_m3=1000.0 * US_GALLON_M3,
        theta=1.0,
    )


def _rule(theta: float, what: str, pick: Callable[[Balance], float], printed: str) -> Case:
    return Case(
        "S3",
        f"{_RULES[theta]}: {what}",
        lambda: pick(_ten_steps(theta)),
        printed,
        "" if what == "share served" else "L",
        "FEWKES_BUTLER_2000" if theta == 0.5 else "JENKINS_1978",
        f"the rule; by hand for {_TEN_STEPS}",
        "computed",
        rel=1e-9,
    )


def _taken_l(got: Balance) -> float:
    return float(got.yield_m3.sum()) * 1e3


def _served_frac(got: Balance) -> float:
    return got.served_frac


def _spilled_l(got: Balance) -> float:
    return float(got.spill_m3.sum()) * 1e3


def _month(i: int) -> Case:
    return Case(
        "Y11",
        f"monthly balance in gallons: held at the end of {_MONTHS[i]}",
        lambda: float(_year().volume_m3[i]) / US_GALLON_M3,
        str(_HELD_GAL[i]),
        "US gal",
        "TWDB_2005",
        "layout of the monthly table, tank 10,000, demand 3,000 a month; inputs recalled",
        "memory",
        within=1.0,
    )


def _spill(i: int, printed: str) -> Case:
    return Case(
        "Y11",
        f"monthly balance in gallons: spilled in {_MONTHS[i]}",
        lambda: float(_year().spill_m3[i]) / US_GALLON_M3,
        printed,
        "US gal",
        "TWDB_2005",
        "layout of the monthly table, tank 10,000, demand 3,000 a month; inputs recalled",
        "memory",
        within=1.0,
    )


def _gallons_last(gallons: float, gallons_per_day: float) -> float:
    return days_of_store(gallons * US_GALLON_M3, demand_m3_per_day=gallons_per_day * US_GALLON_M3)


CASES = [
    _rule(0.0, "taken", _taken_l, "1800"),
    _rule(0.0, "share served", _served_frac, "0.60"),
    _rule(0.0, "spilled", _spilled_l, "500"),
    _rule(0.5, "taken", _taken_l, "1950"),
    _rule(0.5, "share served", _served_frac, "0.65"),
    _rule(0.5, "spilled", _spilled_l, "350"),
    _rule(1.0, "taken", _taken_l, "2100"),
    _rule(1.0, "share served", _served_frac, "0.70"),
    _rule(1.0, "spilled", _spilled_l, "200"),
    *(_month(i) for i in range(12)),
    _spill(9, "209"),
    _spill(10, "557"),
    _spill(11, "478"),
    Case(
        "S2",
        "sequent peak of twelve monthly flows, demand 1000 a month",
        lambda: sequent_peak_m3(_FLOWS, 1000.0),
        "1500",
        "",
        "FOSSEE_416",
        "example 8.3 for the flows; the answer is our own arithmetic",
        "computed",
        rel=1e-12,
    ),
    Case(
        "Y6",
        "5 % of the yearly demand of four people at 100 L a day",
        lambda: yearly_share_m3(1e9, demand_m3_per_year=4 * 0.100 * 365, share_frac=0.05) * 1e3,
        "7300",
        "L",
        "TRCA_LID",
        "demand × people × 18.25",
        "computed",
        rel=1e-12,
        note="The formula was read; the four people are ours",
    ),
    Case(
        "Y6",
        "5 % of the yearly yield of 200 m², 0.8, 800 mm, filter 0.9",
        lambda: (
            yearly_share_m3(200 * 0.8 * 0.8 * 0.9, demand_m3_per_year=1e9, share_frac=0.05) * 1e3
        ),
        "5760",
        "L",
        "TRCA_LID",
        "area × runoff × rain × filter × 0.05",
        "computed",
        rel=1e-12,
        note="The formula was read; the roof is ours",
    ),
    Case(
        "S5",
        "6 % rule: 150 m², 0.8, 800 mm, filter 0.9 (86,400 L), demand 120 L a day",
        lambda: yearly_share_m3(150 * 0.8 * 0.8 * 0.9, demand_m3_per_year=0.120 * 365) * 1e3,
        "2628",
        "L",
        "DIN_1989_1",
        "the 6 % rule",
        "memory",
        rel=1e-12,
    ),
    Case(
        "S6",
        "dry spell of 60 days, four people at 15 L a day",
        lambda: dry_spell_m3(4 * 0.015, dry_days=60.0) * 1e3,
        "3600",
        "L",
        "",
        "4 × 15 × 60",
        "computed",
        rel=1e-12,
    ),
    Case(
        "T6",
        "5,000 gallons are a year of water at 13.7 gallons a day",
        lambda: _gallons_last(5000.0, 13.7),
        "365",
        "days",
        COMMON_PRACTICE,
        "one household's drinking and cooking",
        "common practice, no source",
    ),
    Case(
        "T7",
        "the same 5,000 gallons for four people at 50 gallons each a day",
        lambda: _gallons_last(5000.0, 4 * 50.0),
        "25",
        "days",
        COMMON_PRACTICE,
        "all uses of a house on the mains",
        "common practice, no source",
        rel=1e-12,
    ),
    Case(
        "T8",
        "one raw tank of 300 gallons at 50 gallons a day",
        lambda: days_of_store(
            parse("300 gal", to="m3"), demand_m3_per_day=parse("50 gal", to="m3")
        ),
        "6",
        "days",
        COMMON_PRACTICE,
        "one person's share of a house on the mains",
        "common practice, no source",
        rel=1e-12,
    ),
]
