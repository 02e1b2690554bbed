"""The germs that are reckoned with, what is published of them, and what steps take out of them."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib import resources

from roofspring.constants import Sourced
from roofspring.errors.limits import known
from roofspring.kernels.risk import APPROXIMATE, EXPONENTIAL, TABLED
from roofspring.safety.risk.dose_response import beta_from_n50

CUPS_PER_DAY = Sourced(3.49, "cup/day", "MONS_2007", "mean of cups of unheated water, Melbourne")
CUP_L = Sourced(0.25, "L", "MONS_2007", "size of a cup; from memory")
DRUNK_L_PER_DAY: float = CUPS_PER_DAY.value * CUP_L.value

INFECTION_TARGET = Sourced(1e-4, "1/year", "MASAGO_2006", "one infection in 10 000 people a year")
DALY_TARGET = Sourced(1e-6, "1/year", "WHO_GDWQ_2011", "reference level of tolerable burden")


def table_rows(name: str) -> list[dict[str, str]]:
    """Rows of one table of this package, each by its heads."""
    folder = resources.files("roofspring.safety.risk")
    return list(
        csv.DictReader(folder.joinpath(f"tables/{name}.csv").read_text("utf-8").splitlines())
    )


@dataclass(frozen=True)
class Response:
    """One published law of dose and response.

    Attributes
    ----------
    law : int
        As in `roofspring.kernels.risk`.
    first, second : float
        Chance of one organism and 0, or alpha and beta.
    basis, source, seen : str
    """

    law: int
    first: float
    second: float
    basis: str
    source: str
    seen: str

    @property
    def slope_frac(self) -> float:
        """Chance of infection by one organism when doses are very small [-]."""
        if self.law == EXPONENTIAL:
            return self.first
        if self.law == APPROXIMATE:
            return self.first / self.second
        return self.first / (self.first + self.second)


@dataclass(frozen=True)
class Occurrence:
    """How often one study found a germ in roof water.

    Attributes
    ----------
    positive_frac : float
        Share of its samples [-].
    samples_count : float
        Their number.
    what, source, seen : str
    """

    positive_frac: float
    samples_count: float
    what: str
    source: str
    seen: str


@dataclass(frozen=True)
class Agent:
    """A germ: where it was found in roof water, what it takes to infect, what an infection costs.

    Attributes
    ----------
    id, label, group : str
    is_scenario : bool
        True when it is not expected from a roof, and shown only as "what if".
    occurrence : tuple of Occurrence
        Studies of the share of days on which the raw water holds it, from the lowest to the
        highest: no more is known of a roof than that it may be like any of theirs.
    median_per_l : float
        Organisms when present [1/L].
    gsd_factor : float
        Geometric standard deviation of them.
    most_per_l : float
        Cut-off [1/L].
    viable_frac, ill_frac : tuple of float
        Range of the share that can infect, and of infections that make ill [-].
    daly_per_case : tuple of float
        Range of healthy years of life lost for each illness.
    susceptible_frac : float
    responses : tuple of Response
    found : str
        In words.
    source, burden_source, seen : str
        Of the level, and of the burden.
    """

    id: str
    label: str
    group: str
    is_scenario: bool
    occurrence: tuple[Occurrence, ...]
    median_per_l: float
    gsd_factor: float
    most_per_l: float
    viable_frac: tuple[float, float]
    ill_frac: tuple[float, float]
    daly_per_case: tuple[float, float]
    susceptible_frac: float
    responses: tuple[Response, ...]
    found: str
    source: str
    burden_source: str
    seen: str


@cache
def agents() -> dict[str, Agent]:
    """Every germ by its id, those expected from a roof first.

    >>> list(agents())
    ['campylobacter', 'salmonella', 'giardia', 'cryptosporidium', 'norovirus']
    """
    laws: dict[str, list[Response]] = {}
    exact = 0
    for row in table_rows("dose_response"):
        second = 0.0
        if row["law"] == "exponential":
            law, first = EXPONENTIAL, float(row["per_organism_frac"])
        else:
            first = float(row["alpha"])
            if row["beta"]:
                second = float(row["beta"])
            else:
                second = beta_from_n50(float(row["n50"]), alpha=first)
            law = APPROXIMATE
            if row["law"] == "exact-beta-poisson":
                law, exact = TABLED + exact, exact + 1
        made = Response(law, first, second, row["basis"], row["source"], row["seen"])
        laws.setdefault(row["agent"], []).append(made)
    seen: dict[str, list[Occurrence]] = {}
    for row in table_rows("occurrence"):
        study = Occurrence(
            float(row["positive_frac"]),
            float(row["samples"]),
            row["what"],
            row["source"],
            row["seen"],
        )
        seen.setdefault(row["agent"], []).append(study)
    return {
        row["agent"]: _agent(
            row,
            tuple(sorted(seen[row["agent"]], key=lambda o: o.positive_frac)),
            tuple(laws[row["agent"]]),
        )
        for row in table_rows("agents")
    }


def _agent(
    row: dict[str, str], occurrence: tuple[Occurrence, ...], responses: tuple[Response, ...]
) -> Agent:
    def pair(name: str) -> tuple[float, float]:
        low, high = (f"{name}_low", f"{name}_high")
        end = "" if name == "daly" else "_frac"
        return float(row[low + end]), float(row[high + end])

    return Agent(
        row["agent"],
        row["label"],
        row["group"],
        row["scenario"] == "yes",
        occurrence,
        float(row["median_per_l"]),
        float(row["gsd"]),
        float(row["most_per_l"]),
        pair("viable"),
        pair("ill"),
        pair("daly"),
        float(row["susceptible_frac"]),
        responses,
        row["found"],
        row["source"],
        row["burden_source"],
        row["seen"],
    )


@dataclass(frozen=True)
class Credit:
    """Published range of one step for a group of germs, or for one germ of it."""

    barrier: str
    title: str
    group: str
    low_log10: float
    high_log10: float
    counts_when: str
    source: str
    seen: str


@cache
def credits_table() -> tuple[Credit, ...]:
    """Every row, in the order of the file."""
    return tuple(
        Credit(
            row["barrier"],
            row["title"],
            row["group"],
            float(row["low_log10"]),
            float(row["high_log10"]),
            row["counts_when"],
            row["source"],
            row["seen"],
        )
        for row in table_rows("barriers")
    )


def credit(barrier: str, *, group: str, agent: str = "") -> Credit:
    """What a disinfection step takes: of one germ where the table knows it, else of its group.

    Parameters
    ----------
    barrier, group, agent : str
        Names of the table; without an agent, the weakest of the group's rows.

    Returns
    -------
    Credit

    Raises
    ------
    RangeError (DOM-004)
        A barrier or group that the table does not have.

    Examples
    --------
    >>> credit("chlorine", group="protozoa", agent="giardia").low_log10
    0.5
    >>> credit("chlorine", group="protozoa").high_log10
    0.0
    """
    known("barrier", barrier, dict.fromkeys(c.barrier for c in credits_table()))
    known("group", group, ("bacteria", "viruses", "protozoa"))
    own = [c for c in credits_table() if c.barrier == barrier]
    named = [c for c in own if c.group == agent]
    if named:
        return named[0]
    members = {a.id for a in agents().values() if a.group == group}
    fitting = [c for c in own if c.group == group or (not agent and c.group in members)]
    return min(fitting, key=lambda c: (c.low_log10, c.high_log10))
