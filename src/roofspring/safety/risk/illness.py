"""Illness by this reckoning, beside illness that was counted in people who drank roof water."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any, Literal

import numpy as np
import numpy.typing as npt

from roofspring.safety.risk.agents import Agent, agents, table_rows
from roofspring.safety.risk.assess import Bands, two_digits
from roofspring.safety.risk.simulate import BURDEN_STREAM, HOUSEHOLDS, percentiles, simulate_years
from roofspring.safety.risk.supply import YEAR_DAYS, Barriers

FloatArray = npt.NDArray[np.float64]

ILLNESS_YEARS_EACH = 5
SURE = 1.0 - 1e-12
"""A year in which an infection is certain counts as one that is certain to this much, or its
hazard would have no end."""


@dataclass(frozen=True)
class PeopleStudy:
    """Stomach illness counted in people, with roof water and with treated water.

    Attributes
    ----------
    id, title, people, compared : str
    episodes_per_person_year : float
        Of whatever cause: over both arms of a trial, or of those who drank treated water [1/year].
    ratio_low, ratio, ratio_high : float
        Rate of one group to that of the other, with its 95 % interval [-].
    ratio_of : str
        "treated-to-raw" in a trial with equal arms, or "raw-to-treated".
    left_out : str
        Who was not in it.
    source, seen : str
    """

    id: str
    title: str
    people: str
    compared: str
    episodes_per_person_year: float
    ratio_low: float
    ratio: float
    ratio_high: float
    ratio_of: Literal["treated-to-raw", "raw-to-treated"]
    left_out: str
    source: str
    seen: str

    def excess_per_person_year(self, ratio: float) -> float:
        """Illnesses of a person and year that raw roof water adds, were a ratio the true one.

        Parameters
        ----------
        ratio : float
            In the sense of ``ratio_of`` [-].

        Returns
        -------
        float
            Below 0 where those who drank treated water were ill more often [1/year].

        Notes
        -----
        Of a trial with equal arms the rate is the mean of both: ``r = u (1 + q) / 2``, and the raw
        arm has ``u (1 - q)`` more.

        Examples
        --------
        >>> round(people_studies()[0].excess_per_person_year(0.82), 3)
        0.152
        """
        rate = self.episodes_per_person_year
        if self.ratio_of == "treated-to-raw":
            return 2.0 * rate * (1.0 - ratio) / (1.0 + ratio)
        return rate * (ratio - 1.0)

    @property
    def excess_band(self) -> tuple[float, float, float]:
        """Low end, middle and high end of what raw roof water added [1/year]."""
        low, middle, high = sorted(
            self.excess_per_person_year(q) for q in (self.ratio_low, self.ratio, self.ratio_high)
        )
        return low, middle, high

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON; two digits."""
        low, middle, high = self.excess_band
        return {
            "id": self.id,
            "title": self.title,
            "people": self.people,
            "all_causes_per_person_year": self.episodes_per_person_year,
            "added_by_roof_water_per_person_year": two_digits(
                {"low95": low, "middle": middle, "high95": high}
            ),
            "left_out": self.left_out,
            "source": self.source,
        }


@cache
def people_studies() -> tuple[PeopleStudy, ...]:
    """Every study of the table, the one of the strongest design first."""
    return tuple(
        PeopleStudy(
            row["study"],
            row["title"],
            row["people"],
            row["compared"],
            float(row["episodes_per_person_year"]),
            float(row["ratio_low"]),
            float(row["ratio"]),
            float(row["ratio_high"]),
            "treated-to-raw" if row["ratio_of"] == "treated-to-raw" else "raw-to-treated",
            row["left_out"],
            row["source"],
            row["seen"],
        )
        for row in table_rows("people")
    )


@dataclass(frozen=True)
class Illness:
    """Stomach illnesses of a person and year from the germs of roofs, all of them together.

    Attributes
    ----------
    as_it_is, raw : dict
        ``p05``, ``p50``, ``p95`` over households: as the plan is used, and with no barrier at
        all [1/year].
    room_frac : dict
        For each study by id, the share of our households without a barrier that lies under the
        high end of what it found [-].
    """

    as_it_is: Bands
    raw: Bands
    room_frac: dict[str, float]

    @property
    def times_over(self) -> float:
        """Our middle for raw water over the high end of the first study [-]."""
        return self.raw["p50"] / people_studies()[0].excess_band[-1]

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON; two digits."""
        return {
            "as_it_is_per_person_year": two_digits(self.as_it_is),
            "raw_per_person_year": two_digits(self.raw),
            "counted": [
                {**s.to_dict(), "our_raw_households_under_its_high_end_frac":
                 two_digits({s.id: self.room_frac[s.id]})[s.id]}
                for s in people_studies()
            ],
        }  # fmt: skip


def illnesses_per_person_year(
    by_agent: Mapping[str, Barriers], *, households: int = HOUSEHOLDS, seed: int = 1
) -> FloatArray:
    """Illnesses of a person and year, for each household, over all germs expected from a roof.

    Parameters
    ----------
    by_agent : mapping of str to Barriers
        What stands between roof and glass for each germ; scenarios are left out.
    households, seed : int

    Returns
    -------
    array of float (households,)
        Mean number in a year [1/year].

    Notes
    -----
    The chance of at least one infection in a year is turned back to their mean number, as if
    nobody became immune: ``-ln(1 - P)``. Germs are drawn apart from each other, for they come from
    different animals.
    """
    total = np.zeros(households)
    for place, agent in enumerate(agents().values()):
        if agent.id in by_agent and not agent.is_scenario:
            total += _of_one(agent, by_agent[agent.id], households, seed + place)
    return total


def _of_one(agent: Agent, barriers: Barriers, households: int, seed: int) -> FloatArray:
    years = simulate_years(
        agent, barriers, households=households, years_each=ILLNESS_YEARS_EACH, seed=seed
    )
    hazard = -np.log1p(-np.minimum(years.chance_frac, SURE)).mean(axis=1)
    ill = np.random.default_rng([seed, BURDEN_STREAM]).uniform(*agent.ill_frac, households)
    return np.asarray(hazard * ill * agent.susceptible_frac, dtype=np.float64)


@cache
def raw_illnesses_per_person_year(households: int = HOUSEHOLDS, seed: int = 1) -> FloatArray:
    """The same of roof water that is drunk raw."""
    none = np.zeros(YEAR_DAYS)
    raw = dict.fromkeys(agents(), Barriers(none, none, none))
    return illnesses_per_person_year(raw, households=households, seed=seed)


def assess_illness(
    by_agent: Mapping[str, Barriers], *, households: int = HOUSEHOLDS, seed: int = 1
) -> Illness:
    """Illness as a plan is used and without any barrier, held against what was counted.

    Parameters
    ----------
    by_agent : mapping of str to Barriers
        As `illnesses_per_person_year`.
    households, seed : int

    Returns
    -------
    Illness
    """
    raw = raw_illnesses_per_person_year(households, seed)
    return Illness(
        percentiles(illnesses_per_person_year(by_agent, households=households, seed=seed)),
        percentiles(raw),
        {s.id: float((raw <= s.excess_band[-1]).mean()) for s in people_studies()},
    )
