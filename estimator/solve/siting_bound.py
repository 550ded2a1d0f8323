"""How far a search for a place may have missed the cheapest: a bound by dividing places further.

Every place lies in a cell round some place: so far to either side, so many degrees to either
turn. Cells whose least cost lies below the best found are halved, the lowest first, which is branch
and bound; each the way in which its heights may be off by most (``siting_slack``).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

BATCH = 1024
"""Cells halved at a time."""
DESCENTS, NEAR = 3, 1.1
"""The cheapest of their middles from which to go down to cheaper places, if these cost no more than
the second times the best."""


@dataclass(frozen=True, slots=True, eq=False)
class Cells:
    """Places (n, 3: x, y, turn) with all within ``half`` of them (n, 3).

    ``lower`` (n,) is a bound below the cost of every place in each, and
    ``share`` (n, 3) says how much of what its heights may be off comes of each of the three.
    """

    places: Floats
    half: Floats
    lower: Floats
    share: Floats

    def joined(self, other: Cells) -> Cells:
        """Both together."""
        return Cells(
            np.vstack([self.places, other.places]),
            np.vstack([self.half, other.half]),
            np.concatenate([self.lower, other.lower]),
            np.vstack([self.share, other.share]),
        )

    def part(self, which: NDArray[np.intp] | NDArray[np.bool_]) -> Cells:
        """Some of them."""
        return Cells(
            self.places[which],
            self.half[which],
            self.lower[which],
            self.share[which],
        )

    def halves(self) -> Cells:
        """The two cells that each falls into, with the bound and the shares of the whole."""
        cut = self.share == self.share.max(axis=1, keepdims=True)
        cut &= np.cumsum(cut, axis=1) == 1
        half = np.where(cut, self.half / 2, self.half)
        moved = np.where(cut, half, 0)
        return Cells(
            np.vstack([self.places - moved, self.places + moved]),
            np.vstack([half, half]),
            np.tile(self.lower, 2),
            np.tile(self.share, (2, 1)),
        )


@dataclass(frozen=True, slots=True, eq=False)
class Bounds:
    """What is known of cells (n,).

    Attributes:
        cost: Cost of the place in the middle; infinite where it is not allowed.
        lower: Least cost in the cell.
        possible: Whether any place in it may be allowed.
        share: (n, 3) as in ``Cells``.
        looked: How many rows of samples were looked at.
    """

    cost: Floats
    lower: Floats
    possible: NDArray[np.bool_]
    share: Floats
    looked: int


def divide(
    cells: Cells,
    best: float,
    bounds: Callable[[Cells], Bounds],
    descend: Callable[[Floats], tuple[Floats, Floats]],
    aims: Sequence[tuple[int, float, float]],
) -> tuple[float, Floats, int]:
    """Halve the cells that may hold a cheaper place until none does, or the work is used up.

    Args:
        cells: Cells that cover all places there are.
        best: Cost of the cheapest place found so far.
        bounds: What is known of cells.
        descend: Cheaper places (k, 3) near some, and their costs (k,).
        aims: Until so many rows of samples are looked at, go on as long as some cell may be cheaper
            than the best by more than this share of it and this much; the last is where to stop at
            all.

    Returns:
        A bound below the cost of every place, places met (k, 3) in order, the last the cheapest
        (none, if none is cheaper than ``best``), and the number of places priced.
    """
    met = [np.empty((0, 3))]
    priced, looked, settled = 0, 0, np.inf
    while len(cells.lower):
        aim = next(
            (max(share * best, money) for most, share, money in aims if looked < most), np.inf
        )
        open_ = cells.lower < best - aim
        settled = min(settled, float(cells.lower[~open_].min(initial=np.inf)))
        cells = cells.part(open_)
        if not len(cells.lower):
            break
        order = np.argsort(cells.lower, kind="stable")
        halves = cells.part(order[:BATCH]).halves()
        cells = cells.part(order[BATCH:])
        found = bounds(halves)
        priced, looked = priced + len(found.cost), looked + found.looked
        begin = np.argsort(found.cost, kind="stable")[:DESCENTS]
        begin = begin[found.cost[begin] < NEAR * best]
        if len(begin):
            places, costs = descend(halves.places[begin])
            if costs.min() < best:
                best = float(costs.min())
                met.append(places[costs.argmin()][None])
        # What holds for a cell holds for its halves.
        halves = replace(halves, lower=np.maximum(halves.lower, found.lower), share=found.share)
        cells = cells.joined(halves.part(found.possible))
    bound = min(settled, float(cells.lower.min(initial=np.inf)), best)
    return bound, np.vstack(met), priced
