"""Joints of long pieces: which of all ways to join them may be cut for less than a known cost.

A piece longer than every board comes in so many parts that meet on marks, such as the middles of
joists. The linear relaxation of the cutting problem takes in every such way: beside the patterns of
boards (Gilmore and Gomory, 1961) its columns are the ways, and the one worth adding is a shortest
path from mark to mark, each step as long as the worth of its part. What it comes to, no way costs
less than; and a way whose path is too long for a known cost need not be tried. Sources from memory.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from estimator.errors import SolveError
from estimator.solve.cutting import Piece, Saw, Stock
from estimator.solve.cutting_patterns import SCALE, Problem, best_pattern, best_values, fill_up
from estimator.solve.integer_program import checked, quiet_solver, run

_PER_IN = 32.0
"""Units that lengths are counted in; pieces and kerf are rounded down and boards up, so that no
plan of the saw, whatever it counts in, is forbidden here."""
_NOISE = 0.0005
_MOST_STATES = 20_000
"""Places reached with different parts, at most, in the search for ways."""

Way = tuple[float, ...]
"""Where a piece is joined, in from its beginning."""


@dataclass(frozen=True, slots=True)
class Joined:
    """Pieces that are all joined alike.

    Args:
        length_in: Length of one.
        count: How many.
        marks_in: Where a joint may be, ascending.
        parts: In how many parts each comes.
    """

    length_in: float
    count: int
    marks_in: Way
    parts: int


@dataclass(frozen=True, slots=True)
class Ways:
    """Ways that may cost less.

    Args:
        bound: Dollars; no way to join costs less.
        ways: The ways, those of the longest parts first, each set of parts once.
        every: Whether every other way costs at least the known cost.
    """

    bound: float
    ways: tuple[Way, ...]
    every: bool


def ways_below(
    joined: Joined,
    pieces: Sequence[Piece],
    stocks: Sequence[Stock],
    saw: Saw,
    cost: float,
    most: int,
) -> Ways:
    """Which ways to join may be cut, with the other pieces, for less than a known cost.

    Args:
        joined: What is joined.
        pieces: What else is cut from the same stock.
        stocks: Boards that can be bought, each with a price; how many the yard has is not counted.
        saw: Kerf, end trim and over-length, in.
        cost: What a plan costs, $; infinite where none is known.
        most: Ways to return, at most.

    Raises:
        SolveError: If the linear program has no answer.
    """
    relaxed = _Relaxation.of(joined, pieces, stocks, saw)
    if 0 in relaxed.problem.weight:  # a board of less than half a cent bounds nothing
        return Ways(0.0, (), every=False)
    values = relaxed.worths()
    left = relaxed.shortest(values)
    fixed = sum(v * d for v, d in zip(values, relaxed.demand, strict=True))
    step = math.gcd(*relaxed.problem.weight)
    bound = -(-(fixed + joined.count * left[-1][0]) // (SCALE * step)) * step
    if math.isinf(cost):
        room = joined.parts * max(values)
    else:
        known = round(cost * 100)
        if bound >= known:
            return Ways(known / 100, (), every=True)
        room = ((known - step) * SCALE - fixed) // joined.count
    found, every = relaxed.within(values, left, room)
    order = sorted(found, reverse=True)
    if len(order) > most:  # those that the relaxation likes best
        likes = sorted(order, key=lambda parts: found[parts][0])[:most]
        order, every = [parts for parts in order if parts in set(likes)], False
    return Ways(bound / 100, tuple(found[parts][1] for parts in order), every)


@dataclass(frozen=True, slots=True)
class _Relaxation:
    """The relaxation in whole units and cents.

    Args:
        problem: Sizes of all pieces and of all parts that may be, and the boards; its demand is
            the most of each that a plan has use for.
        demand: What is wanted beside the parts.
        count: How many pieces are joined.
        parts: In how many parts each comes.
        nodes_in: Beginning, marks and end of a piece.
        steps: From each node the next one, the part's size by its place, its length (in).
    """

    problem: Problem
    demand: tuple[int, ...]
    count: int
    parts: int
    nodes_in: Way
    steps: tuple[tuple[tuple[int, int, float], ...], ...]

    @classmethod
    def of(
        cls, joined: Joined, pieces: Sequence[Piece], stocks: Sequence[Stock], saw: Saw
    ) -> _Relaxation:
        """What is cut, in whole units."""
        kerf = _down(saw.kerf_in)
        rooms = [_up(s.length_in + saw.over_length_in - saw.end_trim_in) + kerf for s in stocks]
        longest = max(rooms)
        nodes = (0.0, *joined.marks_in, joined.length_in)
        wanted: dict[int, int] = {}
        for piece in pieces:
            size = _down(piece.length_in) + kerf
            wanted[size] = wanted.get(size, 0) + piece.count
        parts = {
            (i, j): _down(nodes[j] - nodes[i]) + kerf
            for i in range(len(nodes))
            for j in range(i + 1, len(nodes))
            if _down(nodes[j] - nodes[i]) + kerf <= longest
        }
        sizes = tuple(sorted({*wanted, *parts.values()}, reverse=True))
        place = {size: n for n, size in enumerate(sizes)}
        more = {
            size: joined.count * math.ceil(joined.length_in * _PER_IN / size)
            for size in parts.values()
        }
        problem = Problem(
            sizes,
            tuple(wanted.get(size, 0) + more.get(size, 0) for size in sizes),
            tuple(rooms),
            tuple(round(s.price * 100) for s in stocks),
            (None,) * len(rooms),
        )
        steps = tuple(
            tuple(
                (j, place[parts[i, j]], nodes[j] - nodes[i])
                for j in range(i + 1, len(nodes))
                if (i, j) in parts
            )
            for i in range(len(nodes))
        )
        demand = tuple(wanted.get(size, 0) for size in sizes)
        return cls(problem, demand, joined.count, joined.parts, nodes, steps)

    def shortest(self, values: Sequence[int]) -> list[list[int]]:
        """The least worth of so many parts, none to all, from each node to the end."""
        far = (sum(values) + 1) * self.parts
        left = [[far] * (len(self.nodes_in) - 1) + [0]]
        for _ in range(self.parts):
            left.append(
                [
                    min((values[s] + left[-1][j] for j, s, _ in steps), default=far)
                    for steps in self.steps
                ]
            )
        return left

    def path(self, values: Sequence[int], left: Sequence[Sequence[int]]) -> tuple[int, ...]:
        """Sizes of the parts of a way of least worth, by their places."""
        found, at = [], 0
        for to_go in range(self.parts, 0, -1):
            after = left[to_go - 1]
            at, size = next(
                (j, s) for j, s, _ in self.steps[at] if values[s] + after[j] == left[to_go][at]
            )
            found.append(size)
        return tuple(found)

    def worths(self) -> tuple[int, ...]:
        """Worths of the pieces, in whole thousandths of a cent, by which no board holds more worth
        than it costs; by column generation."""
        import highspy

        problem, m = self.problem, len(self.problem.sizes)
        solver = quiet_solver()
        inf = highspy.kHighsInf
        for d in self.demand:
            checked(solver.addRow(float(d), inf, 0, [], []))
        checked(solver.addRow(float(self.count), float(self.count), 0, [], []))
        known: set[tuple[float, tuple[tuple[int, float], ...]]] = set()

        def add(weight: float, entries: dict[int, float]) -> bool:
            column = (weight, tuple(sorted(entries.items())))
            if column in known:
                return False
            known.add(column)
            index = np.array([i for i, _ in column[1]], dtype=np.int32)
            value = np.array([v for _, v in column[1]])
            checked(solver.addCol(weight, 0.0, inf, len(index), index, value))
            return True

        def add_way(sizes: Sequence[int]) -> bool:
            entries = {m: 1.0}
            for size in sizes:
                entries[size] = entries.get(size, 0.0) - 1.0
            return add(0.0, entries)

        for s, capacity in enumerate(problem.capacity):
            for i, size in enumerate(problem.sizes):
                if size <= capacity:
                    add(float(problem.weight[s]), {i: float(capacity // size)})
        lengths = problem.sizes
        add_way(self.path(lengths, self.shortest(lengths)))
        while True:
            run(solver)
            if solver.getModelStatus() != highspy.HighsModelStatus.kOptimal:
                raise SolveError("The solver lost its way in the joints.", cure="Report it.")
            duals = solver.getSolution().row_dual
            values = tuple(max(0, math.floor(v * SCALE)) for v in duals[:m])
            table = best_values(problem, values)
            grew = False
            for s, capacity in enumerate(problem.capacity):
                if table[0, capacity] > problem.weight[s] * SCALE:
                    pattern = fill_up(
                        problem, best_pattern(problem, values, table, capacity), capacity
                    )
                    entries = {i: float(a) for i, a in enumerate(pattern) if a}
                    grew |= add(float(problem.weight[s]), entries)
            left = self.shortest(values)
            if left[-1][0] < math.floor(duals[m] * SCALE):
                grew |= add_way(self.path(values, left))
            if not grew:
                break
        worst = max(
            (int(table[0, c]) / (w * SCALE), int(table[0, c]), w * SCALE)
            for c, w in zip(problem.capacity, problem.weight, strict=True)
        )
        if worst[0] <= 1:
            return values
        return tuple(v * worst[2] // worst[1] for v in values)

    def within(
        self, values: Sequence[int], left: Sequence[Sequence[int]], room: int
    ) -> tuple[dict[Way, tuple[int, Way]], bool]:
        """Ways of no more worth than ``room``: by their parts, longest first, their worth and
        joints; and whether these are all."""
        found: dict[Way, tuple[int, Way]] = {}
        end = len(self.nodes_in) - 1
        seen: set[tuple[int, Way]] = set()
        waiting: list[tuple[int, int, Way, Way]] = [(0, 0, (), ())]
        while waiting:
            if len(seen) > _MOST_STATES:
                return found, False
            at, worth, parts, joints = waiting.pop()
            if len(parts) == self.parts:
                if at == end:
                    found.setdefault(parts, (worth, joints))
                continue
            after = left[self.parts - len(parts) - 1]
            for j, size, length in reversed(self.steps[at]):
                if worth + values[size] + after[j] > room:
                    continue
                longer = tuple(sorted((*parts, round(length, 4)), reverse=True))
                if (j, longer) not in seen:
                    seen.add((j, longer))
                    more = joints if j == end else (*joints, self.nodes_in[j])
                    waiting.append((j, worth + values[size], longer, more))
        return found, True


def _down(length_in: float) -> int:
    return math.floor(length_in * _PER_IN + _NOISE)


def _up(length_in: float) -> int:
    return math.ceil(length_in * _PER_IN - _NOISE)
