"""What a bed takes out on a day: a range for each group of germs, and a number only where it holds.

Nothing here says that water may be drunk. A sand filter alone normally leaves too many viruses.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal, TypeVar

import numpy as np
import numpy.typing as npt

from roofspring.errors.limits import known, share
from roofspring.sandfilter.removal.published import GROUPS, published_ranges, range_of
from roofspring.sandfilter.removal.regression import (
    MOST_LOG10,
    RECONSTRUCTION,
    SPREAD_LOG10,
    STICKING,
    Agent,
    BedState,
    regression_log10,
)
from roofspring.sandfilter.validity import Bound

Setting = Literal["household", "any"]
Days = TypeVar("Days", float, npt.NDArray[np.float64])

NEW_SAND = ("new sand", "first day of a household filter", "cold and out of specification")
"""Conditions whose rows stand for a bed without life."""

COLD_BASE: dict[str, float] = {"bacteria": 1.069, "viruses": 1.14, "protozoa": 1.069}
"""What a degree multiplies the log reduction by in water colder than `COLD_FROM_DEGC` [-].

From run G1 (16.8 degrees C: 2.5 and 1.5 log) to G2 (4.5: 1.1 and 0.3) of SCHIJVEN_2013. Of protozoa
nothing of the kind was found: as bacteria, an engineering choice."""
COLD_FROM_DEGC = 17.0

_PUBLISHED_RATE = Bound("rate", 0.0, 0.40, "m/h", 3600.0)
_PUBLISHED_DEPTH = Bound("bed", 0.40, 1.61, "m")
"""Rates and depths of the published filters (BELLAMY_1985, SCHIJVEN_2013; 0.40 m our choice)."""

_STANDS_FOR: dict[str, Agent] = {"bacteria": "E. coli", "viruses": "MS2"}


@dataclass(frozen=True)
class Removal:
    """What a bed takes out of one group of germs.

    Attributes
    ----------
    group : str
    low_log10, high_log10 : float
        Range to reckon with [-].
    point_log10 : float or None
        By the regression, where the bed lies inside its experiments; else None.
    outside : tuple of str
        Why there is no point, one clause each.
    basis : str
        Where the range comes from, in words.
    source : str
        Bibliography key.
    """

    group: str
    low_log10: float
    high_log10: float
    point_log10: float | None
    outside: tuple[str, ...]
    basis: str
    source: str

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        return {**vars(self), "outside": list(self.outside)}


@dataclass(frozen=True)
class RangeLaw:
    """Ends of the range for new sand and for a ripe bed, and what cold does: for many days at once.

    Attributes
    ----------
    group : str
    new_low_log10, new_high_log10, ripe_low_log10, ripe_high_log10 : float
        Log10 reductions [-].
    cold_base : float
        What a degree below ``cold_from_degc`` divides them by [-].
    cold_from_degc : float
    """

    group: str
    new_low_log10: float
    new_high_log10: float
    ripe_low_log10: float
    ripe_high_log10: float
    cold_base: float
    cold_from_degc: float = COLD_FROM_DEGC

    def at(self, ripeness_frac: Days, temp_degc: Days) -> tuple[Days, Days]:
        """Least and most log10 reduction of a day, or of each day of two arrays of a length."""
        colder = np.clip(temp_degc, 0.0, self.cold_from_degc) - self.cold_from_degc
        factor = self.cold_base**colder
        low = self.new_low_log10 + ripeness_frac * (self.ripe_low_log10 - self.new_low_log10)
        high = self.new_high_log10 + ripeness_frac * (self.ripe_high_log10 - self.new_high_log10)
        return factor * low, factor * high


def range_law(group: str, *, setting: Setting = "household") -> RangeLaw:
    """The range of a group of germs, from the published rows.

    Parameters
    ----------
    group : str
        One of `GROUPS`.
    setting : str
        ``household`` for the range of small intermittent filters, ``any`` for that of all.

    Returns
    -------
    RangeLaw

    Raises
    ------
    RangeError (DOM-004)
        An unknown group or setting.

    Source
    ------
    As `removal_range_log10`.

    Examples
    --------
    >>> law = range_law("viruses")
    >>> law.new_low_log10, law.ripe_high_log10
    (0.0, 2.0)
    >>> law.at(np.array([0.0, 1.0]), np.array([17.0, 17.0]))[1]
    array([0.4, 2. ])
    """
    known("group", group, GROUPS)
    known("setting", setting, ("household", "any"))
    new = [r for r in published_ranges() if r.group == group and r.condition in NEW_SAND]
    ripe = range_of(group, setting)
    new_low = min(r.low_log10 for r in new)
    return RangeLaw(
        group,
        new_low,
        min(ripe.high_log10, max(r.high_log10 for r in new)),
        max(ripe.low_log10, new_low),
        ripe.high_log10,
        COLD_BASE[group],
    )


def removal_range_log10(
    group: str,
    *,
    ripeness_frac: float,
    temp_degc: float = COLD_FROM_DEGC,
    setting: Setting = "household",
) -> tuple[float, float]:
    """Published range of log reduction for a bed of some ripeness, in water of some warmth.

    Parameters
    ----------
    group : str
        One of `GROUPS`.
    ripeness_frac : float
        0 for new sand, 1 for a ripe bed [-].
    temp_degc : float
        Water temperature [degrees C].
    setting : str
        ``household`` for the range of small intermittent filters, ``any`` for that of all.

    Returns
    -------
    tuple of float
        Least and most log10 reduction [-].

    Raises
    ------
    RangeError (DOM-003, DOM-004)
        A share outside 0 to 1; an unknown group or setting.

    Notes
    -----
    Between new sand and a ripe bed both ends go along a straight line with the ripeness, and both
    are multiplied by ``base**(T - 17)`` in colder water: engineering choices, held to the rows of
    ``tables/published.csv``.

    Source
    ------
    WHO_GDWQ_2011, tables 7.7 and 7.8; BELLAMY_1985 and DIZER_2004 for new sand; SCHIJVEN_2013 for
    the cold.

    Examples
    --------
    >>> [round(x, 2) for x in removal_range_log10("bacteria", ripeness_frac=1.0)]
    [1.0, 3.0]
    >>> [round(x, 2) for x in removal_range_log10("viruses", ripeness_frac=0.5, temp_degc=5.0)]
    [0.05, 0.25]
    """
    share("ripeness_frac", ripeness_frac)
    low, high = range_law(group, setting=setting).at(ripeness_frac, temp_degc)
    return float(low), float(high)


def removal(
    group: str, *, state: BedState, ripeness_frac: float, setting: Setting = "household"
) -> Removal:
    """What a bed takes out of a group of germs, from its state on a day.

    Parameters
    ----------
    group : str
        One of `GROUPS`.
    state : BedState
        Sand, rate, temperature and age of the skin.
    ripeness_frac : float
        [-], 0 to 1; see `ripening`.
    setting : str
        As in `removal_range_log10`.

    Returns
    -------
    Removal
        The range of the regression over the sands it was fitted to, with its own spread, and the
        point of the most common one, where the bed lies inside the experiments; else the published
        range alone. A bed faster or shallower than any published one counts as new sand.

    Raises
    ------
    RangeError (DOM-003, DOM-004)
        As `removal_range_log10`.

    Source
    ------
    As `removal_range_log10` and `regression_log10`, which is a reconstruction.

    Examples
    --------
    >>> state = BedState(0.7, 0.4e-3, 0.40, 0.1 / 3600, 12.0, 60.0)
    >>> found = removal("bacteria", state=state, ripeness_frac=1.0)
    >>> found.point_log10, len(found.outside), round(found.low_log10, 2)
    (None, 2, 0.72)
    """
    low, high = removal_range_log10(
        group, ripeness_frac=ripeness_frac, temp_degc=state.temp_degc, setting=setting
    )
    beyond = [
        clause
        for clause in (
            _PUBLISHED_RATE.says(state.rate_m_per_s),
            _PUBLISHED_DEPTH.says(state.depth_m),
        )
        if clause
    ]
    if beyond:
        low, _ = removal_range_log10(
            group, ripeness_frac=0.0, temp_degc=state.temp_degc, setting=setting
        )
    agent = _STANDS_FOR.get(group)
    outside = state.outside
    if agent is None:
        outside = ("the regression knows bacteria and viruses only",)
    elif not outside:
        return _by_regression(group, agent, state)
    row = range_of(group, setting)
    basis = f"published range of {setting} filters, by ripeness and cold"
    if beyond:
        basis += "; low end as new sand, for no published filter is like this"
    return Removal(group, low, high, None, outside, basis, row.source)


def _by_regression(group: str, agent: Agent, state: BedState) -> Removal:
    values = {
        plant: regression_log10(agent, state=state, sticking_frac=stick)
        for plant, stick in STICKING[agent].items()
    }
    most = MOST_LOG10.value
    return Removal(
        group,
        max(0.0, min(most, min(values.values()) - SPREAD_LOG10.value)),
        min(most, max(values.values()) + SPREAD_LOG10.value),
        min(most, values["W and L"]),
        (),
        f"regression of 24 passages, {RECONSTRUCTION}; the range is that of three sands",
        "SCHIJVEN_2013",
    )
