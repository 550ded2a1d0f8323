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
from typing import Any

import numpy as np
import numpy.typing as npt

from estimator.errors import SolveError
from estimator.solve.cutting_patterns import (
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

# Duals are kept as whole thousandths of a unit of weight: coarse enough for 64 bits.
SCALE = 1000
_MOST_PATTERNS = 60_000
_EASY_PATTERNS = 3_000
# So many are solved at once, without a search for a better plan to narrow them down first.
_FEW_PATTERNS = 60
# In programs so small, looking for a first plan by jumps takes most of the solver's time.
_SMALL_PROGRAM = 80
_NODES = 1_000_000

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


@dataclass(frozen=True, slots=True)
class Model:
    """A mixed-integer program: columns, then rows in compressed column form."""

    cost: npt.NDArray[np.float64]
    upper: npt.NDArray[np.float64]
    row_lower: npt.NDArray[np.float64]
    row_upper: npt.NDArray[np.float64]
    start: npt.NDArray[np.int32]
    index: npt.NDArray[np.int32]
    value: npt.NDArray[np.float64]


def build(
    columns: Sequence[tuple[float, float, Sequence[tuple[int, float]]]],
    rows: Sequence[tuple[float, float]],
) -> Model:
    """A model from columns (cost, upper bound, entries by row) and rows (lower, upper)."""
    start = np.zeros(len(columns) + 1, dtype=np.int32)
    start[1:] = np.cumsum([len(c[2]) for c in columns])
    return Model(
        np.array([c[0] for c in columns], dtype=float),
        np.array([c[1] for c in columns], dtype=float),
        np.array([r[0] for r in rows], dtype=float),
        np.array([r[1] for r in rows], dtype=float),
        start,
        np.array([r for c in columns for r, _ in c[2]], dtype=np.int32),
        np.array([v for c in columns for _, v in c[2]], dtype=float),
    )


def _checked(status: Any) -> None:
    import highspy

    if status == highspy.HighsStatus.kError:
        raise SolveError("The solver refused the cutting model.", cure="Report this job.")


def _run(solver: Any) -> None:
    """Run with one thread, whatever another instance in this process was set to."""
    import highspy

    if solver.run() == highspy.HighsStatus.kError:
        # The pool of threads is shared by the process and keeps its first size.
        solver.resetGlobalScheduler(True)
        _checked(solver.run())


def _solver() -> Any:
    import highspy

    class Quiet(highspy.Highs):
        """Silent from the start: taking on callbacks already prints HiGHS's banner."""

        def enableCallbacks(self) -> None:  # noqa: N802
            self.silent()
            super().enableCallbacks()  # type: ignore[no-untyped-call]

    solver = Quiet()  # type: ignore[no-untyped-call]
    for option, setting in (("output_flag", False), ("threads", 1), ("random_seed", 1)):
        _checked(solver.setOptionValue(option, setting))
    return solver


def solve_integer(
    model: Model,
    *,
    deadline: float,
    nodes: int,
    step: int,
    target: int | None = None,
) -> tuple[npt.NDArray[np.int64] | None, float, bool]:
    """Minimise a model in whole numbers.

    Args:
        model: The program; every column is whole.
        deadline: When to stop, on :func:`time.monotonic`'s clock.
        nodes: Most branches, so that a stop does not depend on the machine's speed.
        step: The objective is a multiple of this.
        target: A proven lower bound: a solution that attains it ends the search.

    Returns:
        The best solution or None, the lower bound, and whether the search came to its end.
    """
    import highspy

    solver = _solver()
    lp = highspy.HighsLp()
    lp.num_col_, lp.num_row_ = len(model.cost), len(model.row_lower)
    # In steps the objective is whole, which the solver notices and uses.
    lp.col_cost_, lp.col_lower_, lp.col_upper_ = (
        model.cost / step,
        np.zeros(len(model.cost)),
        model.upper,
    )
    lp.row_lower_, lp.row_upper_ = model.row_lower, model.row_upper
    lp.a_matrix_.format_ = highspy.MatrixFormat.kColwise
    lp.a_matrix_.start_, lp.a_matrix_.index_, lp.a_matrix_.value_ = (
        model.start,
        model.index,
        model.value,
    )
    lp.integrality_ = [highspy.HighsVarType.kInteger] * len(model.cost)
    for option, setting in (
        ("mip_rel_gap", 0.0),
        ("mip_abs_gap", 0.99),
        ("mip_max_nodes", nodes),
        ("time_limit", max(0.05, deadline - time.monotonic())),
    ):
        _checked(solver.setOptionValue(option, setting))
    if len(model.cost) <= _SMALL_PROGRAM:
        _checked(solver.setOptionValue("mip_heuristic_run_feasibility_jump", False))
    if target is not None:
        _checked(solver.setOptionValue("objective_target", target / step + 0.5))
    _checked(solver.passModel(lp))
    _run(solver)
    status = solver.getModelStatus()
    info = solver.getInfo()
    if status == highspy.HighsModelStatus.kInfeasible:
        return None, math.inf, True
    found = info.primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible
    x = np.rint(np.array(solver.getSolution().col_value)).astype(np.int64) if found else None
    low = math.ceil(info.mip_dual_bound - 1e-6) if math.isfinite(info.mip_dual_bound) else -math.inf
    if target is not None:
        low = max(low, target // step)
    # 'Optimal' alone is not believed: HiGHS 1.16 says it with a wide gap after a given start.
    closed = found and info.objective_function_value < low + 0.5
    return x, low * step, closed


def relax(problem: Problem, columns: Sequence[Column], *, deadline: float) -> Relaxation:
    """Column generation to the end, or a weaker but valid bound at the deadline."""
    import highspy

    m = len(problem.sizes)
    limited = [s for s, a in enumerate(problem.limit) if a is not None]
    row_of = {s: m + k for k, s in enumerate(limited)}
    solver = _solver()
    inf = highspy.kHighsInf
    for d in problem.demand:
        _checked(solver.addRow(float(d), inf, 0, [], []))
    for s in limited:
        _checked(solver.addRow(-inf, float(problem.limit[s] or 0), 0, [], []))
    pool: dict[Column, None] = {}

    def add(column: Column) -> bool:
        if column in pool:
            return False
        pool[column] = None
        stock, pattern = column
        entries = [(i, float(a)) for i, a in enumerate(pattern) if a]
        if stock in row_of:
            entries.append((row_of[stock], 1.0))
        index = np.array([i for i, _ in entries], dtype=np.int32)
        value = np.array([v for _, v in entries])
        weight = float(problem.weight[stock])
        _checked(solver.addCol(weight, 0.0, inf, len(entries), index, value))
        return True

    for column in columns:
        add(column)
    stocks = range(len(problem.capacity))
    while True:
        _run(solver)
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
    rows = relaxation.table.tolist()
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


def least(problem: Problem, *, deadline: float) -> Answer:
    """The plan of least weight, with a lower bound; equal if the proof came to its end.

    Args:
        problem: The job; each size fits some stock without a limit.
        deadline: When to stop, on :func:`time.monotonic`'s clock.
    """
    from estimator.solve.cutting_arcs import least_by_arcs, useful_arcs

    step = math.gcd(*problem.weight)

    def up(scaled: int) -> int:
        return -(-scaled // (SCALE * step)) * step

    plans = [p for s in range(len(problem.capacity)) if (p := first_fit(problem, s)) is not None]
    plan = min(plans, key=lambda p: weight_of(problem, p))
    best = weight_of(problem, plan)
    seed = [
        (u.stock, fill_up(problem, u.pattern, problem.capacity[u.stock])) for p in plans for u in p
    ]
    relaxation = relax(problem, seed, deadline=deadline)
    bound = up(relaxation.bound)

    def improve(columns: Sequence[Column], until: float = 1.0) -> tuple[float, bool]:
        """Solve over these patterns in a share of the time left; the bound holds for them alone."""
        nonlocal plan, best
        stop = time.monotonic() + until * (deadline - time.monotonic())
        chosen = list(dict.fromkeys([*columns, *((u.stock, u.pattern) for u in plan)]))
        model = pattern_model(problem, chosen)
        x, low, ended = solve_integer(model, deadline=stop, nodes=_NODES, step=step, target=bound)
        if x is not None:
            better = _plan(chosen, x)
            if weight_of(problem, better) < best:
                plan, best = better, weight_of(problem, better)
        return low, ended

    shares: tuple[float, ...] = (1.0,)
    few: list[Column] | None = None
    if bound < best:
        gap = (best - step) * SCALE - relaxation.bound
        few = candidates(problem, relaxation, gap, _FEW_PATTERNS)
        if few is None:
            improve(relaxation.columns, 0.1)
            # Shares of the gap, widening: a small program often proves what the large one would.
            # The first holds no more than a plan that attains the bound can use.
            shares = (0.0, 0.125, 0.25, 0.5, 1.0)
    columns: list[Column] | None
    tried: list[Column] | None = None
    low, ended = -math.inf, False
    for share in shares:
        gap = (best - step) * SCALE - relaxation.bound
        if bound >= best or time.monotonic() > deadline:
            break
        part = min(gap, max(int(gap * share), bound * SCALE - relaxation.bound))
        columns = few or candidates(problem, relaxation, part, _EASY_PATTERNS)
        if columns is None:
            # Too many to list. The best of them still often hold a plan that attains the bound.
            while columns is None and part > 0:
                part //= 2
                columns = candidates(problem, relaxation, part, _EASY_PATTERNS)
            improve(columns or relaxation.columns, 0.3)
            break
        if columns != tried:
            low, ended = improve(columns)
            tried = columns
        # Plans with any other pattern weigh at least this.
        outside = up(relaxation.bound + part + 1)
        bound = max(bound, min(best if ended else int(max(low, bound)), outside, best))
    gap = (best - step) * SCALE - relaxation.bound
    if bound >= best or time.monotonic() > deadline:
        return Answer(tuple(plan), best, bound, relaxation)
    arcs = useful_arcs(problem, relaxation.values, relaxation.stock_values, gap)
    columns = candidates(problem, relaxation, gap, min(_MOST_PATTERNS, len(arcs)))
    if columns is not None:
        low, ended = improve(columns)
        bound = best if ended else int(min(max(low, bound), best))
    else:
        by_arcs = least_by_arcs(problem, arcs, deadline=deadline, step=step, target=bound)
        if by_arcs.plan is not None and weight_of(problem, by_arcs.plan) < best:
            plan, best = list(by_arcs.plan), weight_of(problem, by_arcs.plan)
        bound = best if by_arcs.ended else int(min(max(by_arcs.bound, bound), best))
    return Answer(tuple(plan), best, bound, relaxation)
