"""Published removals of slow sand filters, as ranges with where they come from."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

from roofspring.errors.limits import known

GROUPS = ("bacteria", "viruses", "protozoa")

_FOLDER = "roofspring.sandfilter.removal"


def _rows(name: str) -> list[dict[str, str]]:
    text = resources.files(_FOLDER).joinpath(f"tables/{name}.csv").read_text("utf-8")
    return list(csv.DictReader(text.splitlines()))


@dataclass(frozen=True)
class PublishedRange:
    """One row: a group of germs, what held, least and most log reduction, and the source."""

    group: str
    condition: str
    low_log10: float
    high_log10: float
    source: str
    where: str
    seen: str
    note: str

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        return dict(vars(self))


@cache
def published_ranges() -> tuple[PublishedRange, ...]:
    """All rows, in the order of the file.

    >>> published_ranges()[0].group, published_ranges()[0].high_log10
    ('bacteria', 6.0)
    """
    return tuple(
        PublishedRange(
            row["group"],
            row["condition"],
            float(row["low_log10"]),
            float(row["high_log10"]),
            row["source"],
            row["where"],
            row["seen"],
            row["note"],
        )
        for row in _rows("published")
    )


def range_of(group: str, condition: str) -> PublishedRange:
    """First row of a group and condition; an unknown one is a `RangeError` (DOM-004).

    >>> range_of("viruses", "any").low_log10
    0.25
    """
    known("group", group, GROUPS)
    rows = [row for row in published_ranges() if row.group == group]
    known("condition", condition, dict.fromkeys(row.condition for row in rows))
    return next(row for row in rows if row.condition == condition)


@dataclass(frozen=True)
class Experiment:
    """One measured passage of SCHIJVEN_2013; ``is_consistent`` where its own numbers agree."""

    name: str
    agent: str
    temp_degc: float
    age_days: float
    rate_m_per_s: float
    grain_m: float
    depth_m: float
    porosity_frac: float
    dispersivity_m: float
    lambda_per_day: float
    removal_log10: float
    is_consistent: bool


@cache
def experiments() -> tuple[Experiment, ...]:
    """The 24 passages, in the order of the file."""
    return tuple(
        Experiment(
            row["experiment"],
            row["agent"],
            float(row["temp_degc"]),
            float(row["age_days"]),
            float(row["rate_cm_per_h"]) / 100.0 / 3600.0,
            float(row["grain_mm"]) / 1e3,
            float(row["depth_m"]),
            float(row["porosity_frac"]),
            float(row["dispersivity_cm"]) / 100.0,
            float(row["lambda_per_day"]),
            float(row["removal_log10"]),
            not row["note"],
        )
        for row in _rows("experiments")
    )


@dataclass(frozen=True)
class NotRemoved:
    """What sand lets through, and what to do about it."""

    substance: str
    title: str
    what_to_do: str
    source: str
    seen: str

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        return dict(vars(self))


@cache
def not_removed() -> tuple[NotRemoved, ...]:
    """The list, in the order of the file.

    >>> not_removed()[0].title
    'salts, hardness, nitrate, fluoride'
    """
    return tuple(
        NotRemoved(row["substance"], row["title"], row["what_to_do"], row["source"], row["seen"])
        for row in _rows("not_removed")
    )
