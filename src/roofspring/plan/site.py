"""Where the system stands, and how its run is made."""

from __future__ import annotations

from roofspring.plan.pieces import Block, Text
from roofspring.plan.quantities import (
    Count,
    Duration,
    Elevation,
    Latitude,
    SmallLength,
    Temperature,
    given,
)
from roofspring.sources import ENGINEERING_CHOICE


class Site(Block):
    """Where the system stands."""

    datum: Text = given(
        "In words, the point that all heights are measured from", default="height 0 of the plan"
    )
    people_count: Count = given("People the house supplies", alias="people", default=1)
    elevation_m: Elevation | None = given(
        "Height of the datum above the sea", alias="elevation", default=None
    )
    latitude_deg: Latitude | None = given(
        "Latitude, north positive", alias="latitude", default=None
    )


class RunBlock(Block):
    """How the run is made."""

    wet_step_s: Duration = given(
        "Longest step while it rains",
        alias="wet-step",
        default=3600.0,
        source=ENGINEERING_CHOICE,
    )
    dry_step_s: Duration = given(
        "Longest step while no rain falls",
        alias="dry-step",
        default=21600.0,
        source=ENGINEERING_CHOICE,
    )
    tolerance_m: SmallLength = given(
        "Error of a water level that one step may bring; steps are cut until it holds",
        alias="tolerance",
        default=1e-3,
        source=ENGINEERING_CHOICE,
    )
    water_temperature_degc: Temperature | None = given(
        "Temperature of the water in the filters",
        alias="water-temperature",
        derived="mean air temperature of the last ten days, not below 1 °C; 10 °C without a record",
    )
