"""Possible futures: rain that was not measured, made from a record or from normals."""

from roofspring.rain.futures.acceptance import AcceptanceRow, AcceptanceTable, acceptance
from roofspring.rain.futures.base import FittedModel, RainModel
from roofspring.rain.futures.change import ChangedModel, ChangeFactor
from roofspring.rain.futures.climate import MonthlyClimate
from roofspring.rain.futures.ensemble import ensemble, member
from roofspring.rain.futures.generate import GENERATORS, generate
from roofspring.rain.futures.markov import FittedMarkov, MarkovModel
from roofspring.rain.futures.models import MODELS, model_named
from roofspring.rain.futures.normals import Doubt, MonthlyNormals, NormalsModel
from roofspring.rain.futures.resample import FittedResample, MovingBlocks, NearestDays, WholeYears

__all__ = [
    "GENERATORS",
    "MODELS",
    "AcceptanceRow",
    "AcceptanceTable",
    "ChangeFactor",
    "ChangedModel",
    "Doubt",
    "FittedMarkov",
    "FittedModel",
    "FittedResample",
    "MarkovModel",
    "MonthlyClimate",
    "MonthlyNormals",
    "MovingBlocks",
    "NearestDays",
    "NormalsModel",
    "RainModel",
    "WholeYears",
    "acceptance",
    "ensemble",
    "generate",
    "member",
    "model_named",
]
