"""The arc-flow model of a cutting job, its arcs thinned by reduced cost.

A board is a path from 0 to its length; an arc of a piece leads from where it starts to where the
next may start; longer pieces come first (Valerio de Carvalho, 1999, from memory). Exact like the
model over all patterns, but its size grows with the length and not with the number of patterns.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from estimator.solve.cutting_patterns import SCALE, Problem, Used, best_values
from estimator.solve.integer_program import build, solve_integer

_NONE = -(2**60)


@dataclass(frozen=True, slots=True)
class ArcAnswer:
    """A plan better than the known one, if any; a bound on such plans; whether the search ended."""

    plan: tuple[Used, ...] | None
    bound: float
    ended: bool


def useful_arcs(
    problem: Problem, values: Sequence[int], stock_values: Sequence[int], gap: int
) -> list[tuple[int, int]]:
    """Arcs (size, start) that lie on some board whose reduced cost is within the gap."""
    longest = max(problem.capacity)
    rest = best_values(problem, values)
    spare = [
        problem.weight[s] * SCALE - stock_values[s] - gap for s in range(len(problem.capacity))
    ]
    reach = np.full(longest + 1, _NONE, dtype=np.int64)
    reach[0] = 0
    arcs = []
    for i, w in enumerate(problem.sizes):
        # What pieces i and later can still add after this piece, less what the board must earn.
        after = np.full(longest + 1, _NONE, dtype=np.int64)
        for s, capacity in enumerate(problem.capacity):
            ends = np.arange(w, capacity + 1)
            after[: len(ends)] = np.maximum(after[: len(ends)], rest[i, capacity - ends] - spare[s])
        kept = np.zeros(longest + 1, dtype=bool)
        current, total = reach, reach.copy()
        for _ in range(min(problem.demand[i], longest // w)):
            kept |= (current >= 0) & (current + values[i] + after >= 0)
            moved = np.full(longest + 1, _NONE, dtype=np.int64)
            moved[w:] = current[:-w] + values[i]
            moved[moved < 0] = _NONE
            current = moved
            total = np.maximum(total, moved)
        reach = total
        arcs += [(i, int(u)) for u in np.flatnonzero(kept)]
    return arcs


def least_by_arcs(
    problem: Problem,
    arcs: Sequence[tuple[int, int]],
    *,
    deadline: float,
    work: int,
    step: int,
    target: int,
    below: int,
) -> ArcAnswer:
    """The plan of least weight whose boards are paths of the given arcs.

    Args:
        problem: The job.
        arcs: Pieces' arcs (size, start), as from :func:`useful_arcs`.
        deadline: When to stop in any case, on :func:`time.monotonic`'s clock.
        work: As :func:`solve_integer` says.
        step: Weights of plans are multiples of this.
        target: A proven lower bound on the weight of every plan.
        below: Only a plan of less weight is of use.

    Returns:
        ``plan`` is None if none was found, which is a proof that there is none if ``ended``.
    """
    m, n_stock = len(problem.sizes), len(problem.capacity)
    nodes = sorted(
        {0, *problem.capacity, *(u for _, u in arcs), *(u + problem.sizes[i] for i, u in arcs)}
    )
    row = {v: m + n_stock + k for k, v in enumerate(nodes)}
    boards = sum(problem.demand)
    columns: list[tuple[float, float, list[tuple[int, float]]]] = []
    for s, capacity in enumerate(problem.capacity):
        limit = problem.limit[s]
        most = boards if limit is None else min(limit, boards)
        entries = [(m + s, 1.0), (row[0], 1.0), (row[capacity], -1.0)]
        columns.append((problem.weight[s], most, entries))
    for i, u in arcs:
        entries = [(i, 1.0), (row[u], -1.0), (row[u + problem.sizes[i]], 1.0)]
        columns.append((0.0, problem.demand[i], entries))
    loss = list(itertools.pairwise(nodes))
    columns += [(0.0, boards, [(row[u], -1.0), (row[v], 1.0)]) for u, v in loss]
    rows = [(float(d), math.inf) for d in problem.demand]
    rows += [(0.0, math.inf if a is None else float(a)) for a in problem.limit]
    rows += [(0.0, 0.0)] * len(nodes)
    found = solve_integer(
        build(columns, rows), deadline=deadline, work=work, step=step, target=target, below=below
    )
    x = found.x
    if x is None:
        return ArcAnswer(None, found.low, found.ended)
    flow: dict[int, list[list[int]]] = {v: [] for v in nodes}
    for (i, u), f in zip(arcs, x[n_stock:], strict=False):
        flow[u].append([i, u + problem.sizes[i], int(f)])
    for (u, v), f in zip(loss, x[n_stock + len(arcs) :], strict=True):
        flow[u].append([-1, v, int(f)])
    plan = []
    left = {s: int(x[s]) for s in range(n_stock)}
    for _ in range(sum(left.values())):
        at, counts = 0, [0] * m
        while True:
            stock = next((s for s in left if left[s] and problem.capacity[s] == at), None)
            if stock is not None:
                break
            arc = next(a for a in flow[at] if a[2] > 0)
            arc[2] -= 1
            if arc[0] >= 0:
                counts[arc[0]] += 1
            at = arc[1]
        left[stock] -= 1
        pattern = tuple(min(a, d) for a, d in zip(counts, problem.demand, strict=True))
        plan.append(Used(stock, pattern, 1))
    return ArcAnswer(tuple(plan), found.low, found.ended)
