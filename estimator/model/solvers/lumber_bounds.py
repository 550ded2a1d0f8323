"""What boards cost at least, design by design, before any is cut."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from estimator.model.solvers.board_cuts import YARD
from estimator.model.solvers.candidate_axes import Ints
from estimator.model.solvers.own_units import OwnUnits
from estimator.model.solvers.reads import Reads
from estimator.model.solvers.tried import Tried
from estimator.model.solvers.wanted import Problem, Wanted, longest_of
from estimator.solve.cutting_bound import least_cost
from estimator.units import IN_PER_FT

Floats = NDArray[np.float64]
YARD_READS = (*YARD, "item_paid", "item_supplier_no", "item_on_hand", "item_pack")
"""Keys that :func:`yard_of` reads."""

_least_cost = lru_cache(maxsize=4096)(least_cost)
"""Options of a job want the same floors cut."""


@dataclass(frozen=True, slots=True)
class Yard:
    """What the yard has.

    Args:
        boards: Usable length (in) and price of the boards of each stock.
        kerf_in: Width of a cut.
        one_of_each: One item with a price of each supplier, by its line.
        spared: What boards of a stock that are on hand may spare at most, $.
    """

    boards: Mapping[str, tuple[tuple[float, float], ...]]
    kerf_in: float
    one_of_each: tuple[int, ...]
    spared: Mapping[str, float]

    def to_pay(self, stock: str, cost: float) -> float:
        """The least that is paid for boards of a stock that cost so much."""
        return max(cost - self.spared.get(stock, 0.0), 0.0)

    def least(self, problem: Problem) -> float:
        """What no plan for a problem costs less than; infinite where the saw's is refused."""
        stock, pieces, loose, _ = problem
        boards = self.boards.get(stock, ())
        if not boards or any(price <= 0 for _, price in boards):
            return math.inf
        return _least_cost(pieces, boards, self.kerf_in, loose)


@dataclass(slots=True)
class LumberBounds:
    """What boards of each place on a grid cost at least.

    Args:
        yard: What the yard has.
        lots: What boards are cut into: each lot of problems once.
        lot_of: Which of them each place has.
    """

    yard: Yard
    lots: Sequence[tuple[Problem, ...]]
    lot_of: Ints
    _cost: dict[Problem, float] = field(default_factory=dict)
    _settled: set[Problem] = field(default_factory=set)

    def __post_init__(self) -> None:
        for problem in dict.fromkeys(problem for lot in self.lots for problem in lot):
            self._cost[problem] = self.yard.least(problem)

    def to_pay(self) -> Floats:
        """The least that is paid for lumber at each place, $."""
        paid = {p: self.yard.to_pay(p[0], each) for p, each in self._cost.items()}
        return np.array([sum(paid[p] for p in lot) for lot in self.lots])[self.lot_of]

    def settle(self, place: int, paid: Mapping[str, float]) -> None:
        """Takes what was found to be paid for each stock at a place, for all with such boards."""
        for problem in self.lots[self.lot_of[place]]:
            if problem not in self._settled and problem[0] in paid:
                self._settled.add(problem)
                self._cost[problem] = max(self._cost[problem], paid[problem[0]])

    def only(self, places: NDArray[np.bool_]) -> None:
        """Forgets the other places."""
        self.lot_of = self.lot_of[places]


def lumber_bounds(
    tried: Tried, option: int, places: Ints, wanted: Wanted, units: OwnUnits
) -> LumberBounds:
    """Bounds for places on the grid of an option, by its place in ``tried``."""
    wanted = wanted.where(
        lambda piece: bool((tried.of(units.name(piece.line("count")), option) > 0).any())
    )
    moving = [key for key in wanted.reads() if tried.moves(units.name(key))]
    lot_of = tried.codes([units.name(key) for key in moving], option, places)
    _, first = np.unique(lot_of, return_index=True)
    still = [k for k in (*wanted.reads(), *YARD_READS) if k not in moving]
    settled = Reads(_in_feet(tried, option, places[:1], still, units))
    longest = longest_of(settled)
    first_of = _in_feet(tried, option, places[first], moving, units)
    fixed = _Design({k: v[0].tolist() for k, v in settled.values.items()}, settled.values)
    lots = [wanted.problems(design, 0, longest) for design in _designs(fixed, first_of, len(first))]
    return LumberBounds(_yard_of(settled), lots, lot_of)


@dataclass(frozen=True, slots=True)
class _Design:
    """What is read of one design, for a reader in a hurry."""

    plain: Mapping[str, Sequence[Any]]
    columns: Mapping[str, NDArray[Any]]

    def number(self, key: str, _option: int = 0, row: int = 0) -> float:
        return float(self.plain[key][row])

    def text(self, key: str, _option: int = 0, row: int = 0) -> str:
        return str(self.plain[key][row])

    def column(self, key: str, _option: int = 0) -> NDArray[Any]:
        return np.asarray(self.columns[key][0])


def _designs(fixed: _Design, moving: Mapping[str, NDArray[Any]], count: int) -> Iterator[_Design]:
    """So many designs, each with what is fixed and its own of what moves, (designs, 1, rows)."""
    spread = {k: np.broadcast_to(v, (count, *v.shape[-2:])) for k, v in moving.items()}
    plain = {key: value[:, 0].tolist() for key, value in spread.items()}
    for n in range(count):
        yield _Design(
            {**fixed.plain, **{key: each[n] for key, each in plain.items()}},
            {**fixed.columns, **{key: each[n] for key, each in spread.items()}},
        )


def _in_feet(
    tried: Tried, option: int, places: Ints, keys: Sequence[str], units: OwnUnits
) -> dict[str, NDArray[Any]]:
    own = {units.name(key): tried.at(units.name(key), option, places) for key in keys}
    return {key: np.asarray(value) for key, value in units.in_feet(own, keys).items()}


def _yard_of(q: Reads) -> Yard:
    extra = q.number("over_length_in") - q.number("end_trim_in")
    boards: dict[str, list[tuple[float, float]]] = {}
    first: dict[float, int] = {}
    spared: dict[str, float] = {}
    for i, name in enumerate(q.column("item_stock")):
        if q.text("item_category", 0, i) == "lumber" and str(name):
            length = q.number("item_length_ft", 0, i) * IN_PER_FT + extra
            price = q.number("item_paid", 0, i)
            stock = str(name).casefold()
            boards.setdefault(stock, []).append((length, price))
            packs = math.ceil(q.number("item_on_hand", 0, i) / q.number("item_pack", 0, i))
            spared[stock] = spared.get(stock, 0.0) + packs * price
            if price > 0:
                first.setdefault(q.number("item_supplier_no", 0, i), i)
    usable = {stock: tuple(each) for stock, each in boards.items()}
    return Yard(usable, q.number("kerf_in"), tuple(first.values()), spared)
