"""Cutting patterns in whole units: knapsack tables, enumeration by reduced cost, first-fit plans.

Everything here is exact integer arithmetic on plain sequences and numpy arrays; no solver is used.
A *pattern* is a tuple of counts, one per piece length; a *stock* is an index into capacities.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from operator import mul

import numpy as np
import numpy.typing as npt

IntArray = npt.NDArray[np.int64]
Pattern = tuple[int, ...]

# Duals are kept as whole thousandths of a unit of weight: coarse enough for 64 bits.
SCALE = 1000
_VISITS = 40
"""Steps that a search for patterns takes, for each that it may find."""


@dataclass(frozen=True, slots=True)
class Problem:
    """A cutting job in whole units, lengths of pieces descending.

    Attributes:
        sizes: Length of each piece plus one kerf, descending, all different.
        demand: Pieces wanted of each size, at least 1.
        capacity: Usable length of each stock plus one kerf.
        weight: What one board of each stock counts in the objective (cost, then boards).
        limit: Boards available of each stock; None where there is no limit.
    """

    sizes: tuple[int, ...]
    demand: tuple[int, ...]
    capacity: tuple[int, ...]
    weight: tuple[int, ...]
    limit: tuple[int | None, ...]

    def length(self, pattern: Pattern) -> int:
        """Units that a pattern takes, a kerf for each piece included."""
        return sum(map(mul, pattern, self.sizes))


@dataclass(frozen=True, slots=True)
class Used:
    """One kind of board in a plan: which stock, which pattern, how many times."""

    stock: int
    pattern: Pattern
    times: int


def weight_of(problem: Problem, plan: Sequence[Used]) -> int:
    """Objective of a plan: the sum of its boards' weights."""
    return sum(problem.weight[u.stock] * u.times for u in plan)


def best_values(problem: Problem, values: Sequence[int]) -> IntArray:
    """Most value that fits into each length, for the sizes from any one on to the last.

    Args:
        problem: The job.
        values: Worth of one piece of each size, whole and not negative.

    Returns:
        Table ``t`` of shape (sizes + 1, longest capacity + 1): ``t[i, r]`` is the most that pieces
        ``i`` and later are worth in length ``r`` with no more of each than is wanted.

    The bounded knapsack by dynamic programming (Martello and Toth, Knapsack Problems, 1990, from
    memory).
    """
    longest = max(problem.capacity)
    m = len(problem.sizes)
    table = np.zeros((m + 1, longest + 1), dtype=np.int64)
    for i in range(m - 1, -1, -1):
        w, value = problem.sizes[i], values[i]
        row = table[i + 1].copy()
        if value > 0:
            copies, more = min(problem.demand[i], longest // w), 1
            while copies:  # 1, 2, 4, ... more at a time: every number of copies is a sum of these
                more = min(more, copies)
                # The right side is complete before it is assigned.
                row[more * w :] = np.maximum(row[more * w :], row[: -more * w] + more * value)
                copies, more = copies - more, 2 * more
        table[i] = row
    return table


def best_pattern(
    problem: Problem, values: Sequence[int], table: IntArray, capacity: int
) -> Pattern:
    """The pattern that attains ``table[0, capacity]``, read back from the table."""
    pattern = []
    room = capacity
    for i, w in enumerate(problem.sizes):
        a = 0
        while table[i + 1, room - a * w] + a * values[i] != table[i, room]:
            a += 1
        pattern.append(a)
        room -= a * w
    return tuple(pattern)


def fill_up(problem: Problem, pattern: Pattern, capacity: int) -> Pattern:
    """The pattern with the longest wanted pieces added until none fits."""
    room = capacity - problem.length(pattern)
    filled = list(pattern)
    for i, w in enumerate(problem.sizes):
        extra = min(problem.demand[i] - filled[i], room // w)
        filled[i] += extra
        room -= extra * w
    return tuple(filled)


def patterns_within(
    problem: Problem,
    stock: int,
    values: Sequence[int],
    rows: Sequence[Sequence[int]],
    least_value: int,
    most: int,
) -> list[Pattern] | None:
    """Every maximal pattern of one stock that is worth at least ``least_value``.

    Args:
        problem: The job.
        stock: Which stock.
        values: Worth of one piece of each size.
        rows: Table from :func:`best_values` with the same values.
        least_value: Smallest total worth.
        most: Give up above this number of patterns.

    Returns:
        The patterns, in descending lexicographic order; None if there are more than ``most``.
        Patterns that fit a strictly cheaper stock without a limit are left out: no least plan
        cuts them from this stock.
    """
    m = len(problem.sizes)
    sizes, demand = problem.sizes, problem.demand
    capacity = problem.capacity[stock]
    if rows[0][capacity] < least_value:
        return []
    cheaper = [
        c
        for c, w, a in zip(problem.capacity, problem.weight, problem.limit, strict=True)
        if a is None and w < problem.weight[stock]
    ]
    shortest_used = max(cheaper, default=0) + 1
    first_fitting: list[int] = []  # by room, the longest size that it holds
    for i in range(m, -1, -1):
        end = min(sizes[i - 1], capacity + 1) if i else capacity + 1
        first_fitting += [i] * (end - len(first_fitting))
    found: list[Pattern] = []
    counts = [0] * m
    visited = 0

    def is_maximal(room: int) -> bool:
        return all(counts[k] == demand[k] for k in range(first_fitting[room], m))

    def search(i: int, room: int, need: int) -> bool:
        nonlocal visited
        visited += 1
        if len(found) > most or visited > _VISITS * most:
            return False
        if need <= 0 and capacity - room >= shortest_used and is_maximal(room):
            found.append(tuple(counts))
        for j in range(max(i, first_fitting[room]), m):
            if rows[j][room] < need:
                break
            w, value = sizes[j], values[j]
            below = rows[j + 1]
            for a in range(min(demand[j], room // w), 0, -1):
                left = room - a * w
                if below[left] >= need - a * value:
                    counts[j] = a
                    if not search(j + 1, left, need - a * value):
                        return False
            counts[j] = 0
        return True

    complete = search(0, capacity, least_value)
    return sorted(found, reverse=True) if complete else None


def patterns_worth(
    problem: Problem,
    capacity: int,
    values: Sequence[int],
    rows: Sequence[Sequence[int]],
    least_value: int,
    most: int,
) -> list[tuple[int, Pattern]] | None:
    """Every pattern, filled or not, that fits a length and is worth so much; behind its worth.

    Args:
        problem: The job.
        capacity: The length.
        values, rows, least_value, most: As in :func:`patterns_within`.
    """
    m = len(problem.sizes)
    found: list[tuple[int, Pattern]] = []
    waiting: list[tuple[int, int, int, Pattern]] = [(0, capacity, 0, ())]
    for _ in range(_VISITS * most):
        if not waiting:
            return found
        i, room, worth, counts = waiting.pop()
        if i == m:
            found.append((worth, counts))
            if len(found) > most:
                return None
            continue
        size = problem.sizes[i]
        for a in range(min(problem.demand[i], room // size) + 1):
            left, sum_ = room - a * size, worth + a * values[i]
            if sum_ + rows[i + 1][left] >= least_value:
                waiting.append((i + 1, left, sum_, (*counts, a)))
    return None


def first_fit(problem: Problem, target: int) -> list[Used] | None:
    """First-fit decreasing on one preferred stock, then each board changed to its cheapest stock.

    Args:
        problem: The job.
        target: Stock whose length is filled first; longer pieces take the shortest stock that
            holds them.

    Returns:
        A plan within the stock limits, or None if this rule runs out of stock.
    """
    order = sorted(range(len(problem.capacity)), key=lambda s: problem.capacity[s])
    left = {s: problem.limit[s] for s in order}
    boards: list[tuple[int, list[int]]] = []
    rooms: list[int] = []
    for i, w in enumerate(problem.sizes):
        place = 0  # one that holds no piece of this size holds none later
        for _ in range(problem.demand[i]):
            while place < len(rooms) and rooms[place] < w:
                place += 1
            if place == len(rooms):
                choice = [target, *order]
                stock = next((s for s in choice if problem.capacity[s] >= w and left[s] != 0), None)
                if stock is None:
                    return None
                left[stock] = None if left[stock] is None else (left[stock] or 0) - 1
                boards.append((stock, [0] * len(problem.sizes)))
                rooms.append(problem.capacity[stock])
            boards[place][1][i] += 1
            rooms[place] -= w
    cheapest = sorted(order, key=lambda s: (problem.weight[s], problem.capacity[s]))
    plan = []
    for (stock, counts), room in zip(boards, rooms, strict=True):
        need = problem.capacity[stock] - room
        best = next(
            s for s in cheapest if s == stock or (problem.capacity[s] >= need and left[s] != 0)
        )
        if best != stock:
            left[best] = None if left[best] is None else (left[best] or 0) - 1
            left[stock] = None if left[stock] is None else (left[stock] or 0) + 1
        plan.append(Used(best, tuple(counts), 1))
    return plan
