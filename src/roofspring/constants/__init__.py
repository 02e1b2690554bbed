"""Physical constants, each with its source. The floats beside them are views, not copies."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Sourced:
    """A number with its unit and the place it comes from.

    ``source`` is a bibliography key, optionally followed by a comma and the place in it, or one of
    the two plain statements in `roofspring.sources`.
    """

    value: float
    unit: str
    source: str
    note: str = ""


GRAVITY = Sourced(9.80665, "m/s2", "CGPM_1901", "standard acceleration of free fall")
GRAVITY_M_PER_S2: float = GRAVITY.value

US_GALLON = Sourced(3.785411784e-3, "m3", "NIST_HB44, appendix C", "231 cubic inches, exact")
US_GALLON_M3: float = US_GALLON.value

INCH = Sourced(0.0254, "m", "NIST_HB44, appendix C", "exact")
INCH_M: float = INCH.value

SECONDS_PER_DAY: float = 86400.0
SECONDS_PER_HOUR: float = 3600.0
