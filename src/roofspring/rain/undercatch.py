"""More rain than the gauge caught: an explicit choice, never a default."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from roofspring.errors import Finding, Problem, RangeError
from roofspring.rain.record import RainRecord
from roofspring.rain.snow import snow_share_frac, temperatures
from roofspring.rain.words import both

LEAST_FACTOR, MOST_RAIN_FACTOR, MOST_SNOW_FACTOR = 1.0, 1.5, 3.0
"""Limits of the factors; engineering choice, wider than the published ranges."""


def with_undercatch(
    record: RainRecord, *, rain_factor: float, snow_factor: float | None = None
) -> RainRecord:
    """The record with what wind, wetting and evaporation kept out of the gauge put back.

    Parameters
    ----------
    record : RainRecord
    rain_factor : float
        True over caught for rain [-], 1 to 1.5. A loss of 3 to 10 %, as published, is a factor of
        1.03 to 1.11.
    snow_factor : float, optional
        True over caught for snow [-], 1 to 3. A loss of 20 to 50 % is a factor of 1.25 to 2. When
        not given, snow is not told from rain and all is raised by ``rain_factor``.

    Returns
    -------
    RainRecord
        With REC-193 among its findings and the factors in its source. Gaps stay gaps.

    Raises
    ------
    RangeError
        REC-028: a factor outside its limits, or a record that was raised before.
    RecordError
        REC-027: ``snow_factor`` is given and temperatures are missing.

    Notes
    -----
    ``P = P_gauge (rain_factor (1 - s) + snow_factor s)``, with the share of snow ``s`` of
    `snow_share_frac`. One factor for all days: it does not know the wind of the day. Leaving it
    out is the careful choice for storage; take it in for gutters and overflows.

    Source
    ------
    WMO_8, losses of gauges in wind (from memory).

    Examples
    --------
    >>> gauge = RainRecord(start=np.datetime64("2021-06-01"), step_s=86400.0, name="x", source="x",
    ...                    depth_m=np.array([0.010, 0.0]), kept=np.zeros(2, dtype=np.uint8))
    >>> more = with_undercatch(gauge, rain_factor=1.05)
    >>> more.depth_m.round(5).tolist(), more.findings[-1].code
    ([0.0105, 0.0], 'REC-193')
    """
    if any(f.code == "REC-193" for f in record.findings):
        raise _refused("record", "raised before", "a record as the gauge gave it")
    if not LEAST_FACTOR <= rain_factor <= MOST_RAIN_FACTOR:
        raise _refused("rain_factor", f"{rain_factor:g}", f"1 to {MOST_RAIN_FACTOR:g}")
    if snow_factor is not None and not LEAST_FACTOR <= snow_factor <= MOST_SNOW_FACTOR:
        raise _refused("snow_factor", f"{snow_factor:g}", f"1 to {MOST_SNOW_FACTOR:g}")
    words = f"rain x {rain_factor:g}"
    if snow_factor is None:
        depth = record.depth_m * rain_factor
    else:
        share = snow_share_frac(*temperatures(record, what="a factor for snow"))
        factor = np.repeat(
            rain_factor + (snow_factor - rain_factor) * share, record.steps_per_day_count
        )
        depth = record.depth_m.copy()
        depth[: len(factor)] *= factor
        depth[len(factor) :] *= rain_factor
        words += f", snow x {snow_factor:g}"
    more = float(np.nansum(depth) - np.nansum(record.depth_m)) / max(record.years, 1e-9)
    finding = Finding(
        "REC-193",
        "caution",
        "rain was raised for what the gauge did not catch: chosen by the user, not measured",
        got=f"{words}, {both(more)} a year more",
        source="WMO_8, losses of gauges in wind",
        next="size storage without it as well; the smaller answer is the careful one",
    )
    return replace(
        record, depth_m=depth, source=f"{record.source}; raised for undercatch: {words}"
    ).with_findings(finding)


def _refused(where: str, got: str, allowed: str) -> RangeError:
    return RangeError(
        Problem(
            "REC-028",
            "a value for snow or the catch of a gauge is outside its limits",
            where=where,
            got=got,
            allowed=allowed,
            next="use the factor for your kind of gauge and shield, or none",
        )
    )
