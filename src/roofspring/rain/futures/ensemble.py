"""Many possible futures of one model, one at a time, each with a stream of its own."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from roofspring.errors import Problem, RangeError
from roofspring.rain.futures.base import START, FittedModel
from roofspring.rain.record import RainRecord

MAX_MEMBERS = 100_000


def ensemble(
    model: FittedModel, *, members: int, years: int, seed: int, start: np.datetime64 = START
) -> Iterator[RainRecord]:
    """Make possible futures, lazily.

    Parameters
    ----------
    model : FittedModel
    members : int
        1 to 100,000.
    years : int
        Length of each.
    seed : int
        0 or more.
    start : numpy.datetime64
        First day of each.

    Returns
    -------
    iterator of RainRecord
        Member i is the same whatever the number of members and the order they are made in: see
        `member`.

    Raises
    ------
    RangeError
        REC-064: members or seed outside their limits. REC-023: years outside theirs.

    Source
    ------
    Independent streams: numpy.random.SeedSequence; engineering choice.

    Examples
    --------
    >>> from roofspring.rain.futures import MonthlyNormals
    >>> model = MonthlyNormals(rain_m=(0.06,) * 12, wet_days=(10,) * 12).model()
    >>> futures = ensemble(model, members=200, years=30, seed=1)
    >>> next(futures).hash == member(model, 0, years=30, seed=1).hash
    True
    """
    _check(members, seed)
    return (member(model, i, years=years, seed=seed, start=start) for i in range(members))


def member(
    model: FittedModel, number: int, *, years: int, seed: int, start: np.datetime64 = START
) -> RainRecord:
    """One possible future by its number, from 0, without making the others.

    Raises
    ------
    RangeError
        REC-064: number or seed outside their limits. REC-023: years outside theirs.
    """
    _check(number + 1, seed)
    stream = np.random.SeedSequence(seed, spawn_key=(number,))
    return model.simulate(years=years, seed=stream, start=start)


def _check(members: int, seed: int) -> None:
    if not 1 <= members <= MAX_MEMBERS or seed < 0:
        raise RangeError(
            Problem(
                "REC-064",
                "there is no such ensemble",
                got=f"{members} members, seed {seed}",
                allowed=f"1 to {MAX_MEMBERS} members, a seed of 0 or more",
                next="200 members show a 90 % band well",
            )
        )
