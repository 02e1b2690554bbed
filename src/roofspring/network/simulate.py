"""Run a compiled plan through a rain record, close the books, and give the rows their names."""

from __future__ import annotations

import os
import time
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor

import numpy as np
import numpy.typing as npt

from roofspring import __version__
from roofspring.constants import SECONDS_PER_DAY
from roofspring.errors import Problem, SolveError
from roofspring.kernels import net as k
from roofspring.kernels.run import run
from roofspring.kernels.status import OK
from roofspring.network.assemble import Assembled, assemble
from roofspring.network.forcing import build_forcing
from roofspring.network.result import Provenance, RunResult
from roofspring.plan.model import Filter, FirstFlush, Plan, Tank
from roofspring.rain import RainRecord

FloatArray = npt.NDArray[np.float64]

CLOSURE_FRAC = 1e-9
"""Books must close to this share of what went through."""


State = k.State


def start_state(assembled: Assembled) -> State:
    """The state that the plan says a run begins with: stores part full, roofs dry."""
    return State(*(array.copy() for array in assembled.start))


def simulate(
    plan: Plan,
    record: RainRecord,
    *,
    assembled: Assembled | None = None,
    within_day: str | None = None,
    state: State | None = None,
    plan_hash: str = "",
) -> RunResult:
    """Run a plan through a whole record.

    Parameters
    ----------
    plan : Plan
    record : RainRecord
        Without gaps.
    assembled : Assembled, optional
        The plan already compiled, to save doing it again.
    within_day : str, optional
        Another way of spreading a day's rain than the plan's.
    state : State, optional
        Where to begin; the plan's own start when not given. Not changed.
    plan_hash : str
        For the provenance.

    Returns
    -------
    RunResult

    Raises
    ------
    PlanError, RecordError
        The plan or the record cannot be run.
    SolveError (SOL-001, SOL-002)
        A content stopped being a number, or the books do not close.
    """
    began = time.perf_counter()
    assembled = assembled or assemble(plan)
    forcing = build_forcing(plan, record, use_ids=assembled.use_ids, within_day=within_day)
    first = state or start_state(assembled)
    books, final = run_books(assembled.net, forcing, first, days=record.days)
    residual_m3 = close_books(assembled, first.content_m3, books)
    parts = assembled.topology.parts
    nodes = assembled.topology.nodes
    stores = [
        i for i, p in enumerate(nodes) if isinstance(parts.get(p), (Tank, Filter, FirstFlush))
    ]
    beds = [i for i, p in enumerate(nodes) if isinstance(parts.get(p), Filter)]
    return RunResult(
        days=record.days,
        store_ids=tuple(nodes[i] for i in stores),
        start_m3=first.content_m3[stores],
        end_m3=books.end_m3[:, stores],
        low_m3=books.low_m3[:, stores],
        capacity_m3=assembled.net.capacity_m3[stores],
        dead_m3=assembled.dead_m3[stores],
        arcs=assembled.topology.arcs,
        flow_m3=books.flow_m3,
        use_ids=assembled.use_ids,
        wanted_m3=forcing.want_m3,
        delivered_m3=books.delivered_m3,
        rationed=books.rationed.astype(bool),
        filter_ids=tuple(nodes[i] for i in beds),
        filter_rate_m_per_s=books.rate_m_per_s[:, beds],
        skin_s=books.skin_s[:, beds],
        ripeness_frac=books.ripe_frac[:, beds],
        sand_m=books.sand_m[:, beds],
        cleaned=books.cleaned[:, beds],
        raw_frac=books.raw_frac[:, stores],
        age_days=books.age_s[:, stores] / SECONDS_PER_DAY,
        raw_delivered_m3=books.raw_m3,
        residual_m3=residual_m3,
        steps_count=int(books.steps.sum()),
        forced_count=int(books.forced.sum()),
        final=final,
        provenance=Provenance(
            version=__version__,
            plan_hash=plan_hash,
            rain_hash=record.hash,
            seconds=time.perf_counter() - began,
        ),
    )


def run_books(
    net: k.Net, forcing: k.Forcing, state: State, *, days: npt.NDArray[np.datetime64]
) -> tuple[k.Books, State]:
    """Run a net through a forcing: the filled books, and the state at the end.

    ``state`` is not changed.

    Raises
    ------
    SolveError (SOL-001)
        A content stopped being a number; ``days`` says on which day.
    """
    nodes, arcs, uses = len(net.kind), len(net.arc_to), len(net.draw_first) - 1
    books = k.Books(
        end_m3=np.zeros((len(days), nodes)),
        low_m3=np.zeros((len(days), nodes)),
        flow_m3=np.zeros((len(days), arcs)),
        delivered_m3=np.zeros((len(days), uses)),
        rationed=np.zeros((len(days), uses), dtype=np.int64),
        rate_m_per_s=np.zeros((len(days), nodes)),
        raw_m3=np.zeros((len(days), uses)),
        raw_frac=np.zeros((len(days), nodes)),
        age_s=np.zeros((len(days), nodes)),
        skin_s=np.zeros((len(days), nodes)),
        ripe_frac=np.zeros((len(days), nodes)),
        sand_m=np.zeros((len(days), nodes)),
        cleaned=np.zeros((len(days), nodes), dtype=np.int64),
        steps=np.zeros(len(days), dtype=np.int64),
        forced=np.zeros(len(days), dtype=np.int64),
    )
    state = State(*(array.copy() for array in state))
    status, step = run(net, forcing, state, books, k.work_for(net))
    if status != OK:
        raise SolveError(
            Problem(
                "SOL-001",
                "a content stopped being a number",
                where=str(days[forcing.day[step]]),
                next="please report this with the plan file",
            )
        )
    return books, state


def run_many(
    net_states: Sequence[tuple[k.Net, State]],
    forcing: k.Forcing,
    *,
    days: npt.NDArray[np.datetime64],
) -> list[k.Books]:
    """Run several nets through one forcing, on as many cores as there are; books in their order.

    Kernels hold no lock and share nothing, so each run gives the bits it gives alone.

    Raises
    ------
    SolveError (SOL-001)
        As `run_books`.
    """
    with ThreadPoolExecutor(min(len(net_states), os.cpu_count() or 1) or 1) as pool:
        runs = [pool.submit(run_books, net, forcing, state, days=days) for net, state in net_states]
        return [run.result()[0] for run in runs]


def close_books(assembled: Assembled, start_m3: FloatArray, books: k.Books) -> float:
    """Largest error of the books, of any part or of the whole [m3].

    Every part that can hold water must hold what came less what went; every part that cannot must
    pass all of it on.

    Raises
    ------
    SolveError (SOL-002)
        An error over `CLOSURE_FRAC` of what went through the part.
    """
    nodes, arcs = assembled.topology.nodes, assembled.topology.arcs
    row = {part_id: i for i, part_id in enumerate(nodes)}
    totals = books.flow_m3.sum(axis=0)
    came, went = np.zeros(len(nodes)), np.zeros(len(nodes))
    for arc, volume in zip(arcs, totals, strict=True):
        if arc.to_part in row and arc.kind != "draw":  # a use may bear the name of a part
            came[row[arc.to_part]] += volume
        if arc.from_part in row:
            went[row[arc.from_part]] += volume
    sinks = assembled.net.kind == k.SINK
    error = np.where(sinks, 0.0, start_m3 + came - went - books.end_m3[-1])
    through = np.maximum(start_m3 + came, 1e-6)
    worst = int(np.argmax(np.abs(error) / through))
    if not abs(error[worst]) <= CLOSURE_FRAC * through[worst]:  # also when not a number
        raise SolveError(
            Problem(
                "SOL-002",
                "the books of a part do not close",
                where=nodes[worst],
                got=f"{error[worst]:.3e} m³ of {through[worst]:.3e} m³",
                allowed=f"{CLOSURE_FRAC:g} of what went through",
                next="please report this with the plan file",
            )
        )
    fell = float(totals[[a.kind == "rain" for a in arcs]].sum())
    drawn = float(totals[[a.kind == "draw" for a in arcs]].sum())
    lost = float(came[sinks].sum())
    whole = start_m3.sum() + fell - drawn - lost - books.end_m3[-1].sum()
    return float(max(abs(whole), np.abs(error).max()))
