"""The walk-round: questions whose "yes" is a fault, and what the count of them means."""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Literal

from roofspring.errors import Problem, RangeError
from roofspring.errors.limits import not_negative

Fault = Literal["stop", "high", "medium"]
Band = Literal["low", "medium", "high", "very high"]
BANDS: tuple[Band, ...] = ("low", "medium", "high", "very high")
CORE_BANDS = ((2, 0), (5, 1), (8, 2), (10, 3))
"""Most faults of ten, and the band (WHO_1997)."""
E_COLI_BANDS = ((0.0, 0), (10.0, 1), (100.0, 2))
"""Most E. coli in 100 mL, and the band; above, very high (WHO_1997)."""

DO_NOT_DRINK = "do not drink it untreated until this is mended"


def rows(name: str) -> list[dict[str, str]]:
    """The rows of one table of this folder."""
    folder = resources.files("roofspring.safety.inspection")
    return list(
        csv.DictReader(folder.joinpath(f"tables/{name}.csv").read_text("utf-8").splitlines())
    )


@dataclass(frozen=True)
class Question:
    """One question; a "yes" is a fault.

    ``is_core`` marks the ten that are counted by the published scheme.
    """

    id: str
    place: str
    is_core: bool
    severity: Fault
    question: str
    why: str
    how: str


@cache
def questions() -> tuple[Question, ...]:
    """All of them, in the order of a walk from the roof to the cup.

    >>> len(questions()), sum(q.is_core for q in questions())
    (42, 10)
    """
    made = []
    for r in rows("walk_round"):
        severity = next(s for s in ("stop", "high", "medium") if s == r["severity"])
        made.append(
            Question(
                r["id"], r["place"], r["core"] == "yes", severity, r["question"], r["why"], r["how"]
            )
        )
    return tuple(made)


@dataclass(frozen=True)
class Score:
    """What a walk-round says.

    Attributes
    ----------
    core_count : int
        Faults among the ten core questions.
    band, worst_band : str
        By the published scheme: with the faults that were seen, and with each counted question
        that nobody looked at taken as one more.
    by_severity : mapping of str to int
        Faults of all questions.
    faults : tuple of Question
        All of them.
    stops : tuple of Question
        Faults that forbid drinking untreated, whatever the count.
    unanswered : tuple of str
        Questions without an answer: they count as neither.
    words : str
    """

    core_count: int
    band: Band
    worst_band: Band
    by_severity: Mapping[str, int]
    faults: tuple[Question, ...]
    stops: tuple[Question, ...]
    unanswered: tuple[str, ...]
    words: str


def score(answers: Mapping[str, bool]) -> Score:
    """Score a walk-round.

    Parameters
    ----------
    answers : mapping of str to bool
        True for each question answered "yes", by its id.

    Returns
    -------
    Score

    Raises
    ------
    RangeError (SAF-006)
        An answer to a question that there is not.

    Notes
    -----
    Of the ten core questions, 0 to 2 faults are a low, 3 to 5 a medium, 6 to 8 a high and more a
    very high risk; any fault marked *stop* says "do not drink it untreated" whatever the count.

    Source
    ------
    WHO_1997, from memory; the further questions and *stop* are our choice.

    Examples
    --------
    >>> score({"S19": True}).words.split(", but ")[0]
    'low to very high by count (0 of 10, 10 not looked at)'
    """
    by_id = {q.id: q for q in questions()}
    unknown = sorted(set(answers) - set(by_id))
    if unknown:
        raise RangeError(
            Problem(
                "SAF-006",
                "the walk-round has no such question",
                where=", ".join(unknown),
                allowed="S01 to S42",
                next="use the ids printed beside the questions",
            )
        )
    faults = [by_id[i] for i, yes in sorted(answers.items()) if yes]
    core = sum(q.is_core for q in faults)
    unseen = sum(q.is_core for q in by_id.values() if q.id not in answers)
    band, worst = _core_band(core), _core_band(core + unseen)
    stops = tuple(q for q in faults if q.severity == "stop")
    words = f"{band} by count ({core} of 10)"
    if unseen:
        spread = band if worst == band else f"{band} to {worst}"
        words = f"{spread} by count ({core} of 10, {unseen} not looked at)"
    if stops:
        words += f", but {DO_NOT_DRINK}: {', '.join(q.id for q in stops)}"
    missing = tuple(i for i in by_id if i not in answers)
    counts = {s: sum(q.severity == s for q in faults) for s in ("stop", "high", "medium")}
    return Score(core, band, worst, counts, tuple(faults), stops, missing, words)


def _core_band(faults_count: int) -> Band:
    return BANDS[next(b for most, b in CORE_BANDS if faults_count <= most)]


def e_coli_band(count_per_100ml: float) -> Band:
    """Band of an E. coli count in 100 mL.

    >>> e_coli_band(0.0), e_coli_band(7.0), e_coli_band(300.0)
    ('low', 'medium', 'very high')
    """
    not_negative("count_per_100ml", count_per_100ml)
    return BANDS[next((b for most, b in E_COLI_BANDS if count_per_100ml <= most), 3)]


def priority(walk: Band, e_coli: Band) -> Band:
    """The worse of walk-round and test: how soon to act (WHO_1997).

    >>> priority("low", "high")
    'high'
    """
    return BANDS[max(BANDS.index(walk), BANDS.index(e_coli))]
