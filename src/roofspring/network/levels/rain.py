"""The rain that overflows and roof lines must take: of a table or record, else a code's."""

from __future__ import annotations

from dataclasses import dataclass

from roofspring.catchment import code_rain
from roofspring.errors import RangeError, RecordError
from roofspring.network.drainage import BURST_S
from roofspring.rain import RainRecord
from roofspring.rain.cloudburst import DepthTable, design_rain

SELDOM_YEARS = 10.0
"""An overflow is made for five minutes of rain that come once in so many years: common practice."""
RESAMPLES_COUNT = 20


@dataclass(frozen=True)
class DesignIntensity:
    """Rain to design for [m/s], and where it comes from."""

    rain_m_per_s: float
    source: str


def design_intensity(
    record: RainRecord | None = None, table: DepthTable | None = None
) -> DesignIntensity:
    """Five minutes of rain that come once in ten years; a code's intensity where nothing says.

    Parameters
    ----------
    record : RainRecord, optional
    table : DepthTable, optional
        A published table for the place; it goes before the record.

    Returns
    -------
    DesignIntensity
    """
    if record is not None or table is not None:
        try:
            rain = design_rain(
                duration_s=BURST_S,
                return_years=SELDOM_YEARS,
                kind="ARI",
                table=table,
                record=record,
                resamples_count=RESAMPLES_COUNT,
            )
        except (RangeError, RecordError):  # too few years, or a table that does not go so far
            pass
        else:
            return DesignIntensity(
                rain.mean_m_per_s, f"five minutes once in {SELDOM_YEARS:g} years: {rain.source}"
            )
    usual = code_rain()[0]
    assert usual.rain_m_per_s is not None
    return DesignIntensity(usual.rain_m_per_s, f"a code's own: {usual.name}")
