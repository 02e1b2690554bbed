"""Crop coefficients, and how they go through a season."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib import resources

import numpy as np
import numpy.typing as npt

from roofspring.errors.limits import known

FloatArray = npt.NDArray[np.float64]

STAGE_ENDS_FRAC = (0.20, 0.45, 0.80, 1.0)
"""Ends of the initial, growing, middle and late stages over the season; engineering choice near the
middle of the stages that FAO-56 lists."""


@dataclass(frozen=True)
class Crop:
    """One row of the crop table: coefficients of the first, middle and last stage."""

    name: str
    initial_factor: float
    middle_factor: float
    end_factor: float
    height_m: float
    source: str
    seen: str


@cache
def crops() -> dict[str, Crop]:
    """The crop table by name, in the order of the file.

    >>> crops()["berries"].middle_factor
    1.05
    """
    path = resources.files("roofspring.garden").joinpath("tables/crops.csv")
    return {
        row["crop"]: Crop(
            row["crop"],
            float(row["kc_initial"]),
            float(row["kc_middle"]),
            float(row["kc_end"]),
            float(row["height_m"]),
            row["source"],
            row["seen"],
        )
        for row in csv.DictReader(path.read_text("utf-8").splitlines())
    }


def crop_factor(crop: str, season_frac: FloatArray) -> FloatArray:
    """Crop coefficient by how far the season has gone.

    Parameters
    ----------
    crop : str
        A name in `crops`.
    season_frac : (n,) float64
        0 when it begins, 1 when it ends.

    Returns
    -------
    (n,) float64
        [-]; 0 outside the season.

    Raises
    ------
    RangeError (DOM-004)
        No such crop.

    Notes
    -----
    Level through the first stage, straight up to the middle value, level, straight to the end.

    Source
    ------
    FAO_56_1998, figure 34 and table 12.

    Examples
    --------
    >>> import numpy as np
    >>> crop_factor("tomato", np.array([-0.1, 0.1, 0.6, 1.0]))
    array([0.  , 0.6 , 1.15, 0.8 ])
    """
    known("crop", crop, crops())
    row = crops()[crop]
    first, grown, middle, end = STAGE_ENDS_FRAC
    values = np.interp(
        season_frac,
        (0.0, first, grown, middle, end),
        (
            row.initial_factor,
            row.initial_factor,
            row.middle_factor,
            row.middle_factor,
            row.end_factor,
        ),
    )
    inside = (season_frac >= 0.0) & (season_frac <= 1.0)
    return np.where(inside, values, 0.0)
