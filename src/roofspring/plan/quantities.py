"""Typed text: what a plan field accepts, and how it becomes an SI float."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import BeforeValidator, Field

from roofspring.errors import UnitError
from roofspring.units import example, parse


class ValueRefused(ValueError):
    """A value that cannot stand: carries what is allowed and the next step for the reader."""

    def __init__(self, what: str, *, allowed: str = "", next_step: str = "") -> None:
        super().__init__(what)
        self.what, self.allowed, self.next_step = what, allowed, next_step


@dataclass(frozen=True)
class Reads:
    """Turns text such as ``"5 ft 3 in"`` into an SI float within stated limits.

    The limits are sanity limits: they catch a slip of the unit, not bad engineering.
    """

    unit: str
    low: float
    high: float
    low_text: str
    high_text: str
    digits: int = 5
    """Significant digits at most, when a value is shown."""

    def __call__(self, value: Any) -> float:
        """Parse and check one value from the plan file."""
        if isinstance(value, bool) or not isinstance(value, (str, int, float)):
            raise ValueRefused("this is not a quantity", allowed=self.allowed, next_step=self._next)
        if not isinstance(value, str):
            if self.unit:
                raise ValueRefused(
                    "the unit is missing", allowed=self.allowed, next_step=self._next
                )
            try:
                number = float(value)
            except OverflowError:  # a whole number with hundreds of digits
                number = math.inf
        else:
            try:
                number = parse(value, to=self.unit)
            except UnitError as error:
                problem = error.problems[0]
                raise ValueRefused(
                    problem.what, allowed=self.allowed, next_step=self._next
                ) from error
        if not self.low <= number <= self.high:  # also refuses not-a-number
            raise ValueRefused(
                "outside what such a value can be", allowed=self.allowed, next_step=self._check
            )
        return number

    @property
    def allowed(self) -> str:
        """The limits in words."""
        kind = f"a quantity in quotes, like {example(self.unit)}" if self.unit else "a number"
        return f"{kind}, from {self.low_text} to {self.high_text}"

    _check = "check the unit"

    @property
    def _next(self) -> str:
        return f"write it like {example(self.unit)}"


class ReadsAmount(Reads):
    """Takes an amount of money: a plain number, for no coin can be turned into another."""

    _check = "check the number"

    def __call__(self, value: Any) -> float:
        """Check one amount from the plan file."""
        if isinstance(value, (str, bool)):
            raise ValueRefused(
                "an amount of money is a plain number",
                allowed=self.allowed,
                next_step="write the number alone; the word for the coin stands in [money]",
            )
        return super().__call__(value)


def _reads(unit: str, low: float, high: float, low_text: str, high_text: str) -> BeforeValidator:
    return BeforeValidator(Reads(unit, low, high, low_text, high_text))


Height = Annotated[float, _reads("m", -100.0, 100.0, "-100 m", "100 m above the datum")]
Elevation = Annotated[float, _reads("m", -450.0, 9000.0, "-450 m", "9000 m above the sea")]
Distance = Annotated[float, _reads("m", 1.0, 3e6, "1 m", "3000 km")]
Length = Annotated[float, _reads("m", 1e-4, 1000.0, "0.1 mm", "1000 m")]
Bore = Annotated[float, _reads("m", 1e-4, 2.0, "0.1 mm", "2 m")]
Station = Annotated[float, _reads("m", 0.0, 1000.0, "0", "1000 m")]
SmallLength = Annotated[float, _reads("m", 0.0, 10.0, "0", "10 m")]
Grain = Annotated[float, _reads("m", 2e-5, 0.2, "0.02 mm", "200 mm")]
Area = Annotated[float, _reads("m2", 1e-4, 1e6, "1 cm²", "1 km²")]
Volume = Annotated[float, _reads("m3", 0.0, 1e6, "0", "1,000,000 m³")]
Flow = Annotated[float, _reads("m3/s", 0.0, 10.0, "0", "10 m³/s")]
Rate = Annotated[float, _reads("m/s", 0.0, 0.1, "0", "0.1 m/s")]
Duration = Annotated[float, _reads("s", 0.0, 4e7, "0", "1 year")]
Temperature = Annotated[float, _reads("degC", -60.0, 60.0, "-60 °C", "60 °C")]
Share = Annotated[float, _reads("", 0.0, 1.0, "0", "1 (or 100 %)")]
Dose = Annotated[float, _reads("mJ/cm2", 0.0, 1000.0, "0", "1000 mJ/cm²")]
Clearness = Annotated[float, _reads("", 0.01, 1.0, "1 %", "1 (or 100 %)")]
Voids = Annotated[float, _reads("", 0.1, 0.9, "0.1", "0.9")]
Roundness = Annotated[float, _reads("", 0.1, 1.0, "0.1", "1")]
Uniformity = Annotated[float, _reads("", 1.0, 5.0, "1", "5")]
Factor = Annotated[float, _reads("", 0.0, 1000.0, "0", "1000")]
Slowness = Annotated[float, _reads("s/m", 0.0, 3.6e6, "0", "1000 h/m")]
SlowRate = Annotated[float, _reads("m/s", 0.0, 0.5 / 86400.0, "0", "500 mm a day")]
Mass = Annotated[float, _reads("kg", 0.0, 1e5, "0", "100 t")]
Latitude = Annotated[float, _reads("deg", -90.0, 90.0, "-90°", "90°, north positive")]
Daily = Annotated[float, _reads("m3/day", 0.0, 1e5, "0", "100,000 m³ a day")]
DepthPerDay = Annotated[float, _reads("m/day", 0.0, 0.5, "0", "500 mm a day")]
Span = Annotated[float, _reads("year", 1.0 / 52.2, 100.0, "1 week", "100 years")]
Amount = Annotated[
    float, BeforeValidator(ReadsAmount("", 0.0, 1e9, "0", "1,000,000,000", digits=12))
]
Count = Annotated[int, Field(strict=True, ge=0, le=100_000)]
Ganged = Annotated[int, Field(strict=True, ge=1, le=1000)]
Hour = Annotated[int, Field(strict=True, ge=0, le=23)]
Month = Annotated[int, Field(strict=True, ge=1, le=12)]
Flag = Annotated[bool, Field(strict=True)]


def given(
    about: str, *, alias: str | None = None, default: Any = ..., source: str = "", derived: str = ""
) -> Any:
    """A plan field: its words for the reference page, its default and where that comes from.

    ``source`` is a bibliography key or a plain statement. ``derived`` says in words what stands in
    when the field is left out and no fixed default exists.
    """
    extra: dict[str, Any] = {"source": source, "derived": derived}
    if derived and default is ...:
        default = None
    return Field(default=default, alias=alias, description=about, json_schema_extra=extra)
