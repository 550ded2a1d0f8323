"""The design of least total cost on a grid, among those that pass: found and proven.

Every design is checked, and priced but for its boards, which come from one run of the rows. Boards
get a cost that no plan is below, so that the total is one that the design's is not below. Then
designs are worked out whole, boards cut and all, the most promising first, until no other can be
cheaper. What is taken for granted: a total never falls as boards cost more, and rises by no less.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

import numpy as np
from numpy.typing import NDArray

from estimator.errors import EstimatorError
from estimator.model.solvers.board_cuts import YARD
from estimator.model.solvers.own_units import OwnUnits
from estimator.model.solvers.reads import Reads
from estimator.model.solvers.size_grid import DesignGrid
from estimator.model.solvers.trial import Bools, Known, Trial
from estimator.model.solvers.wanted import Problem, Wanted, longest_of
from estimator.solve.cutting_bound import least_cost
from estimator.units import IN_PER_FT
from estimator.values import Values, as_values

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]

MOST_WHOLE = 80
"""Designs worked out whole, at most; when they don't prove one the cheapest, that is said."""
_CENTS = 0.05
"""A total is rounded part by part: two that should be the same may be so far apart."""
_YARD = (*YARD, "item_paid", "item_supplier_no", "item_on_hand", "item_pack")


@dataclass(frozen=True, slots=True)
class Found:
    """What a search found.

    Args:
        at: Place of the cheapest on the grid; None where none passes.
        total: Its total cost, $.
        designs: How many were tried.
        passing: How many of them pass, as far as is known without cutting their boards.
        proven: Whether no other that passes is cheaper.
    """

    at: tuple[int, ...] | None
    total: float
    designs: int
    passing: int
    proven: bool


class Search:
    """Searches of one option.

    Args:
        trial: The rows from a size to the total cost and the checks.
        wanted: What the assemblies want cut.
        units: Keys and units of the model whose rows they are.
        values: What the trial reads, of this option alone.
    """

    def __init__(
        self, trial: Trial, wanted: Wanted, units: OwnUnits, values: Mapping[str, Any]
    ) -> None:
        self._trial, self._wanted, self._units, self._values = trial, wanted, units, values
        self._total, self._cost, self._stack, self._boards = (
            units.name(key) for key in ("total_cost", "item_cost", "stack_in", "item_boards")
        )

    def least(self, grid: DesignGrid, *, stack_most_in: float = math.inf) -> Found:
        """The cheapest design that passes.

        Args:
            grid: What may be tried.
            stack_most_in: Most height of a stack of blocks, in.
        """
        designs = math.prod(grid.shape)
        nothing = Found(None, math.inf, designs, 0, False)
        try:
            known, good = self._trial.early(self._values, self._varied(grid))
        except EstimatorError:  # no design on the grid can be worked out
            return nothing
        for fails in self._trial.failing(known, late=False).values():
            if _moves(fails):  # else it is nothing that these sizes decide
                good = good & ~fails[..., 0, 0]
        stack = self._units.in_feet(known, ("stack_in",))["stack_in"]
        good = good & (np.asarray(stack)[..., 0, 0] <= stack_most_in + 1e-9)
        places = np.argwhere(np.broadcast_to(good, grid.shape))
        if not len(places):
            return nothing
        return self._cheapest(known, grid.shape, places)

    def last(self, grid: DesignGrid) -> tuple[int, ...]:
        """Place of the strongest design that can be worked out."""
        try:
            _, possible = self._trial.early(self._values, self._varied(grid))
        except EstimatorError:
            possible = np.ones((1,) * len(grid.shape), dtype=bool)
        places = np.argwhere(np.broadcast_to(possible, grid.shape))
        return tuple(int(n) for n in places[-1])

    def _varied(self, grid: DesignGrid) -> dict[str, Any]:
        return self._units.in_own(grid.columns())

    def _cheapest(self, known: Known, shape: tuple[int, ...], places: Ints) -> Found:
        designs = math.prod(shape)
        lots, lot_of = self._lots(known, places)
        yard = self._yard(known)
        cost = {problem: _bound(problem, yard) for problem in {p for lot in lots for p in lot}}
        whole: set[Problem] = set()

        def lumber() -> Floats:
            paid = {p: yard.to_pay(p[0], each) for p, each in cost.items()}
            return np.array([sum(paid[p] for p in lot) for lot in lots])[lot_of]

        reckoned = lumber()
        buyable = np.isfinite(reckoned)
        places, lot_of, reckoned = places[buyable], lot_of[buyable], reckoned[buyable]
        if not len(places):
            return Found(None, math.inf, designs, 0, False)
        totals, fails = self._totals(known, yard, places, reckoned)
        ignored = frozenset(key for key, bad in fails.items() if bad.all())
        for key, bad in fails.items():
            if key not in ignored:
                totals = np.where(bad, math.inf, totals)
        passing = int(np.isfinite(totals).sum())
        best: tuple[float, int] = (math.inf, -1)
        done = 0
        while True:
            at = int(np.argmin(totals))
            if totals[at] - _CENTS >= best[0] or not np.isfinite(totals[at]):
                break
            if done == MOST_WHOLE:
                break
            done += 1
            total, paid = self._whole(known, places[at], ignored)
            totals[at] = math.inf
            if total < math.inf:
                best = min(best, (total, at))
            for problem in lots[lot_of[at]]:
                if problem not in whole and problem[0] in paid:
                    whole.add(problem)
                    cost[problem] = max(cost[problem], paid[problem[0]])
            now = lumber()
            totals = totals + np.maximum(now - reckoned, 0.0)
            reckoned = now
            live = np.flatnonzero(totals - _CENTS < best[0])
            if len(live) > 1 and best[1] >= 0:
                fresh, _ = self._totals(known, yard, places[live], reckoned[live])
                totals[live] = np.maximum(totals[live], fresh)
        if best[1] < 0:
            return Found(None, math.inf, designs, 0, done < MOST_WHOLE)
        place = tuple(int(n) for n in places[best[1]])
        return Found(place, best[0], designs, passing, done < MOST_WHOLE)

    def _lots(self, known: Known, places: Ints) -> tuple[list[tuple[Problem, ...]], Ints]:
        """What boards are cut into: each lot of problems once, and which one a place has."""
        keys = [self._units.name(key) for key in self._wanted.reads()]
        moving = [key for key in keys if _moves(known[key])]
        codes = np.zeros((len(places), 1), dtype=np.int64)
        if moving:
            codes = np.stack([_at(_coded(known[key]), places) for key in moving], axis=-1)
        _, first, lot_of = np.unique(codes, axis=0, return_index=True, return_inverse=True)
        every = {key: known[self._units.name(key)] for key in (*self._wanted.reads(), *_YARD)}
        settled = {k: v for k, v in every.items() if not _moves(v)}
        known_in_feet = self._units.in_feet(
            {self._units.name(k): v for k, v in settled.items()}, settled
        )
        longest = longest_of(Reads(known_in_feet))
        lots = []
        for at in first:
            here = {
                self._units.name(k): _one(every[k], places[at])
                for k in every.keys() - settled.keys()
            }
            moved = self._units.in_feet(here, every.keys() - settled.keys())
            lots.append(self._wanted.problems(Reads(known_in_feet | moved), 0, longest))
        return lots, np.asarray(lot_of).reshape(-1)

    def _yard(self, known: Known) -> _Yard:
        q = Reads(
            self._units.in_feet(
                {self._units.name(k): known[self._units.name(k)] for k in _YARD},
                _YARD,
            )
        )
        extra = q.number("over_length_in") - q.number("end_trim_in")
        found: dict[str, list[tuple[float, float]]] = {}
        first: dict[float, int] = {}
        spared: dict[str, float] = {}
        for i, name in enumerate(q.column("item_stock")):
            if q.text("item_category", 0, i) == "lumber" and str(name):
                board = q.number("item_length_ft", 0, i) * IN_PER_FT + extra
                price = q.number("item_paid", 0, i)
                stock = str(name).casefold()
                found.setdefault(stock, []).append((board, price))
                packs = math.ceil(q.number("item_on_hand", 0, i) / q.number("item_pack", 0, i))
                spared[stock] = spared.get(stock, 0.0) + packs * price
                if price > 0:
                    first.setdefault(q.number("item_supplier_no", 0, i), i)
        return _Yard(found, q.number("kerf_in"), tuple(first.values()), spared)

    def _totals(
        self, known: Known, yard: _Yard, places: Ints, lumber: Floats
    ) -> tuple[Floats, dict[str, Bools]]:
        """A total that a design's is not below, and by check which designs fail it.

        All that is paid for lumber is put on one board, of each supplier in turn: so much falls
        due with any.
        """
        given = self._trial.gives("cutting")
        reads = [key for key in self._trial.late_reads if key not in given]
        texts = [key for key in reads if _moves(known[key]) and known[key].dtype.kind == "U"]
        alike = np.zeros((len(places), 1), dtype=np.int64)
        if texts:
            alike = np.stack([_at(_coded(known[key]), places) for key in texts], axis=-1)
        _, first, group_of = np.unique(alike, axis=0, return_index=True, return_inverse=True)
        group_of = np.asarray(group_of).reshape(-1)
        totals = np.full(len(places), math.inf)
        failing: dict[str, Bools] = {}
        for group, sample in enumerate(first):
            here = np.flatnonzero(group_of == group)
            taken = {
                key: _one(known[key], places[sample])
                if key in texts or not _moves(known[key])
                else as_values(_at(known[key], places[here]))
                for key in reads
            }
            for item in yard.one_of_each:
                found = self._trial.late(
                    taken | self._one_board(given, item, known),
                    {self._cost: partial(_put, item=item, lumber=lumber[here])},
                )
                total = np.broadcast_to(np.asarray(found[self._total])[..., 0, 0], (len(here),))
                totals[here] = np.minimum(totals[here], total)
                for key, bad in self._trial.failing(found, late=True).items():
                    fails = failing.setdefault(key, np.ones(len(places), dtype=bool))
                    fails[here] &= np.broadcast_to(bad[..., 0, 0], (len(here),))
        return totals, failing

    def _one_board(self, given: Sequence[str], item: int, known: Known) -> Known:
        """What the saw gives where one board of an item is all that is cut."""
        answer = {key: as_values(0.0) for key in given}
        boards = np.zeros((1, known[self._units.name("item_paid")].shape[-1]))
        boards[0, item] = 1
        return answer | {self._boards: as_values(boards)}

    def _whole(
        self, known: Known, place: Ints, ignored: frozenset[str]
    ) -> tuple[float, dict[str, float]]:
        """Total of a design with its boards cut, and what is paid for each stock; infinite where
        it fails."""
        given = self._trial.gives("cutting")
        asked = {key: _one(known[key], place) for key in self._trial.asks("cutting")}
        answer = self._trial.answer("cutting", asked)
        if answer is None:
            return math.inf, {}
        reads = {key: _one(known[key], place) for key in self._trial.late_reads if key not in given}
        cut = {key: as_values(np.asarray(answer[key])[:1]) for key in given}
        found = self._trial.late(reads | cut)
        boards, price = (
            np.asarray(found[self._boards])[0],
            np.asarray(asked[self._units.name("item_paid")])[0],
        )
        paid: dict[str, float] = {}
        for stock, cost in zip(
            np.asarray(asked[self._units.name("item_stock")])[0], boards * price, strict=True
        ):
            if str(stock):
                paid[str(stock).casefold()] = paid.get(str(stock).casefold(), 0.0) + float(cost)
        fails = self._trial.failing(found, late=True)
        if any(bad.any() for key, bad in fails.items() if key not in ignored):
            return math.inf, paid
        return float(np.asarray(found[self._total]).reshape(-1)[0]), paid


@dataclass(frozen=True, slots=True)
class _Yard:
    """Boards: usable length (in) and price by stock; one item with a price of each supplier; what
    boards of a stock that are on hand may spare at most, $."""

    boards: Mapping[str, Sequence[tuple[float, float]]]
    kerf_in: float
    one_of_each: tuple[int, ...]
    spared: Mapping[str, float]

    def to_pay(self, stock: str, cost: float) -> float:
        """The least that is paid for boards of a stock that cost so much."""
        return max(cost - self.spared.get(stock, 0.0), 0.0)


def _bound(problem: Problem, yard: _Yard) -> float:
    stock, pieces, loose, _ = problem
    boards = yard.boards.get(stock, ())
    if not boards or any(price <= 0 for _, price in boards):
        return math.inf  # the saw's plan is refused
    return least_cost(pieces, boards, yard.kerf_in, loose)


def _put(paid: Values, item: int, lumber: Floats) -> Values:
    """What is paid by item, with all lumber on one."""
    array = np.asarray(paid)
    changed = np.broadcast_to(array, (len(lumber), *array.shape[-2:])).copy()
    changed[:, 0, item] = np.maximum(np.floor(lumber * 100 + 1e-6) / 100, 0.0)
    return as_values(changed)


def _moves(value: NDArray[Any]) -> bool:
    return value.ndim > 2 and any(n > 1 for n in value.shape[:-2])


def _coded(value: Values) -> Ints:
    """A number for each different content, (candidates..., 1, 1)."""
    array = np.asarray(value)
    lead = array.shape[:-2]
    rows = array.reshape(math.prod(lead), -1)
    seen: dict[bytes, int] = {}
    codes = [seen.setdefault(row.tobytes(), len(seen)) for row in rows]
    return np.array(codes, dtype=np.int64).reshape(lead)


def _at(value: Any, places: Ints) -> NDArray[Any]:
    """The contents at some places, (places, ...)."""
    array = np.asarray(value)
    return np.asarray(
        array[
            tuple(places[:, axis] if array.shape[axis] > 1 else 0 for axis in range(_axes(places)))
        ]
    )


def _axes(places: Ints) -> int:
    return int(places.shape[-1])


def _one(value: Values, place: Ints) -> Values:
    """The content at one place, (options, rows)."""
    array = np.asarray(value)
    if array.ndim == 2:
        return value
    return as_values(
        array[tuple(n if array.shape[axis] > 1 else 0 for axis, n in enumerate(place))]
    )
