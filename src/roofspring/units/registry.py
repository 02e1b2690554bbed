"""The private unit registry: the only place that imports pint."""

from __future__ import annotations

from functools import cache
from typing import Any


@cache
def registry() -> Any:
    """Pint's registry with the trade's spellings added. Built on first use (it takes 0.2 s)."""
    import pint

    ureg: Any = pint.UnitRegistry(autoconvert_offset_to_baseunit=False, cache_folder=None)
    ureg.define("gpm = gallon / minute")
    ureg.define("gpd = gallon / day")
    ureg.define("psf = force_pound / foot ** 2")
    ureg.define("percent_ = 0.01")
    return ureg
