"""Plans and records made in the tests, so that every number of a run is known beforehand."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import numpy as np

from roofspring.network.result import RunResult
from roofspring.network.simulate import simulate
from roofspring.plan.model import Plan
from roofspring.rain import Kept, RainRecord

DATA = Path(__file__).parents[1] / "data"
DEMO = Path(__file__).parents[2] / "src/roofspring/workflows/demo/alder-bench.toml"

DAY_STEPS = """
[run]
wet-step = "24 h"
dry-step = "24 h"
water-temperature = "20 degC"
[rain]
snow = "as-rain"
within-day = "even"
"""

PLAIN_ROOF = """
[roof.r]
area = "100 m2"
material = "metal"
coefficient = "100 %"
wetting = "0 mm"
"""


def plan_of(*texts: str) -> Plan:
    """A plan from pieces of TOML text."""
    text = "\n".join(("format = 1", 'name = "test bench"', *texts))
    return Plan.model_validate(tomllib.loads(text))


def record_of(depth_mm: Any, *, start: str = "2001-01-01", step_s: float = 86400.0) -> RainRecord:
    """A measured record from depths in mm."""
    depth_m = np.asarray(depth_mm, dtype=np.float64) / 1000.0
    return RainRecord(
        start=np.datetime64(start, "s"),
        step_s=step_s,
        depth_m=depth_m,
        kept=np.full(len(depth_m), Kept.MEASURED, dtype=np.uint8),
        name="made in a test",
        source="test",
    )


def dry(days: int, **how: Any) -> RainRecord:
    """A record without rain."""
    return record_of(np.zeros(days), **how)


def ran(record: RainRecord, *texts: str) -> RunResult:
    """The run of a plan given as text."""
    return simulate(plan_of(*texts), record)


def end_m3(result: RunResult, store: str) -> Any:
    """Content of one store at the end of each day."""
    return result.end_m3[:, result.store_ids.index(store)]


def delivered_m3(result: RunResult, use: str) -> Any:
    """What one use got, each day."""
    return result.delivered_m3[:, result.use_ids.index(use)]


def tank(
    name: str,
    *,
    volume_m3: float,
    height_m: float = 1.0,
    start: float = 0.0,
    more: str = "",
) -> str:
    """An upright tank."""
    return (
        f'[tank.{name}]\nvolume = "{volume_m3!r} m3"\nheight = "{height_m!r} m"\n'
        f'start = "{100.0 * start!r} %"\n{more}\n'
    )


def pipe(name: str, from_: str, to: str, more: str = "") -> str:
    """A pipe; without a size it does not limit the flow."""
    return f'[pipe.{name}]\nfrom = "{from_}"\nto = "{to}"\n{more}\n'


def use(name: str, from_: str, per_day: str, more: str = "") -> str:
    """A use that wants the same every day."""
    sources = ", ".join(f'"{f}"' for f in from_.split())
    return f'[use.{name}]\nfrom = [{sources}]\nper-day = "{per_day}"\n{more}\n'
