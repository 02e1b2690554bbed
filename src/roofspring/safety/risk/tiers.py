"""Household treatment by the worst of three groups, as the trade's three classes name it."""

from __future__ import annotations

from collections.abc import Mapping

from roofspring.errors.limits import known, not_negative

CLASSES: tuple[tuple[int, dict[str, float]], ...] = (
    (3, {"bacteria": 4.0, "viruses": 5.0, "protozoa": 4.0}),
    (2, {"bacteria": 2.0, "viruses": 3.0, "protozoa": 2.0}),
)
"""Stars and the least log reduction of each group (WHO_HWT_2011, from memory)."""


def stars(log10: Mapping[str, float]) -> int:
    """Stars of a treatment, from its low log reductions.

    Parameters
    ----------
    log10 : mapping of str to float
        Least log reduction of bacteria, viruses and protozoa [-].

    Returns
    -------
    int
        3 when all three groups reach the higher class, 2 the lower, 1 when two groups of three
        reach the lower, else 0.

    Raises
    ------
    RangeError (DOM-002, DOM-004)
        A reduction below 0; a group that is missing or unknown.

    Source
    ------
    WHO_HWT_2011, from memory.

    Examples
    --------
    >>> stars({"bacteria": 2.0, "viruses": 1.0, "protozoa": 3.0})
    1
    """
    for group, value in log10.items():
        known("group", group, CLASSES[0][1])
        not_negative(group, value)
    for group in CLASSES[0][1]:
        known("log10", group, log10)
    for count, least in CLASSES:
        if all(log10[group] >= need for group, need in least.items()):
            return count
    reached = sum(log10[group] >= need for group, need in CLASSES[-1][1].items())
    return int(reached >= 2)
