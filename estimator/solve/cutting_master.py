"""Least-weight choice of cutting patterns: column generation, then integer programs by HiGHS.

The linear relaxation over all patterns (Gilmore and Gomory, 1961, 1963) gives a lower bound and a
worth for each piece, made exact by rounding the worths down to whole numbers and checking them
against the knapsack. A plan that beats the best known one can only use patterns whose reduced cost
is within the gap, so an integer program over all of those patterns is exact. Where they are too
many, the arc-flow model (Valerio de Carvalho, 1999), its arcs thinned by the same rule, decides.
Sources from memory.
"""

from __future__ import annotations

import math
import time
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from estimator.errors import SolveError
from estimator.solve.cutting_arcs import least_by_arcs, useful_arcs
from estimator.solve.cutting_patterns import (
    SCALE,
    IntArray,
    Pattern,
    Problem,
    Used,
    best_pattern,
    best_values,
    fill_up,
    first_fit,
    patterns_within,
    weight_of,
)
from estimator.solve.integer_program import Model, build, checked, relaxed, run, solve_integer

_MOST_PATTERNS = 60_000
_EASY_PATTERNS = 3_000
# So many are solved at once, without a search for a better plan to narrow them down first.
_FEW_PATTERNS = 60
_WORK = 1_200_000
"""Branches times entries of a program that its search is allowed, at an effort of 1."""
_FIRST, _BEST_OF_MANY = 0.05, 0.15
"""Shares of that for a better plan from the patterns of the relaxation, and from the best of those
that are too many to list."""
_MOST_ARCS = 8_000
"""Arcs of a program, at an effort of 1: its root alone takes seconds where there are more."""

Column = tuple[int, Pattern]


@dataclass(frozen=True, slots=True)
class Relaxation:
    """A proven lower bound and what it rests on.

    Attributes:
        values: Worth of a piece of each size, whole thousandths of weight.
        stock_values: Penalty (0 or negative) of a board of each limited stock, same unit.
        table: Knapsack table for ``values``.
        bound: Lower bound on the objective, whole thousandths of weight.
        columns: The patterns generated on the way.
    """

    values: tuple[int, ...]
    stock_values: tuple[int, ...]
    table: IntArray
    bound: int
    columns: tuple[Column, ...]


@dataclass(frozen=True, slots=True)
class Answer:
    """The best plan found and a lower bound on the weight of every plan."""

    plan: tuple[Used, ...]
    weight: int
    bound: int
    relaxation: Relaxation


def relax(problem: Problem, columns: Sequence[Column], *, deadline: float) -> Relaxation:
    """Column generation to the end, or a weaker but valid bound at the deadline."""
    import highspy

    m = len(problem.sizes)
    limited = [s for s, a in enumerate(problem.limit) if a is not None]
    row_of = {s: m + k for k, s in enumerate(limited)}
    inf = highspy.kHighsInf

    def entries(column: Column) -> list[tuple[int, float]]:
        stock, pattern = column
        found = [(i, float(a)) for i, a in enumerate(pattern) if a]
        return [*found, (row_of[stock], 1.0)] if stock in row_of else found

    pool = dict.fromkeys(columns)
    rows = [(float(d), inf) for d in problem.demand]
    rows += [(-inf, float(problem.limit[s] or 0)) for s in limited]
    solver = relaxed(build([(problem.weight[c[0]], inf, entries(c)) for c in pool], rows))
    # Without: each run begins where the last ended, and the first is over sooner.
    checked(solver.setOptionValue("presolve", "off"))

    def add(column: Column) -> bool:
        if column in pool:
            return False
        pool[column] = None
        index, value = zip(*entries(column), strict=True)
        weight = float(problem.weight[column[0]])
        places = np.array(index, dtype=np.int32)
        checked(solver.addCol(weight, 0.0, inf, len(places), places, np.array(value)))
        return True

    stocks = range(len(problem.capacity))
    while True:
        run(solver)
        if solver.getModelStatus() != highspy.HighsModelStatus.kOptimal:
            raise SolveError("The solver lost its way in the cutting model.", cure="Report it.")
        duals = solver.getSolution().row_dual
        values = tuple(max(0, math.floor(v * SCALE)) for v in duals[:m])
        prices = [0] * len(problem.capacity)
        for s in limited:
            prices[s] = min(0, math.floor(duals[row_of[s]] * SCALE))
        table = best_values(problem, values)
        grew = False
        for s in stocks:
            if table[0, problem.capacity[s]] > problem.weight[s] * SCALE - prices[s]:
                pattern = best_pattern(problem, values, table, problem.capacity[s])
                grew |= add((s, fill_up(problem, pattern, problem.capacity[s])))
        if not grew or time.monotonic() > deadline:
            return _proven(problem, values, prices, table, tuple(pool))


def _proven(
    problem: Problem,
    values: tuple[int, ...],
    prices: list[int],
    table: IntArray,
    columns: tuple[Column, ...],
) -> Relaxation:
    """A bound that holds in whole numbers: worths lowered until no pattern earns too much."""
    while True:
        worst = (1, 1)
        for s, capacity in enumerate(problem.capacity):
            most, allowed = int(table[0, capacity]), problem.weight[s] * SCALE
            if problem.limit[s] is not None:
                prices[s] = min(prices[s], allowed - most, 0)
            elif most * worst[1] > allowed * worst[0]:
                worst = (most, allowed)
        if worst == (1, 1):
            break
        values = tuple(v * worst[1] // worst[0] for v in values)
        table = best_values(problem, values)
    bound = sum(v * d for v, d in zip(values, problem.demand, strict=True)) + sum(
        p * (a or 0) for p, a in zip(prices, problem.limit, strict=True)
    )
    return Relaxation(values, tuple(prices), table, bound, columns)


def candidates(
    problem: Problem, relaxation: Relaxation, gap: int, most: int
) -> list[Column] | None:
    """Every maximal pattern whose reduced cost is at most ``gap``; None above ``most``."""
    found: list[Column] = []
    rows = [row.data for row in relaxation.table]  # read one by one, sooner than numpy's
    for s in range(len(problem.capacity)):
        least = problem.weight[s] * SCALE - relaxation.stock_values[s] - gap
        patterns = patterns_within(problem, s, relaxation.values, rows, least, most - len(found))
        if patterns is None:
            return None
        found += [(s, p) for p in patterns]
    return found


def pattern_model(problem: Problem, columns: Sequence[Column]) -> Model:
    """Cover the demand by whole numbers of patterns within the stock limits.

    After the patterns, one column a stock counts its boards and carries their weight: branching on
    the boards of a stock closes gaps that branching on single patterns does not.
    """
    m = len(problem.sizes)
    rows: list[tuple[float, float]] = [(d, math.inf) for d in problem.demand]
    rows += [(0.0, 0.0)] * len(problem.capacity)
    entries: list[tuple[float, float, list[tuple[int, float]]]] = [
        (
            0.0,
            max(math.ceil(d / a) for d, a in zip(problem.demand, p, strict=True) if a),
            [*((i, float(a)) for i, a in enumerate(p) if a), (m + s, 1.0)],
        )
        for s, p in columns
    ]
    total = sum(problem.demand)
    for s, (weight, limit) in enumerate(zip(problem.weight, problem.limit, strict=True)):
        entries.append((weight, total if limit is None else limit, [(m + s, -1.0)]))
    return build(entries, rows)


def _plan(columns: Sequence[Column], times: npt.NDArray[np.int64]) -> list[Used]:
    return [Used(s, p, int(t)) for (s, p), t in zip(columns, times, strict=False) if t > 0]


def least(
    problem: Problem, *, deadline: float, effort: float = 1.0, below: float = math.inf
) -> Answer:
    """The plan of least weight, with a lower bound; equal if the proof came to its end.

    Args:
        problem: The job; each size fits some stock without a limit.
        deadline: When to stop in any case, on :func:`time.monotonic`'s clock.
        effort: How much work the searches are allowed, in multiples of the usual.
        below: Only a plan of less weight is of use: the proof may end where there is none.
    """

    step = math.gcd(*problem.weight)

    def up(scaled: int) -> int:
        return -(-scaled // (SCALE * step)) * step

    plans = [p for s in range(len(problem.capacity)) if (p := first_fit(problem, s)) is not None]
    plan = min(plans, key=lambda p: weight_of(problem, p))
    best = weight_of(problem, plan)
    boards = dict.fromkeys((u.stock, u.pattern) for p in plans for u in p)
    seed = [(s, fill_up(problem, pattern, problem.capacity[s])) for s, pattern in boards]
    relaxation = relax(problem, seed, deadline=deadline)
    bound = up(relaxation.bound)

    def known() -> int:
        """Weight below which a plan is still looked for: of what plans can weigh."""
        return best if below >= best else -(-int(below) // step) * step

    def improve(columns: Sequence[Column], share: float = 1.0) -> tuple[float, bool]:
        """Solve over these patterns with a share of the work; the bound holds for them alone."""
        nonlocal plan, best
        work = math.ceil(share * effort * _WORK)
        chosen = list(dict.fromkeys([*columns, *((u.stock, u.pattern) for u in plan)]))
        model = pattern_model(problem, chosen)
        found = solve_integer(
            model, deadline=deadline, work=work, step=step, target=bound, below=known()
        )
        if found.x is not None:
            better = _plan(chosen, found.x)
            if weight_of(problem, better) < best:
                plan, best = better, weight_of(problem, better)
        return found.low, found.ended

    shares: tuple[float, ...] = (1.0,)
    few: list[Column] | None = None
    if bound < known():
        gap = (known() - step) * SCALE - relaxation.bound
        few = candidates(problem, relaxation, gap, _FEW_PATTERNS)
        if few is None:
            improve(relaxation.columns, _FIRST)
            # Shares of the gap, widening: a small program often proves what the large one would.
            # The first holds no more than a plan that attains the bound can use.
            shares = (0.0, 0.125, 0.25, 0.5, 1.0)
    columns: list[Column] | None
    tried: list[Column] | None = None
    low, ended = -math.inf, False
    for share in shares:
        gap = (known() - step) * SCALE - relaxation.bound
        if bound >= known() or time.monotonic() > deadline:
            break
        part = min(gap, max(int(gap * share), bound * SCALE - relaxation.bound))
        columns = few or candidates(problem, relaxation, part, _EASY_PATTERNS)
        if columns is None:
            # Too many to list. The best of them still often hold a plan that attains the bound.
            while columns is None and part > 0:
                part //= 2
                columns = candidates(problem, relaxation, part, _EASY_PATTERNS)
            improve(columns or relaxation.columns, _BEST_OF_MANY)
            break
        if columns != tried:
            low, ended = improve(columns)
            tried = columns
        # Plans with any other pattern weigh at least this.
        outside = up(relaxation.bound + part + 1)
        bound = max(bound, min(known() if ended else int(max(low, bound)), outside, known()))
    gap = (known() - step) * SCALE - relaxation.bound
    if bound >= known() or time.monotonic() > deadline:
        return Answer(tuple(plan), best, bound, relaxation)
    arcs = useful_arcs(problem, relaxation.values, relaxation.stock_values, gap)
    columns = candidates(problem, relaxation, gap, min(_MOST_PATTERNS, len(arcs)))
    if columns is not None:
        low, ended = improve(columns)
        bound = known() if ended else int(min(max(low, bound), known()))
    elif len(arcs) <= effort * _MOST_ARCS:
        work = math.ceil(effort * _WORK)
        by_arcs = least_by_arcs(
            problem, arcs, deadline=deadline, work=work, step=step, target=bound, below=known()
        )
        if by_arcs.plan is not None and weight_of(problem, by_arcs.plan) < best:
            plan, best = list(by_arcs.plan), weight_of(problem, by_arcs.plan)
        bound = known() if by_arcs.ended else int(min(max(by_arcs.bound, bound), known()))
    return Answer(tuple(plan), best, bound, relaxation)
