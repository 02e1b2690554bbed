"""Cloudbursts: how much rain falls in a short time once in so many years, and in what order."""

from roofspring.rain.cloudburst.bands import Band, band
from roofspring.rain.cloudburst.curves import (
    DepthCurve,
    PlusPowerCurve,
    PointsCurve,
    RuleCurve,
    ShiftedPowerCurve,
)
from roofspring.rain.cloudburst.design import DesignRain, design_rain
from roofspring.rain.cloudburst.fits import Fit, fit_gev, fit_gumbel, fit_pareto
from roofspring.rain.cloudburst.hyetographs import (
    HYETOGRAPHS,
    AlternatingBlock,
    Chicago,
    Huff,
    Hyetograph,
    TypeTwoStorm,
)
from roofspring.rain.cloudburst.lmoments import LMoments, l_moments
from roofspring.rain.cloudburst.maxima import AnnualMaxima, Peaks, annual_maxima, peaks_over
from roofspring.rain.cloudburst.periods import Kind, aep_of_ari, ari_of_aep
from roofspring.rain.cloudburst.scaling import (
    clock_to_true,
    scale_depth,
    scaling_exponent,
    short_ratio,
)
from roofspring.rain.cloudburst.tables import DepthTable, table_curve, table_depth_m

__all__ = [
    "HYETOGRAPHS",
    "AlternatingBlock",
    "AnnualMaxima",
    "Band",
    "Chicago",
    "DepthCurve",
    "DepthTable",
    "DesignRain",
    "Fit",
    "Huff",
    "Hyetograph",
    "Kind",
    "LMoments",
    "Peaks",
    "PlusPowerCurve",
    "PointsCurve",
    "RuleCurve",
    "ShiftedPowerCurve",
    "TypeTwoStorm",
    "aep_of_ari",
    "annual_maxima",
    "ari_of_aep",
    "band",
    "clock_to_true",
    "design_rain",
    "fit_gev",
    "fit_gumbel",
    "fit_pareto",
    "l_moments",
    "peaks_over",
    "scale_depth",
    "scaling_exponent",
    "short_ratio",
    "table_curve",
    "table_depth_m",
]
