"""What the plan says of its rain: the record, the gauges nearby, or the mean weather by month."""

from __future__ import annotations

from typing import Literal

from roofspring.plan.pieces import Block, Text
from roofspring.plan.quantities import (
    Count,
    Distance,
    Duration,
    Factor,
    Ganged,
    Grain,
    SmallLength,
    Temperature,
    given,
)
from roofspring.sources import ENGINEERING_CHOICE

RainForm = Literal[
    "csv", "xlsx", "ghcn-dly", "ghcn-csv", "ncei-csv", "gsod-csv", "usgs-rdb", "power-csv"
]
RainUnit = Literal["mm", "0.1 mm", "cm", "m", "in", "0.01 in"]


class Gauge(Block):
    """A file of a gauge, and what it does not say of itself."""

    file: Text | None = given("Rain record, a path beside the plan file", default=None)
    form: RainForm | None = given(
        "Format of the record", derived="told from the content of the file"
    )
    unit: RainUnit | None = given(
        "Unit of depth, where the file does not say", derived="read from the header of the file"
    )
    station: Text | None = given(
        "Station id, where the file holds several", derived="the only station in the file"
    )
    stamp: Literal["start", "end"] = given(
        "Whether a time in a CSV or spreadsheet marks the start or the end of its step",
        default="start",
        source=ENGINEERING_CHOICE,
    )
    tip_m: Grain | None = given(
        "Depth of one tip, where each row is the time of a tip",
        alias="tip",
        derived="rows are depths, not tips",
    )
    tip_step_s: Duration = given(
        "Step that tips are added up to", alias="tip-step", default=300.0, source=ENGINEERING_CHOICE
    )
    sheet: Text | None = given("Sheet of a spreadsheet", derived="the first sheet")


class RainBlock(Gauge):
    """The rain record."""

    table: Text | None = given(
        "Published table of rain depths by duration and return period, a path beside the plan file",
        default=None,
    )
    fill: Literal["none", "same-season", "normal-ratio", "inverse-distance", "quantile-map"] = (
        given(
            "How gaps are filled; the last three need a neighbour",
            default="same-season",
            source=ENGINEERING_CHOICE,
        )
    )
    rain_factor: Factor | None = given(
        "True rain over what the gauge caught, 1 to 1.5; wind carries rain past it",
        alias="rain-factor",
        derived="no correction: rain as the gauge caught it",
    )
    snow_factor: Factor | None = given(
        "True snow over what the gauge caught, 1 to 3; needs temperatures in the record",
        alias="snow-factor",
        derived="as the rain factor: snow is not told from rain",
    )
    snow: Literal["held", "as-rain"] = given(
        "Whether snow lies on the roofs until it melts, where the record has temperatures, or runs "
        "off on the day it falls",
        default="held",
        source=ENGINEERING_CHOICE,
    )
    within_day: Literal["even", "type2", "block", "cascade"] = given(
        "How a day's rain is spread over the day, for a daily record",
        alias="within-day",
        default="type2",
        source="HAAN_1994",
    )


class Neighbour(Gauge):
    """A rain record of another gauge nearby, to fill gaps from and to judge the record by."""

    file: Text = given("Rain record, a path beside the plan file")
    distance_m: Distance = given("How far away it stands", alias="distance")


class Normals(Block):
    """Mean weather by month, for someone without a record: rain is then invented from it."""

    rain_m: tuple[SmallLength, ...] = given(
        "Mean rain of each of the twelve months, January first", alias="rain"
    )
    wet_days: tuple[Factor, ...] = given("Mean number of wet days of each month", alias="wet-days")
    wet_day_m: SmallLength = given(
        "Least rain that counts as a wet day", alias="wet-day", default=1e-3, source="ETCCDI_2009"
    )
    tmax_degc: tuple[Temperature, ...] | None = given(
        "Mean of the day's highest temperature in each month", alias="high", default=None
    )
    tmin_degc: tuple[Temperature, ...] | None = given(
        "Mean of the day's lowest temperature in each month", alias="low", default=None
    )
    years_count: Ganged = given(
        "Years of rain to invent", alias="years", default=30, source=ENGINEERING_CHOICE
    )
    seed: Count = given("Another number gives another invented sky", default=1)
