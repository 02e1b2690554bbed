"""A float carries its unit in its name, in every public signature and record."""

from __future__ import annotations

import dataclasses
import inspect
from collections.abc import Iterator

import pytest
from pydantic import BaseModel

from architecture.tree import modules
from roofspring.units import SUFFIXES, parse

FLOATS = (
    "float",
    "float | None",
    "list[float]",
    "tuple[float, ...]",
    "tuple[float | None, ...]",
    "Sequence[float]",
    "FloatArray",
    "FloatArray | None",
)

DIMENSIONLESS = {
    "area_ratio": "standpipe area over sand area",
    "a": "the constant of an intensity curve, in the units of its source",
    "b": "the constant of an intensity curve, in the units of its source",
    "c": "the exponent of an intensity curve",
    "clock_factor": "true maximum over clock maximum",
    "end_factor": "a coefficient of a crop",
    "exponent": "the power of a scaling rule",
    "overdispersion": "recorded variance over the chain's",
    "melt_m_per_degc_day": "depth melted for each degree and day, as snow hydrology gives it",
    "month_overdispersion": "recorded variance over the chain's",
    "p": "a chance, 0 to 1",
    "power": "the power of a distance",
    "rain_factor": "a multiplier",
    "shape": "the shape of a law, as in every book of statistics",
    "shape_high": "the shape of a law",
    "shape_low": "the shape of a law",
    "shift": "a change of log-odds",
    "snow_factor": "a multiplier",
    "season_factor": "a multiplier",
    "t3": "L-skewness",
    "t4": "L-kurtosis",
    "t5": "the fifth L-moment ratio",
    "weight": "only its share of the whole counts",
    "carman": "the constant of the Kozeny and Carman formula",
    "coefficient": "the constant of Hazen's formula, in the mixed units of its source",
    "factor": "a multiplier",
    "k": "loss factor, as in every handbook of hydraulics",
    "k0": "loss factor of the clean strainer",
    "k_factor": "loss factor, as in every handbook of hydraulics",
    "k_sum": "sum of loss factors",
    "outflow_factor": "share of the ideal outflow",
    "px_per_m": "the scale of a drawing",
    "ratio": "rate of one group of people to that of another",
    "ratio_high": "the high end of such a ratio",
    "ratio_low": "the low end of such a ratio",
    "reynolds": "the Reynolds number",
    "theta": "the switch between the two spillage rules, 0 to 1",
    "uniformity": "d60 over d10",
    "stated_uniformity": "d60 over d10",
    "uniformity_least": "d60 over d10",
    "uniformity_most": "d60 over d10",
    "bought_per_used": "mass bought over mass in the bed",
    "have": "a ratio of two sizes",
    "lateral_ratio": "area of a drain pipe over that of its holes",
    "range_most": "a ratio of two sizes",
    "spread_most": "a ratio of two sizes",
    "WallEffect.ratio": "width of a box over grain size",
    "cold_base": "the base of a power of temperature",
    "colour": "in the units of the colour scale, as read",
    "decay_base": "the base of a power of temperature",
    "drag_factor": "a multiplier",
    "frost_sum": "degrees below freezing summed over days",
    "inertial": "the constant of Ergun's second term",
    "initial_factor": "a coefficient of a crop",
    "load_factor": "a multiplier",
    "manning": "Manning's n, in s/m^(1/3), as in every handbook of hydraulics",
    "middle_factor": "a coefficient of a crop",
    "range_factor": "solar radiation per root of a degree",
    "removed_percent": "a removal in per cent, as papers print it",
    "ripening_base": "the base of a power of temperature",
    "sorptivity": "in m/s^0.5",
    "surface_power": "a fitted power",
    "turbidity": "in NTU, as the instrument reads",
    "viscous": "the constant of Ergun's first term",
    "void_power": "a fitted power",
    "alpha": "the shape of a law of dose and response, as in every book of risk",
    "beta": "the second parameter of that law",
    "Agent.gsd_factor": "a geometric standard deviation, a multiplier",
    "Driver.rank": "a rank correlation",
    "Households.ln_median": "the logarithm of a concentration",
    "Response.first": "a parameter of a law of dose and response, whichever it is",
    "Response.second": "the other parameter of that law",
    "mass_percent": "a content in per cent by mass, as labels print it",
    "ph": "acidity, as every meter shows it",
    "strength_percent": "g of chlorine in 100 mL, as labels print it",
    "turbidity_ntu": "in NTU, as the instrument reads",
}
"""Pure numbers with a name of their own in the trade."""

ANY_UNIT = {
    "cost": "money, in the coin of the owner",
    "first_cost": "money, in the coin of the owner",
    "left_value": "money, in the coin of the owner",
    "present_amount": "money, in the coin of the owner",
    "present_cost": "money, in the coin of the owner",
    "after": "a mean in the unit of the values before it",
    "before": "a mean in the unit of the values beside it",
    "below": "a chance, or an array of them",
    "by_month": "sums in the unit of what is counted",
    "by_year": "sums in the unit of what is counted",
    "cells": "a table in the unit of its file",
    "here": "values of the one gauge in the unit of those of the other",
    "l1": "an L-moment, in the unit of the sample",
    "l2": "an L-moment, in the unit of the sample",
    "location": "in the unit of the sample",
    "mean": "the kind is said by the field that holds it",
    "near": "values of the one gauge in the unit of those of the other",
    "observed": "the unit stands beside it, in another field",
    "p05": "a percentile in the unit of what it is of",
    "p50": "a percentile in the unit of what it is of",
    "p95": "a percentile in the unit of what it is of",
    "samples": "in any one unit; the answer has the same",
    "shares": "amounts; only their ratio counts",
    "scale": "in the unit of the sample",
    "spread": "the kind is said by the field that holds it",
    "there": "values of the one gauge in the unit of those of the other",
    "threshold": "in the unit of the sample",
    "values": "in any one unit; the answer has the same",
    "variances": "in the square of the unit of the values",
    "x": "a pure number",
    "high": "a limit in the unit of the field it belongs to",
    "low": "a limit in the unit of the field it belongs to",
    "most": "the unit stands beside it, in another field",
    "usual": "the unit stands beside it, in another field",
    "mean_m_by_month": "twelve depths in m",
    "parts": "amounts; only their shares of the whole count",
    "part": "an amount; only its share of the whole counts",
    "value": "the unit stands beside it, in another field or argument",
    "whole": "an amount; only the share of it counts",
    "count_per_100ml": "a count in 100 mL, as laboratories print it",
    "even": "random numbers between 0 and 1",
    "series": "in any one unit; the answer has the same",
}
"""The unit is stated in another argument, or cancels."""


ATOMS = {word for end in SUFFIXES for word in end.split("_")} | {"px", "seconds"}
CHAINS = {end[1:] for end in SUFFIXES} | {"px", "seconds"}


def _carries_unit(name: str) -> bool:
    """The unit at the end of a name, with all its ``per``, is one of the table."""
    head, *rest = name.lower().split("_per_")
    words = head.split("_")
    unit = "pa_s" if words[-2:] == ["pa", "s"] else words[-1]
    whole = "_per_".join([unit, *rest])
    return whole in CHAINS or (unit not in ATOMS and "_".join(["per", *rest]) in CHAINS)


def _public_floats() -> Iterator[tuple[str, str]]:
    for module in modules():
        if any(part.startswith("_") for part in module.__name__.split(".")):
            continue
        for name, thing in vars(module).items():
            if name.startswith("_") or getattr(thing, "__module__", None) != module.__name__:
                continue
            where = f"{module.__name__}.{name}"
            if inspect.isfunction(thing):
                for parameter in inspect.signature(thing).parameters.values():
                    if str(parameter.annotation) in FLOATS:
                        yield where, parameter.name
            elif dataclasses.is_dataclass(thing):
                for field in dataclasses.fields(thing):
                    if str(field.type) in FLOATS:
                        yield where, field.name
            elif inspect.isclass(thing) and issubclass(thing, BaseModel):
                for key, info in thing.model_fields.items():
                    if info.annotation is float:
                        yield where, key


def _short(where: str, name: str) -> str:
    return f"{where.rpartition('.')[2]}.{name}"


def test_a_unit_is_read_as_a_whole() -> None:
    assert _carries_unit("inflow_m3_per_s") and _carries_unit("years")
    assert not _carries_unit("inflow_kg_per_s")
    assert not _carries_unit("inflow")


def test_every_public_float_carries_its_unit() -> None:
    found = list(_public_floats())
    assert len(found) > 250
    excepted = {*DIMENSIONLESS, *ANY_UNIT}
    bare = {
        f"{where}.{name}"
        for where, name in found
        if not _carries_unit(name) and not {name, _short(where, name)} & excepted
    }
    assert not bare


def test_no_exception_is_left_over() -> None:
    names = {n for where, name in _public_floats() for n in (name, _short(where, name))}
    assert not (set(DIMENSIONLESS) | set(ANY_UNIT)) - names


@pytest.mark.parametrize("suffix", SUFFIXES)
def test_suffix_means_a_unit_that_can_be_read(suffix: str) -> None:
    unit = SUFFIXES[suffix]
    assert parse(f"3 {unit}".strip(), to=unit) == pytest.approx(3.0)
