"""Sizes on offer, and what boards cost by a quick reckoning."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from estimator.amounts import Measure
from estimator.model.solvers.reads import Reads
from estimator.model.suggestions import METRIC_SPACINGS, SPACINGS
from estimator.units import IN_PER_FT
from estimator.values import Values

SKIDS = tuple(range(2, 13))
YARD_READS = frozenset(
    {
        *("stock_name", "stock_width_in", "stock_depth_in", "stock_treated"),
        *("item_category", "item_stock", "item_length_ft"),
        *("kerf_in", "end_trim_in", "over_length_in"),
    }
)
"""Keys that :func:`offered` and :class:`Boards` read, besides ``item_paid``."""
GRID = tuple((rows, each) for rows in range(2, 7) for each in range(2, 11))
LEAST_BAY_FT = 1.0


def spacings(measure: Measure) -> Mapping[str, float]:
    """The spacings to try, in, of a system of measure."""
    return SPACINGS if measure == "feet" else METRIC_SPACINGS


def goal(goals: Mapping[str, Values], key: str, at: int, option: int = 0) -> float:
    """One number of a trial: of candidate ``at`` and an option."""
    array = np.asarray(goals[key])
    array = array.reshape((1,) * (3 - array.ndim) + array.shape)
    return float(array[min(at, array.shape[0] - 1), min(option, array.shape[1] - 1), 0])


def offered(q: Reads, treated: str) -> list[str]:
    """Stocks of joist thickness that the price book has, smallest first."""
    sold = {
        str(s).casefold()
        for s, c in zip(q.column("item_stock"), q.column("item_category"), strict=True)
        if c == "lumber"
    }
    found = []
    for i, name in enumerate(q.column("stock_name")):
        if str(name).casefold() in sold and q.text("stock_treated", 0, i) == treated:
            depth, width = q.number("stock_depth_in", 0, i), q.number("stock_width_in", 0, i)
            if width < 2 and depth > width:
                found.append((depth, width, str(name)))
    return [name for *_, name in sorted(found)]


@dataclass(frozen=True, slots=True)
class Boards:
    """What the price book has of every stock, read once.

    Args:
        by_stock: Usable length (in) and price of each length stocked, by the stock in small
            letters.
        kerf_in: Width of a cut.
    """

    by_stock: Mapping[str, Sequence[tuple[float, float]]]
    kerf_in: float

    @staticmethod
    def read(q: Reads) -> Boards:
        """The boards among what a solver reads (:data:`YARD_READS`, ``item_paid``)."""
        extra = q.number("over_length_in") - q.number("end_trim_in")
        found: dict[str, list[tuple[float, float]]] = {}
        categories = q.column("item_category")
        for i, name in enumerate(q.column("item_stock")):
            if categories[i] == "lumber":
                length = q.number("item_length_ft", 0, i) * IN_PER_FT + extra
                board = length, q.number("item_paid", 0, i)
                found.setdefault(str(name).casefold(), []).append(board)
        return Boards(found, q.number("kerf_in"))

    def longest_in(self, stock: str) -> float:
        """Usable length of the longest board of a stock, in; 0 where there is none."""
        return max((length for length, _ in self._of(stock)), default=0.0)

    def price_of(self, stock: str, wanted: Sequence[tuple[float, float]]) -> float:
        """Price of pieces (length in, count), each from the one length that does it cheapest.

        Pieces longer than every board are joined in equal parts. 0 where a board or a price is
        missing.
        """
        boards, longest, kerf = self._of(stock), self.longest_in(stock), self.kerf_in
        if longest <= 0 or any(price <= 0 for _, price in boards):
            return 0.0
        total = 0.0
        for length, count in wanted:
            parts = max(math.ceil(length / longest - 1e-9), 1)
            each = length / parts
            total += min(
                math.ceil(count * parts / math.floor((board + kerf) / (each + kerf) + 1e-9)) * price
                for board, price in boards
                if board + 1e-9 >= each
            )
        return total

    def _of(self, stock: str) -> Sequence[tuple[float, float]]:
        return self.by_stock.get(stock.casefold(), ())
