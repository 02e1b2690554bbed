"""A plan with something broken in it: named faults, each a change of the plan.

A fault is written ``PART:FAULT`` or ``PART:FAULT=AMOUNT``, such as ``feed-a:stuck-open`` or
``feed-a:strainer-clogged=90 %``; PART is the id of a part or of a pipe. The broken plan is run like
any other, so that every answer can be asked of it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from roofspring.errors import Finding, PlanError, Problem, UnitError
from roofspring.errors.names import did_you_mean
from roofspring.network.edits import (
    connection,
    overflow_pipe,
    revised,
    with_part,
    with_pipe,
    without_pipe,
)
from roofspring.network.laws import gutter_limit_m3_per_s
from roofspring.plan.model import Filter, Pipe, Plan, Tank, Tap
from roofspring.plan.pieces import Gutter, Valve
from roofspring.units import example, parse, written

CLOGGED_FRAC = 0.8
BLINDED_FRAC = 0.5
"""Amounts that stand in when none is given: engineering choices."""
LEAST_PIPE_M = 1e-4
"""What is left of a pipe that is blocked whole: the narrowest that a plan takes."""


@dataclass(frozen=True)
class Fault:
    """One kind of fault.

    Attributes
    ----------
    name : str
        As a person writes it.
    of : str
        What can have it, in words.
    about : str
        What it does, in words that may follow "as if".
    unit : str or None
        SI unit of its amount, empty for a share; None where it has no amount.
    usual : float or None
        Amount when none is given; None where one must be.
    most : float
        Greatest amount.
    broken : callable
        Plan, id and amount to the broken plan. `Refused` says why a part cannot have it.
    """

    name: str
    of: str
    about: str
    broken: Callable[[Plan, str, float], Plan]
    unit: str | None = None
    usual: float | None = None
    most: float = 1.0


@dataclass(frozen=True)
class Broken:
    """A plan under a fault, and the fault in words."""

    plan: Plan
    where: str
    words: str


class Refused(Exception):
    """This part cannot have this fault; the text says why."""


def break_plan(plan: Plan, fault: str) -> Broken:
    """The plan under one fault.

    Parameters
    ----------
    plan : Plan
    fault : str
        Such as ``feed-a:stuck-open`` or ``leaf-screen:blinded=60 %``.

    Returns
    -------
    Broken

    Raises
    ------
    PlanError
        FLT-001: there is no such fault. FLT-002: the plan has no such part, or it cannot have this
        fault. FLT-003: the amount is missing, not wanted, or cannot be.
    """
    where, _, rest = fault.partition(":")
    name, has_amount, amount_text = (piece.strip() for piece in rest.partition("="))
    where = where.strip()
    kind = FAULTS.get(name)
    if kind is None:
        raise PlanError(
            Problem(
                "FLT-001",
                "there is no such fault",
                where=where,
                got=repr(fault),
                allowed="PART:FAULT, with one of " + ", ".join(FAULTS),
                next=did_you_mean(name, FAULTS),
            )
        )
    amount = _amount(kind, where, amount_text if has_amount else None, plan)
    ids = {*(part_id for part_id, _ in plan.parts()), *plan.pipes}
    if where not in ids:
        raise PlanError(
            Problem(
                "FLT-002",
                "the plan has no part or pipe of this name",
                where=where,
                got=repr(fault),
                allowed=", ".join(sorted(ids)),
                next=did_you_mean(
                    where, sorted(ids), otherwise="name a part or a pipe of the plan"
                ),
            )
        )
    try:
        broken = kind.broken(plan, where, amount)
    except Refused as reason:
        raise PlanError(
            Problem(
                "FLT-002",
                f"this fault cannot be run here: {reason}",
                where=where,
                got=repr(fault),
                allowed=f"{name} is a fault of {kind.of}",
                next="name another part, or another fault",
            )
        ) from None
    size = "" if kind.unit is None else f" ({written(amount, to=kind.unit, units=plan.show)})"
    if kind.unit == "":
        size = f" ({100.0 * amount:g} %)"
    return Broken(broken, where, f"{where}: {kind.about}{size}")


def break_all(plan: Plan, faults: Sequence[str]) -> tuple[Plan, tuple[Broken, ...]]:
    """The plan under several faults, one after the other, and each of them in words.

    Raises
    ------
    PlanError (FLT-001 to FLT-003)
        A fault that cannot be.
    """
    made: list[Broken] = []
    for fault in faults:
        made.append(break_plan(plan, fault))
        plan = made[-1].plan
    return plan, tuple(made)


def fault_finding(broken: Broken) -> Finding:
    """What must stand beside every answer about a broken plan."""
    return Finding(
        "FLT-101",
        "note",
        "this answer is about the plan under a fault, not about the plan as it is",
        where=broken.where,
        got=broken.words,
        next="compare it with the answer without the fault",
    )


def _amount(kind: Fault, where: str, text: str | None, plan: Plan) -> float:
    def refuse(what: str, next_step: str) -> PlanError:
        allowed = "no amount"
        if kind.unit is not None:
            most = written(kind.most, to=kind.unit, units=plan.show)
            allowed = f"from 0 to {'100 %' if kind.unit == '' else most}"
        return PlanError(
            Problem(
                "FLT-003",
                what,
                where=f"{where}:{kind.name}",
                got="" if text is None else repr(text),
                allowed=allowed,
                next=next_step,
            )
        )

    if kind.unit is None:
        if text is not None:
            raise refuse("this fault has no amount", f"write {where}:{kind.name}")
        return 0.0
    like = '"80 %"' if kind.unit == "" else example(kind.unit)
    how = f"write {where}:{kind.name}= and an amount like {like}"
    if text is None:
        if kind.usual is None:
            raise refuse("this fault needs an amount", how)
        return kind.usual
    try:
        amount = parse(text, to=kind.unit)
    except UnitError as error:
        raise refuse(error.problems[0].what, how) from error
    if not 0.0 <= amount <= kind.most:
        raise refuse("the amount is outside what it can be", how)
    return amount


def _pipe(plan: Plan, pipe_id: str) -> Pipe:
    pipe = plan.pipes.get(pipe_id)
    if pipe is None:
        raise Refused(f"{pipe_id} is no pipe")
    return pipe


def _waits_behind(plan: Plan, pipe_id: str) -> bool:
    """Whether water can wait where a pipe begins: at an outlet of a tank."""
    c = connection(plan, pipe_id)
    part = plan.tanks.get(c.from_part)
    return part is not None and c.from_port not in ("overflow", "drain")


def _stuck_open(plan: Plan, pipe_id: str, _amount: float) -> Plan:
    pipe = _pipe(plan, pipe_id)
    valve = pipe.valve
    if valve is None or valve.kind != "float":
        raise Refused("no float valve is in it")
    open_valve = revised(valve, {"kind": "stop", "shuts_at_m": None})
    return with_pipe(plan, pipe_id, revised(pipe, {"valve": open_valve}))


def _stuck_shut(plan: Plan, pipe_id: str, _amount: float) -> Plan:
    pipe = _pipe(plan, pipe_id)
    valve = pipe.valve
    if valve is None or valve.kind != "float":
        raise Refused("no float valve is in it")
    return with_pipe(plan, pipe_id, revised(pipe, {"valve": revised(valve, {"open_frac": 0.0})}))


def _strainer_clogged(plan: Plan, pipe_id: str, share_frac: float) -> Plan:
    pipe = _pipe(plan, pipe_id)
    if pipe.strainer is None:
        raise Refused("no strainer is in it")
    clogged = revised(pipe.strainer, {"blocked_frac": share_frac})
    return with_pipe(plan, pipe_id, revised(pipe, {"strainer": clogged}))


def _closed(plan: Plan, pipe_id: str, _amount: float) -> Plan:
    pipe = _pipe(plan, pipe_id)
    if not _waits_behind(plan, pipe_id):
        raise Refused("no tank's outlet stands behind it in which the water could wait")
    to = connection(plan, pipe_id).to_part
    if isinstance(plan.part(to), Tap):
        return _tap_cut_off(plan, pipe_id, to)
    shut = Valve(kind="stop") if pipe.valve is None else pipe.valve
    return with_pipe(plan, pipe_id, revised(pipe, {"valve": revised(shut, {"open_frac": 0.0})}))


def _tap_cut_off(plan: Plan, pipe_id: str, tap_id: str) -> Plan:
    """The plan without the pipe; a tap that no other pipe feeds gives nothing any more."""
    cut = without_pipe(plan, pipe_id)
    if any(pipe.to.partition(".")[0] == tap_id for pipe in cut.pipes.values()):
        return cut
    uses = {
        use_id: use.model_copy(
            update={"from_": tuple(f for f in use.from_ if f.partition(".")[0] != tap_id)}
        )
        for use_id, use in cut.uses.items()
    }
    return cut.model_copy(update={"uses": uses})


def _air_locked(plan: Plan, pipe_id: str, head_m: float) -> Plan:
    pipe = _pipe(plan, pipe_id)
    c = connection(plan, pipe_id)
    far = plan.part(c.to_part)
    if not _waits_behind(plan, pipe_id) or isinstance(far, Tap):
        raise Refused("it does not fill a part from a tank's outlet")
    known = [h for h in (far.height_m(c.to_port), pipe.crest_m) if h is not None]
    if not known or plan.tanks[c.from_part].base_m is None:
        raise Refused(f"the plan does not give the heights of {c.from_part} and {c.to_part}.inlet")
    raised = {"high_point_m": max(known) + head_m, "profile": None}
    return with_pipe(plan, pipe_id, revised(pipe, raised))


def _tank(plan: Plan, part_id: str) -> Tank:
    part = plan.tanks.get(part_id)
    if part is None:
        raise Refused(f"{part_id} is no tank")
    return part


def _leak(plan: Plan, part_id: str, flow_m3_per_s: float) -> Plan:
    part = _tank(plan, part_id)
    more_m3_per_s = part.leak_m3_per_s + flow_m3_per_s
    return with_part(plan, part_id, revised(part, {"leak_m3_per_s": more_m3_per_s}))


def _overflow_blocked(plan: Plan, part_id: str, share_frac: float) -> Plan:
    _tank(plan, part_id)
    found = overflow_pipe(plan, part_id)
    if found is None or found[1].size_m is None:
        raise Refused("no pipe of a known size leads its overflow away")
    pipe_id, pipe = found
    open_m = max(LEAST_PIPE_M, found[1].size_m * math.sqrt(1.0 - share_frac))
    return with_pipe(plan, pipe_id, revised(pipe, {"size_m": open_m}))


def _blinded(plan: Plan, part_id: str, share_frac: float) -> Plan:
    part = plan.screens.get(part_id)
    if part is None:
        raise Refused(f"{part_id} is no screen")
    return with_part(
        plan, part_id, revised(part, {"efficiency_frac": part.efficiency_frac * (1.0 - share_frac)})
    )


def _filter(plan: Plan, part_id: str) -> Filter:
    part = plan.filters.get(part_id)
    if part is None:
        raise Refused(f"{part_id} is no filter")
    return part


def _out_of_service(plan: Plan, part_id: str, _amount: float) -> Plan:
    part = _filter(plan, part_id)
    for pipe_id, pipe in plan.pipes.items():
        if pipe.to.partition(".")[0] == part_id and _waits_behind(plan, pipe_id):
            plan = _closed(plan, pipe_id, 0.0)
    left_alone = revised(part.care, {"below_m_per_s": 0.0, "every_s": None})
    return with_part(plan, part_id, revised(part, {"throttle_m_per_s": 0.0, "care": left_alone}))


def _skin_clogged(plan: Plan, part_id: str, resistance_s: float) -> Plan:
    return with_part(
        plan, part_id, revised(_filter(plan, part_id), {"skin_resistance_s": resistance_s})
    )


def _gutter_blocked(plan: Plan, part_id: str, share_frac: float) -> Plan:
    part = plan.roofs.get(part_id)
    if part is None:
        raise Refused(f"{part_id} is no roof")
    if part.gutter is None:
        if share_frac < 1.0:
            raise Refused("the plan gives it no gutter, so only all of it can be blocked")
        carries_m3_per_s = 0.0
    else:
        carries_m3_per_s = gutter_limit_m3_per_s(part.gutter) * (1.0 - share_frac)
    gutter = revised(Gutter(), {"capacity_m3_per_s": carries_m3_per_s})
    return with_part(plan, part_id, revised(part, {"gutter": gutter}))


FAULTS: Mapping[str, Fault] = {
    fault.name: fault
    for fault in (
        Fault(
            "stuck-open",
            "a pipe with a float valve",
            "its float valve is stuck open and never shuts",
            _stuck_open,
        ),
        Fault(
            "stuck-shut",
            "a pipe with a float valve",
            "its float valve is stuck shut and passes nothing",
            _stuck_shut,
        ),
        Fault(
            "strainer-clogged",
            "a pipe with a strainer",
            "its strainer is clogged",
            _strainer_clogged,
            unit="",
            usual=CLOGGED_FRAC,
        ),
        Fault(
            "closed",
            "a pipe from a tank's outlet",
            "somebody left it closed",
            _closed,
        ),
        Fault(
            "air-locked",
            "a pipe that fills a part from a tank's outlet",
            "trapped air takes this head before any water comes",
            _air_locked,
            unit="m",
            most=10.0,
        ),
        Fault(
            "leak",
            "a tank",
            "it leaks so much at its floor when it is full",
            _leak,
            unit="m3/s",
            most=10.0,
        ),
        Fault(
            "overflow-blocked",
            "a tank whose overflow runs into a pipe of a known size",
            "its overflow pipe is blocked",
            _overflow_blocked,
            unit="",
            usual=1.0,
        ),
        Fault(
            "blinded",
            "a screen",
            "leaves lie on it, and water runs over them",
            _blinded,
            unit="",
            usual=BLINDED_FRAC,
        ),
        Fault(
            "out-of-service",
            "a filter",
            "it is shut off at its inlet and at its outlet",
            _out_of_service,
        ),
        Fault(
            "skin-clogged",
            "a filter",
            "its skin has this resistance, head over rate",
            _skin_clogged,
            unit="s",
            most=4e7,
        ),
        Fault(
            "gutter-blocked",
            "a roof",
            "its gutter is blocked",
            _gutter_blocked,
            unit="",
            usual=1.0,
        ),
    )
}
"""Every fault by its name."""
