"""A complete starter plan for one simple train, from a few answers."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path

import tomlkit

from roofspring.errors import PlanError, UnitError
from roofspring.plan.fields import fields_of, reads_of
from roofspring.plan.plantext import PlanText
from roofspring.plan.quantities import ValueRefused
from roofspring.plan.read import read_text
from roofspring.units import UnitSet, show, written

# Heights below the eave [m], from the top down; each step is explained in the plan itself.
_GUTTER_OUTLET_M = 0.15
_SCREEN_INLET_M = 0.30
_SCREEN_REJECT_M = 0.35
_SCREEN_OUTLET_M = 0.40
_FLUSH_INLET_M = 0.50
_FLUSH_OUTLET_M = 0.55
_RAW_INLET_M = 0.65
_RAW_OVERFLOW_M = 0.84
_RAW_BRIM_M = 0.70
_RAW_HEIGHT_M = 1.0
_RAW_OUTLET_M = 1.60
_FLOAT_SEAT_M = 1.92
_FILTER_RIM_M = 1.88
_FILTER_OVERFLOW_M = 2.00
_FLOAT_SHUT_M = 2.05
_WEIR_M = 2.65
_SAND_TOP_M = 2.70
_FILTER_BASE_M = 3.65
_CLEAN_INLET_M = 2.75
_CLEAN_OVERFLOW_M = 2.85
_CLEAN_BRIM_M = 2.80
_CLEAN_HEIGHT_M = 1.0
_CLEAN_OUTLET_M = 3.70
_TAP_M = 4.50
_SWALE_FALL_M = 0.30

_PER_PERSON_M3_PER_DAY = 0.05
_RATE_M_PER_S = 0.1 / 3600.0
_END_OF_RUN_FRAC = 0.3
"""A filter is cleaned when it passes 0.04 m/h with its water at the lip, less with its float shut:
so much it must give on its last day."""
_SMALLEST_FILTER_M2 = 0.1
_LINE_SIZES: dict[UnitSet, tuple[tuple[float, str], ...]] = {
    "metric": ((200.0, "75 mm"), (400.0, "110 mm"), (math.inf, "160 mm")),
    "us": ((200.0, "3 in"), (400.0, "4 in"), (math.inf, "6 in")),
}
"""Pipes from the roof, for roofs up to so many square metres."""
_SPILL_SIZES: dict[UnitSet, tuple[tuple[float, str], ...]] = {
    "metric": ((120.0, "75 mm"), (200.0, "110 mm"), (300.0, "160 mm"), (math.inf, "250 mm")),
    "us": ((120.0, "3 in"), (170.0, "4 in"), (300.0, "6 in"), (math.inf, "10 in")),
}
"""The same for the pipe of the raw overflow."""
_RAW_M3_PER_M2 = 0.02
_SMALLEST_TANK_M3 = 0.5
_STORE_DAYS = 20.0


@dataclass(frozen=True)
class NewPlanAnswers:
    """What a person is asked before a starter plan is written."""

    name: str
    units: UnitSet = "metric"
    people_count: int = 4
    roof_area: str = "100 m2"
    """Plan area, as a quantity in text."""
    roof_material: str = "metal"
    eave_height: str = "5 m"
    """Height of the gutter lip above the datum, as a quantity in text."""
    rain_file: str | None = None
    """Path of the rain record beside the plan, or None when there is none yet."""


def new_plan(answers: NewPlanAnswers) -> str:
    """Write a commented plan: one roof, screen, first flush, tank, filter, clean tank and tap.

    Parameters
    ----------
    answers : NewPlanAnswers

    Returns
    -------
    str
        The text of a plan file that reads without problems. Every height follows from the eave, so
        that each level stands above the next by the losses and air gaps in between.

    Raises
    ------
    PlanError
        An answer is not such a value: the same code as in a plan file.

    Notes
    -----
    The filter is sized to give the day's want in 24 hours at 0.03 m/h, which is what it still
    passes when it is due for cleaning; the raw tank for
    20 mm of rain on the roof; the clean tank for 20 days. These are starting points, not a
    design.
    """
    eave_m = _answer(answers.eave_height, "roof", "eave")
    area_m2 = _answer(answers.roof_area, "roof", "area")
    text = _render(answers, eave_m=eave_m, area_m2=area_m2)
    return read_text(text, path=Path("plan.toml")).text


def _answer(text: str, table: str, key: str) -> float:
    reads = reads_of(fields_of(table)[key].annotation)
    assert reads is not None
    try:
        return reads(text)
    except (ValueRefused, UnitError) as error:
        what = error.what if isinstance(error, ValueRefused) else str(error)
        asked = PlanText("the answers", "", {})
        raise PlanError(
            asked.problem(
                "PLN-013",
                (table, key),
                what,
                got=repr(text),
                allowed=reads.allowed,
                next_step="answer again",
            )
        ) from error


def _render(answers: NewPlanAnswers, *, eave_m: float, area_m2: float) -> str:
    units = answers.units

    def quoted(text: str) -> str:
        return tomlkit.string(text).as_string()

    def at(below_m: float) -> str:
        return quoted(_rounded(eave_m - below_m, to="m", units=units))

    def size(value: float, to: str) -> str:
        return quoted(_rounded(value, to=to, units=units))

    want_m3_per_day = answers.people_count * _PER_PERSON_M3_PER_DAY
    last_day_m_per_day = _END_OF_RUN_FRAC * _RATE_M_PER_S * 86400.0
    filter_m2 = max(want_m3_per_day / last_day_m_per_day, _SMALLEST_FILTER_M2)
    raw_m3 = max(area_m2 * _RAW_M3_PER_M2, _SMALLEST_TANK_M3)
    clean_m3 = max(want_m3_per_day * _STORE_DAYS, _SMALLEST_TANK_M3)
    swale_m = min(0.0, eave_m - _CLEAN_OVERFLOW_M - _SWALE_FALL_M)
    rain = (
        f"file = {quoted(answers.rain_file)}"
        if answers.rain_file is not None
        else '# No record yet. Put one beside this file and name it here:\n# file = "rain.csv"'
    )
    pipe = quoted("40 mm" if units == "metric" else "1 1/2 in")
    wide = quoted("75 mm" if units == "metric" else "3 in")
    spill = quoted(_sized(_SPILL_SIZES[units], area_m2))
    line = quoted(_sized(_LINE_SIZES[units], area_m2))
    hose = quoted("25 mm" if units == "metric" else "1 in")
    feed = quoted("20 mm" if units == "metric" else "3/4 in")
    return f"""\
# A starter plan. Replace every number by what you measure or buy, then check it.
# All heights are above one point that you choose, the datum.
# Each level stands above the next one: water runs from the top of this file to its end by itself.

format = 1
name = {quoted(answers.name)}
show = {quoted(units)}

[site]
datum = "the ground beside the tanks"
people = {answers.people_count}

[rain]
{rain}

# ---- The roof and what keeps dirt out ----

[roof.house]
area = {quoted(answers.roof_area)}  # as seen from above, overhang included
material = {quoted(answers.roof_material)}
eave = {quoted(answers.eave_height)}
outlet = {at(_GUTTER_OUTLET_M)}  # the gutter falls towards it

[screen.leaves]
inlet = {at(_SCREEN_INLET_M)}
reject = {at(_SCREEN_REJECT_M)}
outlet = {at(_SCREEN_OUTLET_M)}

[first-flush.flush]
depth = {quoted("2 mm" if units == "metric" else "0.08 in")}  # the first rain, held back
inlet = {at(_FLUSH_INLET_M)}
outlet = {at(_FLUSH_OUTLET_M)}

# ---- Raw water: takes the storm, lets it out slowly ----

[tank.raw]
shape = "upright"
volume = {size(raw_m3, "m3")}
height = {size(_RAW_HEIGHT_M, "m")}
base = {at(_RAW_BRIM_M + _RAW_HEIGHT_M)}
inlet = {at(_RAW_INLET_M)}  # an air gap above the overflow
overflow = {at(_RAW_OVERFLOW_M)}  # below the reject lip of the screen
outlet = {at(_RAW_OUTLET_M)}  # leaves the mud on the floor

# ---- The slow sand filter ----

[filter.sand]
area = {size(filter_m2, "m2")}  # the day's want at 0.03 m/h, as before it is cleaned
inlet = {at(_FLOAT_SEAT_M)}  # the seat of the float valve, an air gap above the water
rim = {at(_FILTER_RIM_M)}
overflow = {at(_FILTER_OVERFLOW_M)}
weir = {at(_WEIR_M)}  # above the sand, so that the sand never runs dry
sand-top = {at(_SAND_TOP_M)}
base = {at(_FILTER_BASE_M)}  # leaves room for gravel under the sand
throttle = {size(_RATE_M_PER_S, "m/s")}

# ---- Clean water ----

[tank.clean]
shape = "upright"
volume = {size(clean_m3, "m3")}
height = {size(_CLEAN_HEIGHT_M, "m")}
base = {at(_CLEAN_BRIM_M + _CLEAN_HEIGHT_M)}
inlet = {at(_CLEAN_INLET_M)}  # a free fall under the weir: take samples here
overflow = {at(_CLEAN_OVERFLOW_M)}
outlet = {at(_CLEAN_OUTLET_M)}

[tap.kitchen]
height = {at(_TAP_M)}  # below 0 means: the tap must stand lower than the datum
drinking = true

# ---- Where the overflow goes ----

[swale.garden]
rim = {size(swale_m, "m")}  # below every overflow that it takes

# ---- Pipes, in the order of the water ----

[pipe.downpipe]
from = "house"
to = "leaves"
size = {line}

[pipe.screened]
from = "leaves.outlet"
to = "flush"
size = {line}

[pipe.filling]
from = "flush.outlet"
to = "raw"
size = {line}

[pipe.feed]
from = "raw.outlet"
to = "sand"
size = {feed}  # no wider: its overflow must carry it when the float sticks
length = {size(2.0, "m")}
valve = {{ kind = "float", shuts-at = {at(_FLOAT_SHUT_M)} }}

[pipe.filtered]
from = "sand.outlet"
to = "clean"
size = {hose}

[pipe.to-kitchen]
from = "clean.outlet"
to = "kitchen"
size = {hose}
length = {size(10.0, "m")}

[pipe.raw-overflow]
from = "raw.overflow"
to = "garden"
size = {spill}

[pipe.sand-overflow]
from = "sand.overflow"
to = "garden"
size = {wide}

[pipe.clean-overflow]
from = "clean.overflow"
to = "garden"
size = {pipe}

# ---- Who wants water ----

[use.house]
from = ["kitchen"]
per-person = {size(_PER_PERSON_M3_PER_DAY, "m3/day")}
importance = 1

# ---- What it costs, where you want to know ----
# No prices are built in, and the numbers here are made up: take the # away and write your own.
# Names of prices: sand, uv, chlorine, boiling, no-bypass.

# [money]
# coin = "crowns"  # any word; all amounts are in it
# years = 20

# [price.uv]
# first = 100  # bought and fitted
# yearly = 10  # power, parts used up, your hours
# replacements = [{{ cost = 30, every = "5 years" }}]
"""


def _sized(sizes: tuple[tuple[float, str], ...], area_m2: float) -> str:
    """The pipe for a roof: the first that is enough."""
    return next(size for most_m2, size in sizes if area_m2 <= most_m2)


def _rounded(value: float, *, to: str, units: UnitSet) -> str:
    """A value to three digits; a length to a centimetre or a hundredth of a foot."""
    if to == "m":
        return show(value, "height", units=units, digits=2, grouped=False)
    return written(value, to=to, units=units, digits=3)
