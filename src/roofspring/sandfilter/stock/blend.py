"""Mixing sands so that the mix is what is wanted, at least cost or with least thrown away."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, Literal

import numpy as np
import numpy.typing as npt

from roofspring.errors import Problem, RangeError, SieveError
from roofspring.sandfilter.sieve.curve import GradingCurve, Reading, mixed
from roofspring.sandfilter.stock.split import EFFECTIVE_FRAC, SIXTY_FRAC, Wanted

FloatArray = npt.NDArray[np.float64]

_GRID = 41
_TINY = 1e-7
_TIE = 1e-5
_LEAST_LEFT_OUT = 1e-4


@dataclass(frozen=True)
class Stock:
    """A sand that can be had, and its price in any one currency."""

    curve: GradingCurve
    cost_per_kg: float | None = None

    @property
    def name(self) -> str:
        """Of its curve."""
        return self.curve.name


@dataclass(frozen=True)
class LeftOut:
    """Grains of one stock that are sieved out: a share of those between two sizes.

    ``low_m`` or ``high_m`` is None at the open ends of the curve.
    """

    stock: str
    low_m: float | None
    high_m: float | None
    share_frac: float


@dataclass(frozen=True)
class Blend:
    """A mix of stocks.

    Attributes
    ----------
    feasible : bool
    parts_frac : tuple of float
        Share of each stock in what is bought; they add up to 1.
    bought_per_used : float
        Mass bought for each mass in the bed: 1 when nothing is sieved out.
    cost_per_kg : float or None
        Of the finished sand.
    left_out : tuple of LeftOut
    curve : GradingCurve or None
        Of the mix; None too where the stocks have fewer than two sizes in common, so that only
        bounds are known of it.
    d10 : Reading or None
    uniformity : float or None
    lack : str
        When it cannot be done, why not and what to add.
    add_frac, add_low_m, add_high_m : float or None
        The least share of an ideal sand that would make it possible, and between which sizes its
        grains must lie.
    """

    feasible: bool
    parts_frac: tuple[float, ...] = ()
    bought_per_used: float = 1.0
    cost_per_kg: float | None = None
    left_out: tuple[LeftOut, ...] = ()
    curve: GradingCurve | None = None
    d10: Reading | None = None
    uniformity: float | None = None
    lack: str = ""
    add_frac: float | None = None
    add_low_m: float | None = None
    add_high_m: float | None = None


@dataclass(frozen=True)
class _Class:
    """Grains of one stock between two of its sieves; an end may be open."""

    stock: int
    low_m: float
    high_m: float
    share_frac: float


def blend(
    stocks: Sequence[Stock], *, wanted: Wanted, method: Literal["mix", "sieve-and-mix"] = "mix"
) -> Blend:
    """Mix stocks so that effective size and uniformity lie in the band.

    Parameters
    ----------
    stocks : sequence of Stock
        At least one. With a price on each the cheapest mix is sought; without, the one that takes
        most of the first.
    wanted : Wanted
        Its band; not its target.
    method : {"mix", "sieve-and-mix"}
        Mix the stocks as they are, or leave out grains between sieves of a stock as well. The
        second seeks the least bought, or the least cost.

    Returns
    -------
    Blend
        Not feasible where no mix meets the band; then with what to add.

    Raises
    ------
    SieveError (SIV-024)
        No stock, or a price on some and not on others.

    Notes
    -----
    A linear program for each effective size on a grid over the band: with a mix of d10 at least
    ``d``, at most 10 % may pass ``d``, at least 60 % must pass ``U d`` and at least 10 % the coarse
    end of the band. What passes a size off the curve of a stock is taken at its worst. So every mix
    that is given meets the band, and the cheapest is found to within the step of the grid. Of
    mixes that cost the same, the one is taken that leaves out the finest and coarsest grains.

    Source
    ------
    DANTZIG_1963 (linear programming), through scipy.
    """
    prices = _prices(stocks)
    if method == "mix":
        found = _search(wanted, _mix_program(stocks, prices))
    else:
        found = _search(wanted, _sieve_program(stocks, prices))
    if found is None:
        return _infeasible(stocks, wanted)
    return _blend_of(stocks, *found, priced=stocks[0].cost_per_kg is not None)


def _prices(stocks: Sequence[Stock]) -> FloatArray | None:
    given = [s.cost_per_kg for s in stocks]
    known = [c for c in given if c is not None]
    if not stocks or (known and len(known) < len(given)):
        raise SieveError(
            Problem(
                "SIV-024",
                "a price stands on some of the sands and not on others"
                if stocks
                else "there is no sand to mix",
                where="blend",
                got=", ".join(s.name for s in stocks if s.cost_per_kg is None),
                allowed="a price on every sand, or on none",
                next="give the price of each, in one currency, like =45/t",
            )
        )
    return np.array(known, dtype=np.float64) if known else None


@dataclass(frozen=True)
class _Program:
    """Variables: bought mass of each stock, then used mass of each class; one unit is used."""

    classes: tuple[_Class, ...]
    stocks_count: int
    cost: FloatArray
    equal: FloatArray
    equal_to: FloatArray
    below: FloatArray
    below_than: FloatArray

    def passing(self, size_m: float, *, most: bool) -> FloatArray:
        """Coefficients of the share that passes a size, at its worst."""
        row = np.zeros(self.stocks_count + len(self.classes))
        for k, c in enumerate(self.classes):
            row[self.stocks_count + k] = _below(c, size_m, most=most)
        return row

    def ends(self, middle_m: float) -> FloatArray:
        """A very small cost of using grains far from the middle.

        Of mixes that cost the same, that is the one which leaves out the finest and the coarsest
        grains, as sieves do.
        """
        row = np.zeros(self.stocks_count + len(self.classes))
        for k, c in enumerate(self.classes):
            low_m = c.low_m or 0.1 * c.high_m
            high_m = 10.0 * low_m if math.isinf(c.high_m) else c.high_m
            size_m = math.sqrt(low_m * high_m)
            row[self.stocks_count + k] = abs(math.log(size_m / middle_m))
        return row * _TIE * max(1e-12, float(np.abs(self.cost).max()))


def _below(c: _Class, size_m: float, *, most: bool) -> float:
    if c.high_m <= size_m:
        return 1.0
    if c.low_m >= size_m:
        return 0.0
    if c.low_m == 0.0 or math.isinf(c.high_m):
        return 1.0 if most else 0.0
    return math.log(size_m / c.low_m) / math.log(c.high_m / c.low_m)


def _classes(stocks: Sequence[Stock]) -> tuple[_Class, ...]:
    found: list[_Class] = []
    for i, stock in enumerate(stocks):
        sizes = (0.0, *stock.curve.sizes_m, math.inf)
        shares = (0.0, *stock.curve.passing_frac, 1.0)
        found += [
            _Class(i, low_m, high_m, above - below)
            for (low_m, high_m), (below, above) in zip(
                pairwise(sizes), pairwise(shares), strict=True
            )
            if above > below
        ]
    return tuple(found)


def _frame(stocks: Sequence[Stock]) -> tuple[tuple[_Class, ...], int, FloatArray]:
    classes = _classes(stocks)
    n = len(stocks)
    whole = np.zeros(n + len(classes))
    whole[n:] = 1.0
    return classes, n, whole


def _mix_program(stocks: Sequence[Stock], prices: FloatArray | None) -> _Program:
    """Every class is used as far as its stock is bought."""
    classes, n, whole = _frame(stocks)
    tie = np.zeros((len(classes) + 1, len(whole)))
    for k, c in enumerate(classes):
        tie[k, n + k], tie[k, c.stock] = 1.0, -c.share_frac
    tie[-1] = whole
    equal_to = np.zeros(len(classes) + 1)
    equal_to[-1] = 1.0
    cost = np.zeros(len(whole))
    cost[:n] = prices if prices is not None else np.arange(n) > 0
    return _Program(classes, n, cost, tie, equal_to, np.zeros((0, len(whole))), np.zeros(0))


def _sieve_program(stocks: Sequence[Stock], prices: FloatArray | None) -> _Program:
    """Of every class no more is used than is bought."""
    classes, n, whole = _frame(stocks)
    limit = np.zeros((len(classes), len(whole)))
    for k, c in enumerate(classes):
        limit[k, n + k], limit[k, c.stock] = 1.0, -c.share_frac
    cost = np.zeros(len(whole))
    cost[:n] = prices if prices is not None else 1.0
    return _Program(classes, n, cost, whole[None, :], np.ones(1), limit, np.zeros(len(classes)))


def _search(wanted: Wanted, program: _Program) -> tuple[_Program, FloatArray] | None:
    """The cheapest over a grid of effective sizes."""
    best: tuple[float, FloatArray] | None = None
    for d10_m in _grid(wanted):
        solved = _solve(program, wanted, d10_m)
        if solved is not None and (best is None or solved[0] < best[0] - 1e-12):
            best = solved
    return None if best is None else (program, best[1])


def _grid(wanted: Wanted) -> list[float]:
    """Effective sizes over the band, the wanted one first."""
    return [
        wanted.d10_m,
        *np.geomspace(wanted.d10_low_m, wanted.d10_high_m, _GRID).tolist(),
    ]


def _solve(program: _Program, wanted: Wanted, d10_m: float) -> tuple[float, FloatArray] | None:
    from scipy.optimize import linprog  # late: slow to import

    rows = [
        program.passing(d10_m, most=True),
        -program.passing(wanted.d10_high_m, most=False),
        -program.passing(wanted.uniformity_most * d10_m, most=False),
    ]
    than = [EFFECTIVE_FRAC, -EFFECTIVE_FRAC, -SIXTY_FRAC]
    done: Any = linprog(
        program.cost + program.ends(d10_m * math.sqrt(wanted.uniformity_most)),
        A_ub=np.vstack([program.below, *rows]),
        b_ub=np.concatenate([program.below_than, than]),
        A_eq=program.equal,
        b_eq=program.equal_to,
        method="highs",
    )
    if done.status != 0:
        return None
    x = np.asarray(done.x, dtype=np.float64)
    return float(program.cost @ x), x


def _blend_of(stocks: Sequence[Stock], program: _Program, x: FloatArray, *, priced: bool) -> Blend:
    n = program.stocks_count
    bought = np.maximum(x[:n], 0.0)
    used = np.maximum(x[n:], 0.0)
    curves: list[GradingCurve] = []
    weights: list[float] = []
    left: list[LeftOut] = []
    for i, stock in enumerate(stocks):
        mine = [k for k, c in enumerate(program.classes) if c.stock == i]
        mass = float(sum(used[k] for k in mine))
        if bought[i] <= _TINY or mass <= _TINY:
            continue
        curves.append(_used_curve(stock, program.classes, used, mine, mass))
        weights.append(mass)
        left += [
            out
            for k in mine
            if (out := _left_out(stock.name, program.classes[k], used[k], bought[i])) is not None
        ]
    try:
        curve: GradingCurve | None = mixed(curves, weights, name=" + ".join(c.name for c in curves))
    except RangeError:  # sieved on ranges that hardly meet: only bounds are known
        curve = None
    total = float(bought.sum())
    return Blend(
        feasible=True,
        parts_frac=tuple(float(b) / total for b in bought),
        bought_per_used=max(1.0, total / float(used.sum())),
        cost_per_kg=float(program.cost @ x) if priced else None,
        left_out=tuple(left),
        curve=curve,
        d10=None if curve is None else curve.size(EFFECTIVE_FRAC),
        uniformity=None if curve is None else curve.uniformity,
    )


def _left_out(name: str, c: _Class, used: float, bought: float) -> LeftOut | None:
    part = 1.0 - float(used) / float(bought * c.share_frac)
    if part <= _LEAST_LEFT_OUT:
        return None
    low_m = c.low_m if c.low_m > 0.0 else None
    return LeftOut(name, low_m, None if math.isinf(c.high_m) else c.high_m, min(1.0, part))


def _used_curve(
    stock: Stock, classes: tuple[_Class, ...], used: FloatArray, mine: list[int], mass: float
) -> GradingCurve:
    shares = [
        min(1.0, math.fsum(float(used[k]) for k in mine if classes[k].high_m <= size_m) / mass)
        for size_m in stock.curve.sizes_m
    ]
    return GradingCurve(stock.curve.sizes_m, tuple(shares), stock.name)


def _infeasible(stocks: Sequence[Stock], wanted: Wanted) -> Blend:
    """Why no mix will do, and the least share of an ideal sand that would mend it."""
    best: tuple[float, float] | None = None
    for d10_m in _grid(wanted):
        high_m = d10_m * wanted.uniformity_most
        ideal = Stock(GradingCurve((d10_m, high_m), (0.0, 1.0), "to add"))
        program = _mix_program([*stocks, ideal], np.array([*(0.0 for _ in stocks), 1.0]))
        solved = _solve(program, wanted, d10_m)
        if solved is not None and (best is None or solved[0] < best[0] - 1e-9):
            best = solved[0], d10_m
    lack = _reason(stocks, wanted)
    if best is None:
        return Blend(feasible=False, lack=lack)
    low_m, high_m = best[1], best[1] * wanted.uniformity_most
    return Blend(feasible=False, lack=lack, add_frac=best[0], add_low_m=low_m, add_high_m=high_m)


def _reason(stocks: Sequence[Stock], wanted: Wanted) -> str:
    if all(s.curve.passing(wanted.d10_high_m)[1] < EFFECTIVE_FRAC for s in stocks):
        return "every one of these sands is too coarse, and so is every mix of them"
    if all(s.curve.passing(wanted.d10_low_m)[0] > EFFECTIVE_FRAC for s in stocks):
        return "every one of these sands is too fine, and so is every mix of them"
    return (
        "the grains of every mix with such an effective size differ too much in size (uniformity)"
    )
