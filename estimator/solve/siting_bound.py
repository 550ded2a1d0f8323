"""How far a search for a place may have missed the cheapest: a bound by dividing places further.

Every place lies in a cell round a lattice place: so far to either side, so many degrees to either
turn. Within a cell no sample of the ground changes by more than its move times the slope of the
ground there. A move carries all samples alike, so that a slope which the whole lot has in common
changes no height against another: only what a triangle's slope differs from it counts, and the
common slope only for what a turn moves one sample against another. Cells whose least cost lies
below the best found are halved, the lowest first, which is branch and bound.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from estimator.solve.surface import Ground

Floats = NDArray[np.float64]

BATCH = 1024
"""Cells halved at a time."""


@dataclass(frozen=True, slots=True, eq=False)
class Slopes:
    """Slopes of the ground: one that all of it has in common, and the most that any differs.

    Attributes:
        common: (2,) rise over run along x and y.
        rest: Steepest slope of what is left when the common one is taken off.
        jump_ft: Greatest step of the surface, at the edge of the readings where beyond counts.
    """

    common: Floats
    rest: float
    jump_ft: float

    def slack_ft(self, move_ft: Floats | float, swing_ft: Floats | float) -> Floats:
        """Most that a height changes against the others by a move and a turn's swing.

        Args:
            move_ft: How far all samples are carried alike.
            swing_ft: How far a turn carries the outermost sample besides.
        """
        steep = float(np.hypot(*self.common))
        return np.asarray(
            self.rest * (np.asarray(move_ft) + swing_ft) + steep * swing_ft + self.jump_ft,
            dtype=np.float64,
        )


def slopes(ground: Ground, *, beyond: bool) -> Slopes:
    """Slopes of a ground; with ``beyond``, of the plane outside the readings too."""
    each = ground.coefficients[:, 1:]
    if beyond:
        each = np.vstack([each, ground.plane[1:]])
    jump = ground.edge_jump_ft if beyond else 0.0
    middle = (each.min(axis=0) + each.max(axis=0)) / 2
    found = [
        Slopes(common, float(np.hypot(*(each - common).T).max()), jump)
        for common in (middle, np.zeros(2))
    ]
    # A common slope helps moves and harms turns: take it where it takes off half or more.
    return found[0] if 2 * found[0].rest <= found[1].rest else found[1]


def local_slack_ft(
    ground: Ground, size_ft: tuple[float, float], places: Floats, move_ft: Floats, swing_ft: Floats
) -> Floats:
    """Most that heights change against each other (n,), from the triangles within reach alone.

    Args:
        size_ft: Length and width of the footprint.
        places: (n, 3) x, y and turn; with their moves they stay within the readings.
        move_ft, swing_ft: (n,) as in :meth:`Slopes.slack_ft`.
    """
    x, y = (ground.vertices_ft + ground.centre_ft).T
    dx, dy = x - places[:, :1], y - places[:, 1:2]
    angle = np.deg2rad(places[:, 2])[:, None]
    cos, sin = np.cos(angle), np.sin(angle)
    reach = (move_ft + swing_ft)[:, None]
    near = np.ones((len(places), len(ground.triangles)), dtype=np.bool_)
    for along, side in ((cos * dx + sin * dy, size_ft[0]), (cos * dy - sin * dx, size_ft[1])):
        p, q, r = (along[:, corner] for corner in ground.triangles.T)
        near &= np.minimum(np.minimum(p, q), r) <= side / 2 + reach
        near &= np.maximum(np.maximum(p, q), r) >= -side / 2 - reach
    slope = ground.coefficients[:, 1:].T
    low = np.stack([np.where(near, each, np.inf).min(axis=1) for each in slope], axis=1)
    high = np.stack([np.where(near, each, -np.inf).max(axis=1) for each in slope], axis=1)
    common, rest = (low + high) / 2, np.hypot(*((high - low) / 2).T)
    steep = np.hypot(*np.maximum(np.abs(low), np.abs(high)).T)
    shared = rest * (move_ft + swing_ft) + np.hypot(*common.T) * swing_ft
    return np.asarray(np.minimum(shared, steep * (move_ft + swing_ft)), dtype=np.float64)


@dataclass(frozen=True, slots=True, eq=False)
class Cells:
    """Places (n, 3: x, y, turn) with all within ``half`` of them (n, 3: along, across, turn).

    ``axis_deg`` (n,) is the way in which "along" lies; it stays when turns are halved, so that
    halves cover their whole. ``lower`` (n,) is a bound below the cost of every place in each.
    """

    places: Floats
    half: Floats
    axis_deg: Floats
    lower: Floats

    def joined(self, other: Cells) -> Cells:
        """Both together."""
        return Cells(
            np.vstack([self.places, other.places]),
            np.vstack([self.half, other.half]),
            np.concatenate([self.axis_deg, other.axis_deg]),
            np.concatenate([self.lower, other.lower]),
        )

    def part(self, which: NDArray[np.intp] | NDArray[np.bool_]) -> Cells:
        """Some of them."""
        return Cells(self.places[which], self.half[which], self.axis_deg[which], self.lower[which])

    def halves(self, arm_ft: float) -> Cells:
        """The two cells that each falls into, with the bound of the whole.

        Each is cut where it reaches farthest, a turn by the way of a sample at ``arm_ft``.
        """
        reach = self.half * [1, 1, np.deg2rad(arm_ft)]
        cut = reach == reach.max(axis=1, keepdims=True)
        cut &= np.cumsum(cut, axis=1) == 1
        half = np.where(cut, self.half / 2, self.half)
        angle = np.deg2rad(self.axis_deg)
        cos, sin = np.cos(angle), np.sin(angle)
        u, v, turn = np.where(cut, half, 0).T
        moved = np.column_stack([cos * u - sin * v, sin * u + cos * v, turn])
        return Cells(
            np.vstack([self.places - moved, self.places + moved]),
            np.vstack([half, half]),
            np.tile(self.axis_deg, 2),
            np.tile(self.lower, 2),
        )


Bound = Callable[[Floats, Floats], tuple[Floats, Floats, NDArray[np.bool_]]]
"""Cost, least cost in the cell, and whether any place in the cell may be allowed, of places
(n, 3) and half sizes (n, 3) of their cells; the cost is infinite where the place itself is not."""


def divide(
    cells: Cells, best: float, price: Bound, *, arm_ft: float, aim: float, most: int
) -> tuple[float, Floats, int]:
    """Halve the cells that may hold a cheaper place until none does, or the work is used up.

    Args:
        cells: Cells that cover all places there are.
        best: Cost of the cheapest place found so far.
        price: Prices cells.
        arm_ft: From the middle of the footprint to its corner.
        aim: Stop when no cell may be cheaper than the best by more than this.
        most: Places to price at most.

    Returns:
        A bound below the cost of every place, the cheapest place met (k, 3; none, if none is
        cheaper than ``best``), and the number of places priced.
    """
    met = np.empty((0, 3))
    priced, settled = 0, np.inf
    while len(cells.lower):
        open_ = cells.lower < best - aim
        settled = min(settled, float(cells.lower[~open_].min(initial=np.inf)))
        cells = cells.part(open_)
        if not len(cells.lower) or priced >= most:
            break
        order = np.argsort(cells.lower, kind="stable")
        halves = cells.part(order[:BATCH]).halves(arm_ft)
        cells = cells.part(order[BATCH:])
        cost, lower, possible = price(halves.places, halves.half)
        priced += len(cost)
        cheapest = int(np.argmin(cost))
        if cost[cheapest] < best:
            best, met = float(cost[cheapest]), halves.places[cheapest][None]
        # What holds for a cell holds for its halves.
        halves = replace(halves, lower=np.maximum(halves.lower, lower))
        cells = cells.joined(halves.part(possible))
    return min(settled, float(cells.lower.min(initial=np.inf)), best), met, priced
