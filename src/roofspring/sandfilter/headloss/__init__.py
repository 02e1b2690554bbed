"""Head lost in clean sand, by every published formula side by side.

The engine uses one of them, `KozenyCarman`, through `conductivity_m_per_s`; the others show how far
formulas for the same sand lie apart.
"""

from __future__ import annotations

from roofspring.errors import Problem, RangeError
from roofspring.errors.limits import not_negative
from roofspring.errors.names import did_you_mean
from roofspring.sandfilter.headloss.base import (
    CleanBed,
    HeadLoss,
    HeadLossModel,
    SizeClass,
    reynolds_of,
)
from roofspring.sandfilter.headloss.models import (
    Ergun,
    FairHatch,
    Hazen,
    HuismanWood,
    KozenyCarman,
    Rose,
    drag_of,
)

__all__ = [
    "MODELS",
    "CleanBed",
    "Ergun",
    "FairHatch",
    "Hazen",
    "HeadLoss",
    "HeadLossModel",
    "HuismanWood",
    "KozenyCarman",
    "Rose",
    "SizeClass",
    "drag_of",
    "head_loss",
    "model_named",
    "reynolds_of",
    "side_by_side",
]

MODELS: dict[str, HeadLossModel] = {
    model.name: model
    for model in (KozenyCarman(), FairHatch(), Ergun(), Hazen(), Rose(), HuismanWood())
}
"""Models by name, each with its default settings."""


def model_named(name: str) -> HeadLossModel:
    """A model with its default settings; an unknown name is a `RangeError` (BED-002).

    >>> model_named("rose").title
    'Rose'
    """
    if name not in MODELS:
        raise RangeError(
            Problem(
                "BED-002",
                "this model of head loss is not known",
                where="model",
                got=repr(name),
                allowed=", ".join(MODELS),
                next=did_you_mean(name, MODELS),
            )
        )
    return MODELS[name]


def head_loss(
    rate_m_per_s: float,
    *,
    bed: CleanBed,
    temp_degc: float,
    model: HeadLossModel | str = "kozeny-carman",
) -> HeadLoss:
    """Head lost in clean sand by one model, with what of the case lies outside its range.

    Parameters
    ----------
    rate_m_per_s : float
        Filtration rate [m/s], 0 or more.
    bed : CleanBed
    temp_degc : float
        Water temperature [degrees C], 0 to 40.
    model : HeadLossModel or str
        A model, or its name in `MODELS`.

    Returns
    -------
    HeadLoss

    Raises
    ------
    RangeError (DOM-001, DOM-002)
        A temperature outside 0 to 40, or a rate below 0.
    RangeError (BED-002)
        No model of that name.

    Source
    ------
    That of the model.

    Examples
    --------
    >>> bed = CleanBed(depth_m=0.8, d10_m=0.25e-3, uniformity=2.0)
    >>> lost = head_loss(0.1 / 3600, bed=bed, temp_degc=10.0)
    >>> round(lost.loss_m * 1e3, 1), lost.outside
    (29.2, ())
    """
    not_negative("rate_m_per_s", rate_m_per_s)
    chosen = model_named(model) if isinstance(model, str) else model
    reynolds = reynolds_of(
        rate_m_per_s,
        grain_m=bed.grain_m,
        sphericity_frac=bed.sphericity_frac,
        temp_degc=temp_degc,
    )
    case = {
        "reynolds": reynolds,
        "ergun_reynolds": reynolds / (1.0 - bed.porosity_frac),
        "temp_degc": temp_degc,
        "d10_m": bed.d10_m,
        "uniformity": bed.uniformity,
    }
    return HeadLoss(
        chosen.name,
        chosen.loss_m(rate_m_per_s, bed=bed, temp_degc=temp_degc),
        reynolds,
        chosen.validity.outside(case),
    )


def side_by_side(rate_m_per_s: float, *, bed: CleanBed, temp_degc: float) -> tuple[HeadLoss, ...]:
    """Head lost by every model of `MODELS`, in its order.

    Where they lie apart, trust none of them to better than that: measure (see `falling_head`).

    >>> bed = CleanBed(depth_m=0.8, d10_m=0.25e-3, uniformity=2.0)
    >>> [f"{x.model} {x.loss_m * 1e3:.1f}" for x in side_by_side(0.1 / 3600, bed=bed,
    ...                                                          temp_degc=10.0)][:3]
    ['kozeny-carman 29.2', 'fair-hatch 29.2', 'ergun 24.4']
    """
    return tuple(
        head_loss(rate_m_per_s, bed=bed, temp_degc=temp_degc, model=model)
        for model in MODELS.values()
    )
