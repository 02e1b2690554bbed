"""What a garden wants, day by day: from the weather of the record, the crop and its months."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from roofspring.errors import Finding, Problem, RecordError
from roofspring.garden import (
    crop_factor,
    extraterrestrial_mj_per_m2_day,
    hargreaves_m_per_day,
    reference_from_temperatures_m_per_day,
    watering_m,
)
from roofspring.plan.model import MONTHS_COUNT, Plan, Use
from roofspring.rain import RainRecord

FloatArray = npt.NDArray[np.float64]

NORTHERN_MONTHS = (4, 5, 6, 7, 8, 9)
SOUTHERN_MONTHS = (10, 11, 12, 1, 2, 3)
FAR_APART_FRAC = 0.2
"""Two ways of reckoning that differ by more are told; engineering choice."""


@dataclass(frozen=True)
class GardenRow:
    """One garden in a mean year of the record.

    Attributes
    ----------
    where, crop : str
    area_m2 : float
    months : tuple of int
        In which it grows.
    reference_m_per_year, other_m_per_year : float
        Evapotranspiration of grass by Hargreaves, and by Penman and Monteith with the rest
        estimated.
    crop_m_per_year, rain_m_per_year : float
        What the crop evaporates, and the rain of its months.
    want_m3_per_year, most_m3_per_day : float
        Water to give in a mean year, and on the worst day of the record.
    """

    where: str
    crop: str
    area_m2: float
    months: tuple[int, ...]
    reference_m_per_year: float
    other_m_per_year: float
    crop_m_per_year: float
    rain_m_per_year: float
    want_m3_per_year: float
    most_m3_per_day: float

    def to_dict(self) -> dict[str, Any]:
        """Plain dictionary for JSON."""
        return asdict(self)


def garden_wants_m3(plan: Plan, use: Use, record: RainRecord) -> FloatArray:
    """What a use with a crop wants on each day of a record [m3], (n_days,).

    Evapotranspiration of grass by Hargreaves (FAO_56_1998, equation 52) times the crop's
    coefficient, less what rain left in the root zone, over the share that reaches the roots.

    Raises
    ------
    RecordError (REC-096)
        The record has no temperatures.
    """
    assert use.garden_area_m2 is not None  # or reading would have refused the plan
    depth_m = watering_m(
        _crop_m_per_day(plan, use, record),
        rain_m=record.daily_depth_m,
        root_store_m=use.growing.root_store_m,
        reaches_frac=use.growing.reaches_frac,
    )
    factors = np.asarray(use.months)[_month(record)]
    # Nothing is watered out of season, though the roots' store fills then.
    wants: FloatArray = use.garden_area_m2 * depth_m * factors
    return wants


def garden_rows(plan: Plan, record: RainRecord | None) -> tuple[GardenRow, ...]:
    """Every garden with a crop; none without a record that has temperatures."""
    if record is None or record.tmin_degc is None or record.tmax_degc is None:
        return ()
    rows = []
    low, high = _temperatures(record)
    for use_id, use in sorted(plan.uses.items()):
        if use.crop is None:
            continue
        assert use.garden_area_m2 is not None
        reference = _reference_m_per_day(plan, record)
        assert plan.site.latitude_deg is not None
        other = reference_from_temperatures_m_per_day(
            tmin_degc=low,
            tmax_degc=high,
            latitude_deg=plan.site.latitude_deg,
            elevation_m=plan.site.elevation_m or 0.0,
            day_of_year=_day_of_year(record),
        )
        wants = garden_wants_m3(plan, use, record)
        months = growing_months(plan, use)
        in_season = np.isin(_month(record) + 1, months)
        rows.append(
            GardenRow(
                use_id,
                use.crop,
                use.garden_area_m2,
                months,
                float(reference.sum()) / record.years,
                float(other.sum()) / record.years,
                float(_crop_m_per_day(plan, use, record).sum()) / record.years,
                float(record.daily_depth_m[in_season].sum()) / record.years,
                float(wants.sum()) / record.years,
                float(wants.max()),
            )
        )
    return tuple(rows)


def garden_findings(rows: tuple[GardenRow, ...]) -> Iterator[Finding]:
    """A note where two published ways to reckon are far apart."""
    for row in rows:
        apart = row.other_m_per_year / row.reference_m_per_year - 1.0
        if abs(apart) > FAR_APART_FRAC:
            yield Finding(
                "GDN-101",
                "note",
                "two published ways to reckon evaporation are far apart for this place",
                where=row.where,
                got=f"Penman and Monteith {apart:+.0%} against Hargreaves".replace("%", " %"),
                limit=f"within {FAR_APART_FRAC:.0%}".replace("%", " %"),
                source="FAO_56_1998, equation 52",
                next="count on the larger want; wind and damp air, which the record does not "
                "give, decide",
            )


def growing_months(plan: Plan, use: Use) -> tuple[int, ...]:
    """Months, 1 to 12, in which a crop grows: the plan's, or the warm half of the year."""
    if use.growing.months:
        return use.growing.months
    south = plan.site.latitude_deg is not None and plan.site.latitude_deg < 0.0
    return SOUTHERN_MONTHS if south else NORTHERN_MONTHS


def _crop_m_per_day(plan: Plan, use: Use, record: RainRecord) -> FloatArray:
    assert use.crop is not None
    months = growing_months(plan, use)
    month = _month(record)
    first_of_month = record.days.astype("datetime64[M]")
    day = (record.days - first_of_month.astype("datetime64[D]")).astype(np.float64)
    length = (
        (first_of_month + 1).astype("datetime64[D]") - first_of_month.astype("datetime64[D]")
    ).astype(np.float64)
    place = np.full(MONTHS_COUNT, -1.0)
    for i, m in enumerate(months):
        place[m - 1] = i
    season = np.where(
        place[month] >= 0.0, (place[month] + (day + 0.5) / length) / len(months), -1.0
    )
    factors: FloatArray = crop_factor(use.crop, season) * _reference_m_per_day(plan, record)
    return factors


def _reference_m_per_day(plan: Plan, record: RainRecord) -> FloatArray:
    low, high = _temperatures(record)
    assert plan.site.latitude_deg is not None  # or reading would have refused the plan
    top = extraterrestrial_mj_per_m2_day(plan.site.latitude_deg, day_of_year=_day_of_year(record))
    depth: FloatArray = hargreaves_m_per_day(top, tmin_degc=low, tmax_degc=high)
    return depth


def _temperatures(record: RainRecord) -> tuple[FloatArray, FloatArray]:
    """Low and high of each day; a missing one lies on the line between its neighbours."""
    low, high = record.tmin_degc, record.tmax_degc
    if low is None or high is None or not (np.isfinite(low).any() and np.isfinite(high).any()):
        raise RecordError(
            Problem(
                "REC-096",
                "a crop's want needs temperatures, and the record has none",
                where=record.name,
                allowed="the lowest and highest temperature of each day in the record",
                next="give a record with temperatures, or garden-depth by month instead of crop",
            )
        )
    filled = []
    for values in (low, high):
        there = np.isfinite(values)
        place = np.arange(len(values))
        filled.append(np.interp(place, place[there], values[there]))
    return filled[0], np.maximum(filled[0], filled[1])


def _month(record: RainRecord) -> npt.NDArray[np.int64]:
    return record.days.astype("datetime64[M]").astype(np.int64) % MONTHS_COUNT


def _day_of_year(record: RainRecord) -> FloatArray:
    years = record.days.astype("datetime64[Y]").astype("datetime64[D]")
    day: FloatArray = (record.days - years).astype(np.float64) + 1.0
    return day
