"""Ripeness: how far the life in a bed has come, from 0 in new sand to 1 in a ripe filter.

No published law of ripening was found. The form is a plain approach to a limit, the rates are
engineering choices held to what is published: weeks when warm, months when cold, hours to days lost
when dry. The law itself is the kernel `ripeness_after`, which the engine runs day by day.
"""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass
from functools import cache
from importlib import resources

from roofspring.constants import SECONDS_PER_DAY, SECONDS_PER_HOUR, Sourced
from roofspring.errors.limits import known, not_negative, positive, share
from roofspring.kernels.skin import (
    DRY,
    WET,
    cleaned,
    ripeness_after,
    running_share,
    warmth_factor,
)
from roofspring.sources import ENGINEERING_CHOICE

RIPE_FRAC = 0.9
"""Ripeness from which a filter is called ripe; engineering choice, it fixes the rate below."""

RIPENING = Sourced(
    math.log(10.0) / 28.0,
    "1/day",
    ENGINEERING_CHOICE,
    "new sand is ripe after 28 days at 20 °C, within the published 2 to 6 weeks",
)
RIPENING_BASE = Sourced(
    1.066,
    "",
    "CAMPOS_2006, equation 30 and table 2",
    "growth of bacteria; that it also holds for ripening is our inference",
)
REST = Sourced(
    48.0, "h", "CAWST_SHEET", "a household filter may pause up to 48 hours (from memory)"
)
STOPPED_DECAY = Sourced(
    0.5, "1/day", ENGINEERING_CHOICE, "standing water turns anoxic after about two days"
)
DRY_DECAY = Sourced(
    2.0, "1/day", ENGINEERING_CHOICE, "a dry bed loses its life within hours to days"
)
TRICKLE = Sourced(
    0.1,
    "m/day",
    ENGINEERING_CHOICE,
    "water a day that keeps a bed alive: household filters fed twice that once a day ripen too",
)
LEAST_RUNNING = Sourced(
    0.05, "", ENGINEERING_CHOICE, "a share of the trickle below which a bed counts as stopped"
)
DECAY_BASE = Sourced(1.08, "", "CAMPOS_2006, equation 30 and table 2", "all losses of life")


@dataclass(frozen=True)
class Ripening:
    """Rates of ripening and of its loss, all at 20 degrees C.

    Attributes
    ----------
    ripening_per_day : float
        Share of what is still wanting that comes in a day of running [1/day].
    ripening_base, decay_base : float
        What a degree multiplies growth and loss by [-].
    trickle_m_per_s : float
        Mean rate from which a bed runs in full [m/s].
    least_running_frac : float
        Share of the trickle below which it counts as stopped [-].
    rest_s : float
        Time without flow that costs nothing [s].
    stopped_decay_per_day, dry_decay_per_day : float
        Share lost in a day of standing beyond the rest, and of lying dry [1/day].
    """

    ripening_per_day: float = RIPENING.value
    ripening_base: float = RIPENING_BASE.value
    rest_s: float = REST.value * SECONDS_PER_HOUR
    stopped_decay_per_day: float = STOPPED_DECAY.value
    dry_decay_per_day: float = DRY_DECAY.value
    decay_base: float = DECAY_BASE.value
    trickle_m_per_s: float = TRICKLE.value / SECONDS_PER_DAY
    least_running_frac: float = LEAST_RUNNING.value

    def __post_init__(self) -> None:
        positive("ripening_per_day", self.ripening_per_day)
        positive("ripening_base", self.ripening_base)
        not_negative("rest_s", self.rest_s)
        not_negative("stopped_decay_per_day", self.stopped_decay_per_day)
        not_negative("dry_decay_per_day", self.dry_decay_per_day)
        positive("decay_base", self.decay_base)
        positive("trickle_m_per_s", self.trickle_m_per_s)
        share("least_running_frac", self.least_running_frac)

    def running_frac(self, filtered_m: float, *, time_s: float) -> float:
        """Share of a time that a bed counts as running, from the depth of water that passed.

        >>> [Ripening().running_frac(v, time_s=86400.0) for v in (2.4, 0.2, 0.05, 0.001)]
        [1.0, 1.0, 0.5, 0.0]
        """
        not_negative("filtered_m", filtered_m)
        positive("time_s", time_s)
        return running_share(filtered_m, time_s, self.trickle_m_per_s, self.least_running_frac)


DEFAULT_RIPENING = Ripening()


@dataclass(frozen=True)
class BedLife:
    """Ripeness of a bed [-], and how long no water has passed it [s]."""

    ripeness_frac: float
    stopped_s: float = 0.0

    def after(
        self,
        time_s: float,
        *,
        temp_degc: float,
        running_frac: float,
        is_dry: bool = False,
        rates: Ripening = DEFAULT_RIPENING,
    ) -> BedLife:
        """What becomes of it in a time of one kind.

        >>> new = BedLife(0.0)
        >>> ripe = new.after(28 * 86400.0, temp_degc=20.0, running_frac=1.0)
        >>> stood = ripe.after(4 * 86400.0, temp_degc=20.0, running_frac=0.0)
        >>> dry = ripe.after(86400.0, temp_degc=20.0, running_frac=0.0, is_dry=True)
        >>> [round(x.ripeness_frac, 2) for x in (ripe, stood, dry)]
        [0.9, 0.33, 0.12]
        """
        share("ripeness_frac", self.ripeness_frac)
        not_negative("stopped_s", self.stopped_s)
        not_negative("time_s", time_s)
        share("running_frac", running_frac)
        ripeness, stopped = ripeness_after(
            self.ripeness_frac,
            self.stopped_s,
            time_s,
            temp_degc,
            running_frac,
            DRY if is_dry else WET,
            rates.ripening_per_day,
            rates.ripening_base,
            rates.rest_s,
            rates.stopped_decay_per_day,
            rates.dry_decay_per_day,
            rates.decay_base,
        )
        return BedLife(ripeness, stopped)


def ripening_time_s(
    ripeness_frac: float = 0.0,
    *,
    temp_degc: float,
    wanted_frac: float = RIPE_FRAC,
    running_frac: float = 1.0,
    rates: Ripening = DEFAULT_RIPENING,
) -> float:
    """Time for a bed to ripen.

    Parameters
    ----------
    ripeness_frac : float
        Ripeness at the start [-], 0 to 1.
    temp_degc : float
        Water temperature [degrees C]; below 0 counts as 0.
    wanted_frac : float
        Ripeness to get to [-], 0 to below 1.
    running_frac : float
        Share of the time that water passes [-], above 0.
    rates : Ripening

    Returns
    -------
    float
        Time [s]; 0 where it is there already.

    Raises
    ------
    RangeError (DOM-002, DOM-003)
        A value outside its range.

    Notes
    -----
    ``t = ln((1 - r0)/(1 - r1)) / (f k20 base**(T - 20))``.

    Source
    ------
    Engineering choice, within HUISMAN_WOOD_1974; CAMPOS_2006 for the temperature.

    Examples
    --------
    >>> [round(ripening_time_s(temp_degc=t) / 86400) for t in (20.0, 10.0, 5.0)]
    [28, 53, 73]
    """
    share("ripeness_frac", ripeness_frac)
    share("wanted_frac", wanted_frac)
    positive("1 - wanted_frac", 1.0 - wanted_frac)
    positive("running_frac", running_frac)
    share("running_frac", running_frac)
    if ripeness_frac >= wanted_frac:
        return 0.0
    per_day = (
        running_frac
        * rates.ripening_per_day
        * warmth_factor(max(0.0, temp_degc), rates.ripening_base)
    )
    wanting = math.log((1.0 - ripeness_frac) / (1.0 - wanted_frac))
    return wanting / per_day * SECONDS_PER_DAY


@dataclass(frozen=True)
class Cleaning:
    """One way to clean a bed, or to begin with it: a row of the table.

    Attributes
    ----------
    name, title : str
    removed_low_m, removed_m, removed_high_m : float
        Sand it takes off: least, usual, most [m].
    skin_left_frac, ripeness_left_frac : float
        Shares of the skin's resistance and of ripeness that it leaves [-].
    waste_low_days, waste_days, waste_high_days : float
        Days to waste afterwards in warm water: least, usual, most.
    source, seen, note : str
    """

    name: str
    title: str
    removed_low_m: float
    removed_m: float
    removed_high_m: float
    skin_left_frac: float
    ripeness_left_frac: float
    waste_low_days: float
    waste_days: float
    waste_high_days: float
    source: str
    seen: str
    note: str

    def apply(
        self, skin_resistance_s: float, *, ripeness_frac: float, sand_m: float
    ) -> tuple[float, float, float]:
        """Skin [s], ripeness and sand depth [m] after it; re-sanding does not say how much it adds.

        >>> cleanings()["scrape"].apply(5000.0, ripeness_frac=0.9, sand_m=0.6)
        (250.0, 0.45, 0.585)
        """
        not_negative("skin_resistance_s", skin_resistance_s)
        share("ripeness_frac", ripeness_frac)
        not_negative("sand_m", sand_m)
        return cleaned(
            skin_resistance_s,
            ripeness_frac,
            sand_m,
            self.skin_left_frac,
            self.ripeness_left_frac,
            self.removed_m,
        )


@cache
def _table() -> tuple[Cleaning, ...]:
    path = resources.files("roofspring.sandfilter").joinpath("tables/cleanings.csv")
    return tuple(
        Cleaning(
            name=row["cleaning"],
            title=row["title"],
            removed_low_m=float(row["removed_low_m"]),
            removed_m=float(row["removed_m"]),
            removed_high_m=float(row["removed_high_m"]),
            skin_left_frac=float(row["skin_left_frac"]),
            ripeness_left_frac=float(row["ripeness_left_frac"]),
            waste_low_days=float(row["waste_low_days"]),
            waste_days=float(row["waste_days"]),
            waste_high_days=float(row["waste_high_days"]),
            source=row["source"],
            seen=row["seen"],
            note=row["note"],
        )
        for row in csv.DictReader(path.read_text("utf-8").splitlines())
    )


def cleanings() -> dict[str, Cleaning]:
    """Ways to clean by name: scrape, rake, swirl, re-sand, and start for new sand.

    >>> list(cleanings())
    ['scrape', 'rake', 'swirl', 're-sand', 'start']
    """
    return {row.name: row for row in _table()}


def cleaning_named(name: str) -> Cleaning:
    """One row; an unknown name is a `RangeError` (DOM-004).

    >>> cleaning_named("rake").removed_m
    0.0
    """
    known("cleaning", name, cleanings())
    return cleanings()[name]


@dataclass(frozen=True)
class WasteTime:
    """How long to run to waste [s]: least, usual and most."""

    low_s: float
    usual_s: float
    high_s: float


def waste_time(cleaning: str, *, temp_degc: float, rates: Ripening = DEFAULT_RIPENING) -> WasteTime:
    """Time to waste after a cleaning or a start, at a water temperature.

    Parameters
    ----------
    cleaning : str
        A name in `cleanings`.
    temp_degc : float
        Water temperature [degrees C]; below 0 counts as 0.
    rates : Ripening
        Whose ``ripening_base`` says how cold slows it.

    Returns
    -------
    WasteTime

    Raises
    ------
    RangeError (DOM-004)
        No such cleaning.

    Notes
    -----
    The published days hold for warm water, taken as 20 degrees C, and are multiplied by
    ``base**(20 - T)``: an inference, not published. What ends it is the water, not the calendar:
    turbidity under 1 NTU and no E. coli in 100 mL, twice running.

    Source
    ------
    That of the row; CAMPOS_2006 for the temperature.

    Examples
    --------
    >>> round(waste_time("scrape", temp_degc=10.0).usual_s / 86400, 1)
    3.8
    """
    row = cleaning_named(cleaning)
    slower = SECONDS_PER_DAY / warmth_factor(max(0.0, temp_degc), rates.ripening_base)
    return WasteTime(
        row.waste_low_days * slower, row.waste_days * slower, row.waste_high_days * slower
    )
