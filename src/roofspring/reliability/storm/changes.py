"""Single changes of a plan that might have caught more of a storm.

Each kind of change looks at a plan and gives every way in which it can be made there, one at a
time: where, in words, and the changed plan. Sizes go up by one step of a ladder.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from roofspring.network.edits import (
    connection,
    new_id,
    overflow_pipe,
    revised,
    with_part,
    with_pipe,
)
from roofspring.plan.model import Filter, Pipe, Plan, Tank
from roofspring.plan.pieces import Gutter
from roofspring.units import show, written

PIPE_SIZES_M = (0.016, 0.021, 0.027, 0.035, 0.041, 0.053, 0.063, 0.078, 0.102, 0.154, 0.203)
GUTTER_SIZES_M = (0.075, 0.100, 0.125, 0.150, 0.175, 0.200, 0.250, 0.300)
DOWNPIPE_SIZES_M = (0.050, 0.063, 0.075, 0.090, 0.100, 0.125, 0.150, 0.200)
"""Inside sizes that are sold, rounded: common practice, no source."""
NEXT_FROM = 1.05
"""A size counts as the next one from this many times the present one."""
MOST_COUNT = 1000
"""As many tanks or outlets as a plan may have in one place."""
MORE_CAPACITY = 1.5
"""A stated capacity goes up by half: engineering choice."""


@dataclass(frozen=True)
class Way:
    """One way to make a change."""

    where: str
    words: str
    plan: Plan


@dataclass(frozen=True)
class Change:
    """One kind of change.

    Attributes
    ----------
    name : str
    about : str
        What is done, in words.
    ways : callable
        Every way to make it in a plan, one at a time, by place.
    """

    name: str
    about: str
    ways: Callable[[Plan], Iterator[Way]]


def next_size_m(size_m: float, ladder_m: tuple[float, ...]) -> float | None:
    """The next size of a ladder; None above its end."""
    return next((step for step in ladder_m if step >= NEXT_FROM * size_m), None)


def _gutters(plan: Plan) -> Iterator[tuple[str, Gutter]]:
    for roof_id, roof in sorted(plan.roofs.items()):
        if roof.gutter is not None:
            yield roof_id, roof.gutter


def _with_gutter(plan: Plan, roof_id: str, gutter: Gutter) -> Plan:
    return with_part(plan, roof_id, revised(plan.roofs[roof_id], {"gutter": gutter}))


def _size(plan: Plan, value_m: float) -> str:
    return show(value_m, "pipe", units=plan.show)


def _name(plan: Plan, where: str) -> str:
    return dict(plan.parts())[where].label or where


def _wider_gutter(plan: Plan) -> Iterator[Way]:
    for roof_id, gutter in _gutters(plan):
        if gutter.width_m is None:
            continue
        width_m = next_size_m(gutter.width_m, GUTTER_SIZES_M)
        if width_m is None:
            continue
        depth_m = gutter.depth_m and gutter.depth_m * width_m / gutter.width_m
        wider = revised(gutter, {"width_m": width_m, "depth_m": depth_m})
        words = f"a gutter {_size(plan, width_m)} wide on {_name(plan, roof_id)}"
        yield Way(f"{roof_id}.gutter", words, _with_gutter(plan, roof_id, wider))


def _larger_downpipe(plan: Plan) -> Iterator[Way]:
    for roof_id, gutter in _gutters(plan):
        size_m = gutter.downpipe_m and next_size_m(gutter.downpipe_m, DOWNPIPE_SIZES_M)
        if size_m:
            larger = revised(gutter, {"downpipe_m": size_m})
            words = f"a downpipe of {_size(plan, size_m)} on {_name(plan, roof_id)}"
            yield Way(f"{roof_id}.gutter", words, _with_gutter(plan, roof_id, larger))


def _second_downpipe(plan: Plan) -> Iterator[Way]:
    for roof_id, gutter in _gutters(plan):
        if gutter.capacity_m3_per_s is None and gutter.outlets_count < MOST_COUNT:
            more = revised(gutter, {"outlets_count": gutter.outlets_count + 1})
            words = f"one more outlet and downpipe for the gutter of {_name(plan, roof_id)}"
            yield Way(f"{roof_id}.gutter", words, _with_gutter(plan, roof_id, more))


def _more_gutter(plan: Plan) -> Iterator[Way]:
    for roof_id, gutter in _gutters(plan):
        if gutter.capacity_m3_per_s:
            capacity = MORE_CAPACITY * gutter.capacity_m3_per_s
            more = revised(gutter, {"capacity_m3_per_s": capacity})
            words = f"a gutter that carries half as much again on {_name(plan, roof_id)}"
            yield Way(f"{roof_id}.gutter", words, _with_gutter(plan, roof_id, more))


def _better_screen(plan: Plan) -> Iterator[Way]:
    for screen_id, screen in sorted(plan.screens.items()):
        if screen.efficiency_frac < 1.0:
            passes = 0.5 * (1.0 + screen.efficiency_frac)
            words = f"{_name(plan, screen_id)} throwing off half as much ({100 * passes:g} % pass)"
            yield Way(
                screen_id,
                words,
                with_part(plan, screen_id, revised(screen, {"efficiency_frac": passes})),
            )


def _one_more_tank(plan: Plan) -> Iterator[Way]:
    for tank_id, tank in sorted(plan.tanks.items()):
        if tank.tanks_count >= MOST_COUNT:
            continue
        more = revised(tank, {"tanks_count": tank.tanks_count + 1})
        words = f"one more tank like {_name(plan, tank_id)}, joined to it at the same level"
        yield Way(tank_id, words, with_part(plan, tank_id, more))


def _one_more_filter(plan: Plan) -> Iterator[Way]:
    for filter_id, part in sorted(plan.filters.items()):
        into = _feeds_of(plan, filter_id)
        if into:
            words = f"one more filter like {_name(plan, filter_id)}, beside it"
            yield Way(filter_id, words, _with_twin(plan, filter_id, part, into))


def _feeds_of(plan: Plan, part_id: str) -> tuple[str, ...]:
    """Pipes by which tank outlets feed a part."""
    return tuple(
        pipe_id
        for pipe_id in sorted(plan.pipes)
        if (c := connection(plan, pipe_id)).to_part == part_id
        and isinstance(dict(plan.parts())[c.from_part], Tank)
        and c.from_port not in ("overflow", "drain")
    )


def _with_twin(plan: Plan, filter_id: str, part: Filter, into: tuple[str, ...]) -> Plan:
    twin = new_id(plan, f"{filter_id}-twin")
    twinned = with_part(plan, twin, part)
    for pipe_id, pipe in sorted(plan.pipes.items()):
        copy = None
        if pipe_id in into:
            copy = pipe.model_copy(update={"to": _moved(pipe.to, twin)})
        elif pipe.from_.partition(".")[0] == filter_id:
            copy = pipe.model_copy(update={"from_": _moved(pipe.from_, twin)})
        if copy is not None:
            twinned = with_pipe(twinned, new_id(twinned, f"{pipe_id}-twin"), copy)
    return twinned


def _moved(reference: str, part_id: str) -> str:
    _, dot, port = reference.partition(".")
    return f"{part_id}{dot}{port}"


def _feeds(plan: Plan) -> Iterator[tuple[str, Pipe]]:
    """Pipes that fill a filter or a tank from a tank's outlet."""
    for part_id in sorted((*plan.filters, *plan.tanks)):
        for pipe_id in _feeds_of(plan, part_id):
            yield pipe_id, plan.pipes[pipe_id]


def _larger_feed(plan: Plan) -> Iterator[Way]:
    for pipe_id, pipe in _feeds(plan):
        size_m = pipe.size_m and next_size_m(pipe.size_m, PIPE_SIZES_M)
        if not size_m or not pipe.size_m:
            continue
        valve = pipe.valve
        words = f"a pipe of {_size(plan, size_m)} for {pipe.label or pipe_id}"
        if valve is not None and valve.kv_m3_per_s is not None:
            kv_m3_per_s = valve.kv_m3_per_s * (size_m / pipe.size_m) ** 2
            valve = revised(valve, {"kv_m3_per_s": kv_m3_per_s})
            kv = written(kv_m3_per_s, to="m3/s", units=plan.show, digits=2)
            words += f", with a valve to fit (kv {kv})"
        larger = revised(pipe, {"size_m": size_m, "valve": valve})
        yield Way(f"pipe.{pipe_id}", words, with_pipe(plan, pipe_id, larger))


def _clean_strainer(plan: Plan) -> Iterator[Way]:
    for pipe_id, pipe in _feeds(plan):
        if pipe.strainer is not None and pipe.strainer.blocked_frac > 0.0:
            clean = revised(pipe.strainer, {"blocked_frac": 0.0})
            words = f"a clean strainer in {pipe.label or pipe_id}"
            yield Way(
                f"pipe.{pipe_id}",
                words,
                with_pipe(plan, pipe_id, revised(pipe, {"strainer": clean})),
            )


def _larger_overflow(plan: Plan) -> Iterator[Way]:
    for tank_id in sorted(plan.tanks):
        found = overflow_pipe(plan, tank_id)
        if found is None or found[1].size_m is None:
            continue
        pipe_id, pipe = found
        size_m = next_size_m(found[1].size_m, DOWNPIPE_SIZES_M)
        if size_m is not None:
            larger = with_pipe(plan, pipe_id, revised(pipe, {"size_m": size_m}))
            words = f"an overflow pipe of {_size(plan, size_m)} on {_name(plan, tank_id)}"
            yield Way(f"pipe.{pipe_id}", words, larger)


CHANGES: Mapping[str, Change] = {
    change.name: change
    for change in (
        Change("wider gutter", "the next size of gutter", _wider_gutter),
        Change("larger downpipe", "the next size of downpipe", _larger_downpipe),
        Change("second downpipe", "one more outlet and downpipe", _second_downpipe),
        Change("stronger gutter", "a gutter that carries half as much again", _more_gutter),
        Change("better screen", "a screen that throws off half as much", _better_screen),
        Change("one more tank", "one more tank of the same kind beside it", _one_more_tank),
        Change("one more filter", "one more filter of the same kind beside it", _one_more_filter),
        Change("larger feed", "the next size of feed pipe, with a valve to fit", _larger_feed),
        Change("larger overflow", "the next size of overflow pipe", _larger_overflow),
        Change("clean strainer", "the strainer of a feed pipe washed", _clean_strainer),
    )
}
"""Every kind of change by its name."""
