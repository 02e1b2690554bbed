"""The one table that ties a unit suffix in a name to the unit it means.

Used by the parser, the plan reference page and the test over all public signatures.
"""

from __future__ import annotations

SUFFIXES: dict[str, str] = {
    "_m": "m",
    "_m2": "m2",
    "_m3": "m3",
    "_mm": "mm",
    "_s": "s",
    "_days": "day",
    "_hours": "hour",
    "_years": "year",
    "_m_per_s": "m/s",
    "_mm_per_h": "mm/hour",
    "_m_per_s2": "m/s2",
    "_m_per_year": "m/year",
    "_mm_per_year": "mm/year",
    "_days_per_year": "day/year",
    "_m3_per_s": "m3/s",
    "_m3_per_h": "m3/h",
    "_m3_per_day": "m3/day",
    "_m3_per_year": "m3/year",
    "_m2_per_s": "m2/s",
    "_pa": "Pa",
    "_pa_s": "Pa s",
    "_kpa": "kPa",
    "_mj_per_m2_day": "MJ/m2/day",
    "_w_per_k": "W/K",
    "_kg": "kg",
    "_kg_per_m3": "kg/m3",
    "_kg_per_m2": "kg/m2",
    "_kg_per_m2_s": "kg/m2/s",
    "_kg_per_m2_day": "kg/m2/day",
    "_m_per_kg": "m/kg",
    "_degc": "degC",
    "_frac": "",
    "_log10": "",
    "_count": "",
    "_per_m": "1/m",
    "_per_m2": "1/m2",
    "_per_kg": "1/kg",
    "_m3_per_kg": "m3/kg",
    "_per_s": "1/s",
    "_per_day": "1/day",
    "_per_year": "1/year",
    "_s_per_m": "s/m",
    "_s2_per_m": "s2/m",
    "_deg": "deg",
}
"""Suffix to unit. A name without one of these endings carries no unit."""
