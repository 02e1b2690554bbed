"""All models of rain by name."""

from __future__ import annotations

from collections.abc import Callable

from roofspring.errors import Problem, RangeError
from roofspring.errors.names import did_you_mean
from roofspring.rain.futures.base import RainModel
from roofspring.rain.futures.markov import MarkovModel
from roofspring.rain.futures.resample import MovingBlocks, NearestDays, WholeYears

MODELS: dict[str, Callable[[], RainModel]] = {
    "markov-1-gamma": MarkovModel,
    "markov-1-mixed": lambda: MarkovModel(amounts="mixed"),
    "markov-2-gamma": lambda: MarkovModel(order=2),
    "markov-2-mixed": lambda: MarkovModel(order=2, amounts="mixed"),
    "whole-years": WholeYears,
    "moving-blocks": MovingBlocks,
    "nearest-days": NearestDays,
}
"""Models by name, each with its default settings."""


def model_named(name: str) -> RainModel:
    """A model with its default settings.

    Raises
    ------
    RangeError (REC-019)
        No such model.

    Examples
    --------
    >>> model_named("moving-blocks")
    MovingBlocks(block_days=30, window_days=7, wet_day_m=0.00025)
    """
    if name not in MODELS:
        raise RangeError(
            Problem(
                "REC-019",
                "this model of rain is not known",
                got=name,
                allowed=", ".join(MODELS),
                next=did_you_mean(name, MODELS),
            )
        )
    return MODELS[name]()
