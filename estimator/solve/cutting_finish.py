"""The last choice among equal plans: the longest single off-cut, and surplus pieces dropped."""

from __future__ import annotations

import math
from collections.abc import Sequence

from estimator.solve.cutting_master import Answer, Relaxation, candidates
from estimator.solve.cutting_patterns import SCALE, Pattern, Problem, patterns_worth
from estimator.solve.integer_program import build, solve_integer

Cut = tuple[int, Pattern]
_MOST_PATTERNS, _MOST_LONG, _WORK = 500, 500, 20_000
"""Patterns, those of a longer off-cut, and branches times entries: the long off-cut takes no more
than the plan."""


def _over(problem: Problem, boards: Sequence[Cut]) -> list[int]:
    """Pieces of each size beyond those wanted."""
    return [sum(p[i] for _, p in boards) - d for i, d in enumerate(problem.demand)]


def _drop(problem: Problem, boards: Sequence[Cut], special: int) -> list[Cut]:
    """Boards with exactly the pieces wanted: surplus leaves the special board first, then the
    boards with the most left."""
    over = _over(problem, boards)
    counts = [list(p) for _, p in boards]
    left = [problem.capacity[s] - problem.length(p) for s, p in boards]
    for i in filter(over.__getitem__, range(len(over))):
        for b in sorted(range(len(boards)), key=lambda b: (b != special, -left[b], b)):
            n = min(over[i], counts[b][i])
            counts[b][i] -= n
            over[i] -= n
            left[b] += n * problem.sizes[i]
    return [(s, tuple(c)) for (s, _), c in zip(boards, counts, strict=True)]


def _longer(
    problem: Problem, relaxation: Relaxation, gap: int, rooms: Sequence[int], unit: int, best: int
) -> list[tuple[int, Cut]] | None:
    """Boards of a plan within the gap that leave an off-cut longer than the best, each behind its
    reduced cost; None where they are too many.

    The other boards yield at most their worth, so that the pieces on this one are worth what its
    stock costs, less the gap.
    """
    rows = [row.data for row in relaxation.table]  # read one by one, sooner than numpy's
    found: list[tuple[int, Cut]] = []
    for s, room in enumerate(rooms):
        most = (room - best - 1) // unit
        if most <= 0 or problem.limit[s] == 0:
            continue
        cost = problem.weight[s] * SCALE - relaxation.stock_values[s]
        patterns = patterns_worth(
            problem, min(most, problem.capacity[s]), relaxation.values, rows, cost - gap, _MOST_LONG
        )
        if patterns is None:
            return None
        found += [(cost - worth, (s, p)) for worth, p in patterns]
    return found if len(found) <= _MOST_LONG else None


def finish(
    problem: Problem,
    answer: Answer,
    rooms: Sequence[int],
    unit: int,
    *,
    deadline: float,
    settle: bool = True,
) -> tuple[list[Cut], bool]:
    """The plan's boards, one by one, rearranged at equal weight for the longest single off-cut.

    Args:
        problem: The job.
        answer: The plan of least weight and the relaxation that it came from.
        rooms: Usable length of each stock in finer units (a stock without one is never used).
        unit: Finer units in one unit of the problem.
        deadline: When to stop in any case, on :func:`time.monotonic`'s clock.
        settle: Whether the plan is of use, so that a longer off-cut is looked for.

    Returns:
        Boards as (stock, counts), exactly the pieces wanted, and whether the longest off-cut is
        proven. One board is cut in any way that leaves more than the plan has and the rest from
        every pattern that a plan of this weight can then use, so the program is exact.
    """

    def offcut(board: Cut) -> int:
        return max(0, rooms[board[0]] - problem.length(board[1]) * unit)

    boards = [(u.stock, u.pattern) for u in answer.plan for _ in range(u.times)]
    kinds = dict.fromkeys(boards) if any(_over(problem, boards)) else boards[:1]
    trimmed = max(
        (_drop(problem, boards, boards.index(kind)) for kind in kinds),
        key=lambda plan: max(map(offcut, set(plan))),
    )
    best = max(map(offcut, set(trimmed)))
    slack = unit * (
        sum(problem.capacity[s] for s, _ in boards)
        - sum(w * d for w, d in zip(problem.sizes, problem.demand, strict=True))
    )
    stocks = [s for s in range(len(rooms)) if problem.limit[s] != 0]
    if len(stocks) == 1 and best >= min(slack, rooms[stocks[0]]) - (
        problem.capacity[stocks[0]] * unit - rooms[stocks[0]]
    ):
        return trimmed, True
    if answer.weight != answer.bound or not settle:
        return trimmed, False
    gap = answer.weight * SCALE - answer.relaxation.bound
    longer = _longer(problem, answer.relaxation, gap, rooms, unit, best)
    if not longer:
        return trimmed, longer is not None
    # The others have what the longest of these leaves of the gap.
    left = gap - min(cost for cost, _ in longer)
    columns = candidates(problem, answer.relaxation, left, _MOST_PATTERNS)
    if columns is None:
        return trimmed, False
    usable = [c for c in columns if c[0] in stocks]
    m, n = len(problem.sizes), len(rooms)
    weight_row, one_row = m + n, m + n + 1
    entries: list[tuple[float, float, list[tuple[int, float]]]] = []
    for s, p in usable:
        times = max(math.ceil(d / a) for d, a in zip(problem.demand, p, strict=True) if a)
        fills = [(i, float(a)) for i, a in enumerate(p) if a]
        entries.append((0.0, times, [*fills, (m + s, 1.0), (weight_row, problem.weight[s])]))
    for _, (s, p) in longer:
        fills = [(i, float(a)) for i, a in enumerate(p) if a]
        links = [(m + s, 1.0), (weight_row, problem.weight[s]), (one_row, 1.0)]
        entries.append((-float(offcut((s, p))), 1.0, [*fills, *links]))
    rows: list[tuple[float, float]] = [(float(d), math.inf) for d in problem.demand]
    rows += [(0.0, math.inf if a is None else float(a)) for a in problem.limit[:n]]
    rows += [(0.0, float(answer.weight)), (1.0, 1.0)]
    most = max(offcut(board) for _, board in longer)
    found = solve_integer(
        build(entries, rows), deadline=deadline, work=_WORK, step=1, target=-most, below=-best
    )
    x = found.x
    if x is None or not found.ended:
        return trimmed, found.ended
    every = [*usable, *(board for _, board in longer)]
    special = next(c for c, z in zip(every[len(usable) :], x[len(usable) :], strict=True) if z)
    plan = [special]
    plan += [c for c, t in zip(usable, x, strict=False) for _ in range(int(t))]
    plan = [b for b in _drop(problem, plan, 0) if any(b[1])]
    whole = sum(problem.weight[s] for s, _ in plan) == answer.weight
    fits = all(problem.length(p) <= problem.capacity[s] for s, p in plan)
    covered = all(sum(p[i] for _, p in plan) == d for i, d in enumerate(problem.demand))
    if not (whole and fits and covered):
        return trimmed, False
    return plan, True
