"""The rain that overflows and roof lines must take: of a table or record, else a code's."""

from __future__ import annotations

from dataclasses import dataclass

from roofspring.catchment import code_rain
from roofspring.network.drainage import design_step, rain_ladder
from roofspring.rain import RainRecord
from roofspring.rain.cloudburst import DepthTable


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
    step = design_step(rain_ladder(record, table))
    if step is not None:
        return DesignIntensity(
            step.mean_m_per_s, f"five minutes once in {step.return_years:g} years: {step.source}"
        )
    usual = code_rain()[0]
    assert usual.rain_m_per_s is not None
    return DesignIntensity(usual.rain_m_per_s, f"a code's own: {usual.name}")
