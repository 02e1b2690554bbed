"""Money over the years: annuities, present values, cost of a year and of a cubic metre."""

from __future__ import annotations

from cases import Case
from roofspring.costs import (
    Costs,
    Replacement,
    annuity_years,
    cost_per_m3,
    equal_cost_per_year,
    present_cost,
)

SAND = Costs(900.0, 60.0, (Replacement(80.0, 5.0),))
LIGHT = Costs(1200.0, 200.0, (Replacement(900.0, 10.0),))
"""Two invented worked examples: no prices of anything that is sold."""

RATE_FRAC, YEARS = 0.04, 20
DRUNK_L_PER_DAY = 40.0
TABLE = "table of interest factors for 0.25 %, by a transcription"


def _npv(costs: Costs) -> float:
    return present_cost(costs, rate_frac=RATE_FRAC, years_count=YEARS)


def _yearly(costs: Costs) -> float:
    return equal_cost_per_year(_npv(costs), rate_frac=RATE_FRAC, years_count=YEARS)


def _per_m3(costs: Costs) -> float:
    return cost_per_m3(_yearly(costs), water_l_per_day=DRUNK_L_PER_DAY)


def _annuity(years: int, printed: str) -> Case:
    return Case("K59", f"annuity factor, 0.25 %, {years} years",
                lambda: annuity_years(0.0025, years_count=years), printed, "year",
                "BLANK_TARQUIN_2012", f"{TABLE}, P/A, n = {years}", "quoted")  # fmt: skip


def _recovery(years: int, printed: str) -> Case:
    return Case("K59", f"equal yearly cost of 1 at the start, 0.25 %, {years} years",
                lambda: equal_cost_per_year(1.0, rate_frac=0.0025, years_count=years), printed,
                "1/year", "BLANK_TARQUIN_2012", f"{TABLE}, A/P, n = {years}",
                "quoted")  # fmt: skip


_BOTH = "4 %, 20 years"

CASES = [
    Case("K58", f"sand filter, 900 at first, 60 a year, 80 every 5 years, {_BOTH}",
         lambda: _npv(SAND), "1879.6", "", "", "900 + 60 x 13.5903 + 80 (1.04^-5 + 1.04^-10 + "
         "1.04^-15), worked by hand", "computed"),
    Case("K58", "the same, as equal yearly cost", lambda: _yearly(SAND), "138.3", "1/year", "",
         "1879.6 / 13.5903", "computed"),
    Case("K58", "the same, for each cubic metre at 40 L a day", lambda: _per_m3(SAND), "9.47",
         "1/m3", "", "138.3 / (40 x 365 / 1000)", "computed"),
    Case("K58", f"cartridge and light, 1200 at first, 200 a year, 900 at 10 years, {_BOTH}",
         lambda: _npv(LIGHT), "4526.1", "", "", "1200 + 200 x 13.5903 + 900 x 1.04^-10, worked by "
         "hand", "computed"),
    Case("K58", "cartridge and light, as equal yearly cost", lambda: _yearly(LIGHT), "333.0",
         "1/year", "", "4526.1 / 13.5903", "computed"),
    Case("K58", "cartridge and light, for each cubic metre at 40 L a day",
         lambda: _per_m3(LIGHT), "22.81", "1/m3", "", "333.0 / (40 x 365 / 1000)", "computed"),
    Case("K59", "annuity factor, 4 %, 20 years", lambda: annuity_years(0.04, years_count=20),
         "13.5903", "year", "", "(1 - 1.04^-20) / 0.04", "computed"),
    Case("K59", "annuity factor, 5 %, 10 years", lambda: annuity_years(0.05, years_count=10),
         "7.7217", "year", "", "(1 - 1.05^-10) / 0.05", "computed"),
    *(_annuity(n, p) for n, p in ((2, "1.9925"), (10, "9.8639"), (20, "19.4845"))),
    *(_recovery(n, p) for n, p in ((2, "0.50188"), (10, "0.10138"), (20, "0.05132"))),
]  # fmt: skip
