"""The integer program behind the sheet layout: rows as paths over joists, sheets as cutting paths.

See ``estimator.solve.floor_sheets`` for the rules, the method and the public functions.
"""

from __future__ import annotations

import math
import time
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any

import numpy as np

from estimator.errors import SolveError
from estimator.solve.integer_program import Found, Model, build, solve_integer, solve_relaxed
from estimator.solve.sheet_rows import PER_IN, Floor, Kind, Laid, Row, SheetCut

_RESCUE_S = 60.0
"""Seconds for both smaller programs that give a plan where the work allowed gave none: a last
resort, as their work is counted too."""
_PIECE, _OFFCUT = 4, 1
"""Weights of a piece and of an off-cut when plans with equal sheets are tidied."""
_MOST_ITERATIONS = 250
"""A floor that took more is not tidied: that takes several times as many."""
_Vector = np.ndarray[tuple[int], np.dtype[Any]]
Fixed = Sequence[tuple[int, int]]
"""Columns with the values that they are held at."""


@dataclass(frozen=True, slots=True)
class Solved:
    program: Program
    sheets: int
    values: tuple[int, ...]
    iterations: int


@dataclass(slots=True)
class Program:
    """The integer program of one arrangement of rows."""

    floor: Floor
    rows: tuple[Row, ...]
    spacing_in: float
    counts: tuple[int, ...] = ()
    """How many rows each stands for, where the program is to bound them; else one."""
    upper: list[float] = field(default_factory=list)
    tidy: list[float] = field(default_factory=list)
    equal: list[dict[int, float]] = field(default_factory=list)
    at_most: list[tuple[dict[int, float], float]] = field(default_factory=list)
    row_arcs: list[dict[tuple[int, int], int]] = field(default_factory=list)
    void_arcs: list[dict[tuple[int, int], int]] = field(default_factory=list)
    cuts: dict[tuple[int, int, Kind], int] = field(default_factory=dict)
    rips: dict[int, int] = field(default_factory=dict)
    strip_cuts: dict[tuple[int, int], int] = field(default_factory=dict)
    strip: Kind | None = None

    def __post_init__(self) -> None:
        demand: dict[tuple[int, Kind], dict[int, float]] = defaultdict(dict)
        for row, count in zip(self.rows, self.counts or [1] * len(self.rows), strict=True):
            self._row(row, count, demand)
        if not self._rows_exist():
            raise self._no_row()
        if self.floor.stagger:
            self._stagger()
        self._sheets(demand)

    def _add(self, upper: float, tidy: float = 0.0) -> int:
        self.upper.append(upper)
        self.tidy.append(tidy)
        return len(self.upper) - 1

    def _row(self, row: Row, count: int, demand: dict[tuple[int, Kind], dict[int, float]]) -> None:
        f, n = self.floor, len(self.floor.lines) - 1
        arcs: dict[tuple[int, int], int] = {}
        voids: dict[tuple[int, int], int] = {}
        flow: dict[int, dict[int, float]] = {j: {} for j in range(n + 1)}
        for i in range(n):
            for j in range(i + 1, n + 1):
                start, length = f.span(i, j)
                if any(
                    x0 <= start
                    and start + length <= x1
                    and y0 <= row.y
                    and row.y + row.kind.cover <= y1
                    for x0, y0, x1, y1 in f.openings
                ):
                    voids[i, j] = col = self._add(count)
                elif length <= f.sheet_length and (j - i >= f.min_bays or j - i == n):
                    arcs[i, j] = col = self._add(count, _PIECE)
                    demand[length, row.kind][col] = -1.0
                else:
                    continue
                flow[i][col] = -1.0
                flow[j][col] = 1.0
        for j in range(1, n):
            self.equal.append(flow[j])
        self.at_most.append(({c: -v for c, v in flow[n].items()}, -count))
        self.at_most.append(({c: -v for c, v in flow[0].items()}, count))
        self.row_arcs.append(arcs)
        self.void_arcs.append(voids)

    def _stagger(self) -> None:
        """No joist carries a joint in two adjoining rows; an opening's edge is no joint.

        Of rows taken together, no joist carries one in more than every other.
        """
        for j in range(1, len(self.floor.lines) - 1):
            if self.counts:
                every = {c: 1.0 for arcs in self.row_arcs for (_, b), c in arcs.items() if b == j}
                self.at_most.append((every, (sum(self.counts) + 1) // 2))
                continue
            joints: list[dict[int, float]] = []
            for arcs, voids in zip(self.row_arcs, self.void_arcs, strict=True):
                ends = {col: 1.0 for (_, b), col in arcs.items() if b == j}
                if voids:
                    # A joint only where pieces meet: ends + starts - 1.
                    starts = {col: 1.0 for (a, _), col in arcs.items() if a == j}
                    joint = self._add(1)
                    self.at_most.append(({**ends, **starts, joint: -1.0}, 1.0))
                    ends = {joint: 1.0}
                joints.append(ends)
            for one, two in pairwise(joints):
                if one and two:
                    self.at_most.append(({**one, **two}, 1.0))

    def _sheets(self, demand: dict[tuple[int, Kind], dict[int, float]]) -> None:
        f = self.floor
        self.strip = next((k for _, k in demand if k.across > 1), None)
        kinds: dict[int, list[Kind]] = defaultdict(list)
        for length, kind in demand:
            if kind != self.strip:
                kinds[length].append(kind)
        whole: dict[int, dict[int, float]] = defaultdict(dict)
        for p, length in self._steps([0], kinds):
            for kind in kinds[length]:
                left = f.sheet_width - kind.taken > f.kerf
                col = self.cuts[p, length, kind] = self._add(np.inf, _OFFCUT * left)
                whole[p][col] = -1.0
                whole[p + length + f.kerf][col] = 1.0
                demand[length, kind][col] = 1.0
        strips: dict[int, dict[int, float]] = defaultdict(dict)
        if self.strip is not None:
            lengths = [length for length, kind in demand if kind == self.strip]
            spare = f.sheet_width - self.strip.across * (self.strip.taken + f.kerf) > 0
            starts = sorted(p for p in {0, *whole} if p + min(lengths) <= f.sheet_length)
            for p in starts:
                col = self.rips[p] = self._add(np.inf, _OFFCUT * spare)
                whole[p][col] = -1.0
                strips[p][col] = float(self.strip.across)
            for p, length in self._steps(starts, lengths):
                col = self.strip_cuts[p, length] = self._add(np.inf)
                strips[p][col] = -1.0
                strips[p + length + f.kerf][col] = 1.0
                demand[length, self.strip][col] = 1.0
        whole.pop(0, None)
        self.equal.extend(demand.values())
        for graph in (whole, strips):
            for p, flow in sorted(graph.items()):
                end = self._add(np.inf, _OFFCUT if p < f.sheet_length else 0.0)
                self.equal.append({**flow, end: -1.0})

    def _steps(self, starts: Sequence[int], lengths: Iterable[int]) -> list[tuple[int, int]]:
        """Cuts (from, length) along a sheet, longest piece first from any of the starts."""
        f, ordered = self.floor, sorted(lengths, reverse=True)
        longest = dict.fromkeys(starts, f.sheet_length)
        steps: list[tuple[int, int]] = []
        waiting = sorted(longest, reverse=True)
        while waiting:
            p = waiting.pop()
            for length in ordered:
                if length <= longest[p] and p + length <= f.sheet_length:
                    steps.append((p, length))
                    q = p + length + f.kerf
                    if q not in longest:
                        longest[q] = length
                        waiting.append(q)
                        waiting.sort(reverse=True)
                    longest[q] = max(longest[q], length)
        return steps

    def _model(self, cost: _Vector) -> Model:
        entries: list[list[tuple[int, float]]] = [[] for _ in self.upper]
        for r, row in enumerate((*self.equal, *(row for row, _ in self.at_most))):
            for col, value in row.items():
                entries[col].append((r, value))
        return build(
            list(zip(cost, self.upper, entries, strict=True)),
            [(0.0, 0.0)] * len(self.equal) + [(-np.inf, limit) for _, limit in self.at_most],
        )

    def _run(
        self,
        cost: _Vector,
        work: int,
        deadline: float,
        *,
        fixed: Fixed = (),
        target: int | None = None,
        below: int | None = None,
        within: float = 0.99,
    ) -> Found:
        """Least of a whole-number cost; as :func:`solve_integer` says."""
        model = self._model(cost)
        for col, held in fixed:
            model.lower[col] = model.upper[col] = held
        return solve_integer(
            model,
            deadline=deadline,
            work=work,
            step=1,
            target=target,
            below=below,
            within=within,
        )

    def bound(self) -> int:
        """Sheets that no plan of these rows goes below, by the program's linear relaxation."""
        low = solve_relaxed(self._model(self._cost_of_sheets()))
        return math.ceil(low - 1e-6) if math.isfinite(low) else 0

    def _sheet_costs(self) -> dict[int, float]:
        whole = {col: 1.0 for (p, _, _), col in self.cuts.items() if p == 0}
        return whole | {col: 1.0 for p, col in self.rips.items() if p == 0}

    def try_solve(
        self, least: int, work: int, deadline: float, below: int | None = None
    ) -> tuple[Solved | None, int]:
        """Fewest sheets found with so much work, if any, and what no plan of these rows can go
        below, which is at least so many.

        Only a plan of fewer sheets than ``below`` is of use: where there is none, none is found.
        """
        found = self._run(self._cost_of_sheets(), work, deadline, target=least, below=below)
        if found.x is None and found.ended and below is None:
            raise self._no_stagger()
        bound = max(least, int(found.low)) if math.isfinite(found.low) else least
        return (None if found.x is None else self._solved(found)), bound

    def solve(self, least: int, work: int, deadline: float) -> tuple[Solved | None, int]:
        """As ``try_solve``, but with some plan in all but the hardest cases."""
        solved, bound = self.try_solve(least, work, deadline)
        if solved is not None:
            return solved, bound
        # Rows of fewest pieces first, then their cutting alone.
        arcs = [c for row in (*self.row_arcs, *self.void_arcs) for c in row.values()]
        fewest_pieces = np.zeros(len(self.upper))
        fewest_pieces[arcs] = 1.0
        until = time.monotonic() + _RESCUE_S
        found = self._run(fewest_pieces, work, until)
        if found.x is not None:
            fixed = [(c, int(found.x[c])) for c in arcs]
            found = self._run(self._cost_of_sheets(), work, until, fixed=fixed)
        return (None if found.x is None else self._solved(found)), bound

    def _cost_of_sheets(self) -> _Vector:
        cost = np.zeros(len(self.upper))
        cost[list(self._sheet_costs())] = 1.0
        return cost

    def _solved(self, found: Found) -> Solved:
        values = tuple(int(v) for v in (() if found.x is None else found.x))
        sheets = sum(values[c] for c in self._sheet_costs())
        return Solved(self, sheets, values, found.iterations)

    def tidied(self, solved: Solved, deadline: float) -> Solved:
        """Of the plans with no more sheets, one with fewer pieces and off-cuts if found soon."""
        if solved.iterations > _MOST_ITERATIONS:
            return solved
        self.at_most.append((self._sheet_costs(), float(solved.sheets)))
        tidy = np.array(self.tidy)
        found = self._run(tidy, 0, deadline, within=_PIECE)
        self.at_most.pop()
        if found.x is None or np.dot(tidy, found.x) >= np.dot(tidy, solved.values):
            return solved
        return self._solved(found)

    def laid(self, solved: Solved) -> Laid:
        """The flows taken apart into rows and sheets."""
        values = solved.values
        paths = [
            tuple(sorted(ij for ij, col in arcs.items() if values[col])) for arcs in self.row_arcs
        ]
        cuts = {key: values[col] for key, col in self.cuts.items()}
        rips = {p: values[col] for p, col in self.rips.items()}
        strip_cuts = {key: values[col] for key, col in self.strip_cuts.items()}
        sheets: list[SheetCut] = []
        for _ in range(solved.sheets):
            p, whole, lanes = 0, list[tuple[int, Kind]](), list[tuple[int, ...]]()
            while step := next((key for key, left in cuts.items() if key[0] == p and left), None):
                cuts[step] -= 1
                _, length, kind = step
                whole.append((length, kind))
                p += length + self.floor.kerf
            if self.strip is not None and rips.get(p):
                rips[p] -= 1
                for _ in range(self.strip.across):
                    q, lane = p, list[int]()
                    while cut := next(
                        (key for key, left in strip_cuts.items() if key[0] == q and left), None
                    ):
                        strip_cuts[cut] -= 1
                        lane.append(cut[1])
                        q += cut[1] + self.floor.kerf
                    if lane:
                        lanes.append(tuple(lane))
            sheets.append(SheetCut(tuple(whole), tuple(lanes)))
        return Laid(self.rows, tuple(paths), tuple(sheets))

    def _no_row(self) -> SolveError:
        joists, sheet, bays = self._words()
        if max(np.diff(self.floor.lines)) - self.floor.gap > self.floor.sheet_length:
            return SolveError(
                f"{joists} leave a bay longer than a {sheet}.", cure="Set them closer."
            )
        return SolveError(
            f"{joists} don't suit a {sheet}: no row of pieces spanning at least {bays} fits.",
            cure="Set them closer, or let pieces span fewer bays.",
        )

    def _no_stagger(self) -> SolveError:
        joists, sheet, bays = self._words()
        return SolveError(
            f"{joists} don't suit a {sheet}: joints of adjoining rows can't be staggered with "
            f"pieces spanning at least {bays}.",
            cure="Set them closer, let pieces span fewer bays, or give up the stagger.",
        )

    def _words(self) -> tuple[str, str, str]:
        f = self.floor
        bays = f"{f.min_bays} bay" + ("s" if f.min_bays > 1 else "")
        joists = f"Joists {{{self.spacing_in:g} in}} on centre"
        return joists, f"{{{f.sheet_length / PER_IN:g} in}} sheet", bays

    def _rows_exist(self) -> bool:
        """Whether every row, taken alone, can be filled."""
        for arcs, voids in zip(self.row_arcs, self.void_arcs, strict=True):
            reached = {0}
            for i, j in sorted([*arcs, *voids]):
                if i in reached:
                    reached.add(j)
            if len(self.floor.lines) - 1 not in reached:
                return False
        return True
