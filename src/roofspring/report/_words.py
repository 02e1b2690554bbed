"""Longer texts of the report: the cautions that apply, and how it was computed."""

from __future__ import annotations

import numpy as np

from roofspring.plan.geometry import overflow_volume_m3
from roofspring.plan.model import Plan
from roofspring.report.document import DesignDocument
from roofspring.units import UNIT_SETS, show

WITHIN_DAY_WORDS = {
    "even": "evenly over the day",
    "type2": "as a storm with its peak at midday (type II pattern)",
    "block": "in one block",
    "cascade": "in ragged five-minute bursts (random cascade)",
}

POUNDS_PER_TONNE = 1000.0 / 0.45359237


def cautions(document: DesignDocument) -> tuple[tuple[str, str], ...]:
    """The cautions that this plan calls for; the first and the last always."""
    plan, record = document.plan, document.record
    made = [
        (
            "Drinking",
            "Roof water that is drunk untreated, or after treatment that does not work, can make "
            "people ill. Infants, pregnant women, old people and people with weak immunity are hit "
            "first and hardest. Have the water tested, and let your health department decide "
            "whether and how it may be drunk.",
        )
    ]
    if plan.tanks:
        made += [("Weight", _weight(plan)), (
            "Tanks",
            "Never climb into a tank or cistern alone: bad air and water kill without warning. "
            "Keep every lid locked so that no child can open it.",
        )]  # fmt: skip
    if plan.roofs:
        made.append(
            (
                "Roofs and ladders",
                "Cleaning gutters and screens is work at a height. Tie the ladder, work with "
                "somebody below, and stay off wet or icy roofs.",
            )
        )
    if plan.filters or any(d.method == "chlorine" for d in plan.disinfections.values()):
        made.append(
            (
                "Chlorine",
                "Never mix chlorine or bleach with acid or any other cleaner. Never let it reach a "
                "sand filter: it kills the living skin that does the work.",
            )
        )
    coldest = record.tmin_degc if record is not None else None
    if coldest is None or bool(np.nanmin(coldest, initial=99.0) < 0.0):
        made.append(
            (
                "Ice",
                "Ice splits pipes, valves and full tanks and blocks overflows. Bury, insulate or "
                "drain whatever can freeze."
                + ("" if coldest is not None else " No temperatures of your place were given."),
            )
        )
    if plan.taps:
        made.append(
            (
                "Other supplies",
                "If the house also has a public main or a well, nothing may flow back into it. "
                "That joint is a licensed plumber's work, with an air gap.",
            )
        )
    made.append(
        (
            "Codes and permits",
            "Local codes and permits decide what may be built and used. Ask before you build.",
        )
    )
    return tuple(made)


def _weight(plan: Plan) -> str:
    held_m3 = {tank_id: overflow_volume_m3(tank) for tank_id, tank in plan.tanks.items()}
    heaviest = max(held_m3, key=lambda tank_id: held_m3[tank_id])
    words = "A cubic metre of water weighs a tonne. "
    if plan.show == "us":
        words = "A gallon of water weighs more than eight pounds. "
    tonnes = held_m3[heaviest]
    mass = f"{tonnes:.1f} tonnes"
    if plan.show == "us":
        mass = f"{float(f'{tonnes * POUNDS_PER_TONNE:.2g}'):,.0f} pounds"
    words += f"Full, the {plan.tanks[heaviest].label or heaviest} holds about {mass} of it. "
    return (
        words + "Stands, slopes, floors and walls, and what wind and earthquake do to them, need a "
        "licensed engineer."
    )


def computed(document: DesignDocument) -> tuple[str, ...]:
    """How the answer was come by, in paragraphs."""
    run, supply, units = document.run, document.supply, document.plan.show
    heights = (
        "Heights were checked one by one, in the state that each check names; losses are counted "
        "where a line must carry a known flow."
    )
    if run is None or supply is None:
        return (
            "No rain was run through the plan, so nothing here says how long water lasts.",
            heights,
        )
    residual = f"{_tiny(run.residual_m3 * 1000.0)} litres"
    if units == "us":
        residual = f"{_tiny(run.residual_m3 / UNIT_SETS['us']['volume'][1])} gallons"
    made = [
        f"The parts and pipes of the plan were joined into one model and run through all "
        f"{len(run.days):,} days of the record in {run.steps_count:,} steps. Water that falls on a "
        "roof is wetted away, screened, held back, stored, filtered, drawn or spilled; nothing "
        "else happens to it.",
        f"The books of every store close: the largest error of any of them over the whole run is "
        f"{residual}.",
    ]
    if document.record is not None and document.record.step_s >= 86400.0:
        spread = WITHIN_DAY_WORDS.get(supply.within_day, supply.within_day)
        made.append(f"The record is daily. Rain within a day was spread {spread}.")
    made.append(
        "Flow through a filter follows Darcy's law through sand and skin, behind a free weir. "
        f"Uses are served in the order of their importance. {heights}"
    )
    if supply.wanted_m3 > 0.0:
        made.append(
            f"In all, {show(supply.delivered_m3, 'volume', units=units, digits=0)} of "
            f"{show(supply.wanted_m3, 'volume', units=units, digits=0)} wanted was delivered."
        )
    return tuple(made)


def _tiny(value: float) -> str:
    """A very small number without powers of ten."""
    return "less than 0.000001" if value < 1e-6 else f"{value:.6f}"
