"""How far the heights under a base may be off, one against another, in a cell of places.

Within a cell a sample of the ground changes by its move times the slope of its triangle, in
proportion to how far the cell is carried and turned; and where it may go over an edge of that, by
what the edge adds (``siting_edges``, ``siting_rim``). Lengths and heights in feet.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from estimator.solve.siting_bound import Cells
from estimator.solve.siting_edges import Edges
from estimator.solve.siting_least import Off
from estimator.solve.siting_moves import ON_EDGE_FT, Moves
from estimator.solve.siting_places import turned
from estimator.solve.siting_price import Sampling
from estimator.solve.siting_rim import Rim
from estimator.solve.siting_sides import ways
from estimator.solve.surface import Ground

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]


@dataclass(frozen=True, slots=True, eq=False)
class Slopes:
    """Slopes of the ground, and where they change.

    Attributes:
        beyond: Whether the plane beyond the readings counts.
        edges: Of its triangles.
        rim: Of the readings.
    """

    beyond: bool
    edges: Edges
    rim: Rim


@dataclass(frozen=True, slots=True, eq=False)
class Near:
    """Samples in cells of places.

    Attributes:
        height: (p, n) heights in the middle of each cell, ft.
        cell: (v,) of which cell each row of ``off`` tells: more than one where samples may come to
            lie on either side of the rim of the readings, a row for each way; none where no place
            of the cell lies within readings that it may not leave.
        off: (v, n) what heights may be, and how far they are off from that.
        share: (p, 3) how much of it comes of either move and of the turn.
    """

    height: Floats
    cell: Ints
    off: Off
    share: Floats


def slopes(ground: Ground, *, beyond: bool) -> Slopes:
    """Slopes of a ground; with ``beyond``, of the plane outside the readings too."""
    edges = Edges.of(ground)
    return Slopes(beyond, edges, Rim.of(ground, edges))


def near(ground: Ground, known: Slopes, sampling: Sampling, cells: Cells) -> Near:
    """Samples in cells, by the slopes where each of them lies.

    Args:
        ground: The surface.
        known: Its slopes.
        sampling: Samples of the footprint.
        cells: The cells.
    """
    moves = _moves(ground, sampling, cells)
    level, slope_x, slope_y = np.moveaxis(known.edges.planes[moves.triangle], -1, 0)
    height = level + slope_x * moves.x + slope_y * moves.y
    stays, over = known.edges.bends(moves), known.rim.over(moves, out=known.beyond)
    within = moves.triangle >= 0
    if known.beyond:
        cell, changes = ways(over, moves, (sampling.counts[0] + 1, sampling.counts[1] + 1))
        either = np.setdiff1d(np.arange(len(height)), cell)
    else:
        cell = np.flatnonzero((within | over.goes).all(axis=1))
        changes, either = ~within[cell], cell[:0]
    cell = np.concatenate([cell, either])
    off, slope_x, slope_y = height[cell], stays.slope_x[cell], stays.slope_y[cell]
    low, high = stays.low[cell], stays.high[cell]
    at = np.nonzero(changes)
    its = cell[at[0]], at[1]
    off[at], slope_x[at], slope_y[at] = over.height[its], over.slope_x[its], over.slope_y[its]
    low[at], high[at] = over.low[its], over.high[its]
    at = np.nonzero(over.goes[either])
    its = either[at[0]], at[1]
    at = at[0] + len(changes), at[1]
    run = over.slope_x[its] - slope_x[at], over.slope_y[its] - slope_y[at]
    step, gains = over.height[its] - height[its], moves.at_most(its, *run)
    low[at] = np.minimum(low[at], step + over.low[its] - gains)
    high[at] = np.maximum(high[at], step + over.high[its] + gains)

    half_x, half_y, turn = moves.half_x[cell], moves.half_y[cell], moves.turn[cell]
    swung = slope_y * moves.along[cell] - slope_x * moves.across[cell]
    linear = np.stack([slope_x * half_x, slope_y * half_y, swung * turn])
    past = (high - low) / 2
    rest = np.hypot(slope_x, slope_y) * moves.curved[cell] + past
    share = _shares(linear, past, moves, cell, sampling)
    return Near(height, cell, Off(off + (low + high) / 2, rest, linear), share)


def _moves(ground: Ground, sampling: Sampling, cells: Cells) -> Moves:
    cos, sin = (each[:, None] for each in turned(cells.places[:, 2]))
    u, v = sampling.offsets.T
    along, across = cos * u - sin * v, sin * u + cos * v
    x = cells.places[:, :1] - ground.centre_ft[0] + along
    y = cells.places[:, 1:2] - ground.centre_ft[1] + across
    points = np.stack([x.ravel(), y.ravel()], axis=1) + ground.centre_ft
    half_x, half_y, turn = cells.half[:, :1], cells.half[:, 1:2], np.deg2rad(cells.half[:, 2:])
    # A turned sample leaves the tangent of its circle by this at most.
    curved = sampling.arm_ft * turn**2 * (0.5 + turn / 6)
    reach = np.hypot(half_x, half_y) + 2 * sampling.arm_ft * np.sin(turn / 2)
    return Moves(
        triangle=ground.locate(points).reshape(x.shape),
        x=x,
        y=y,
        along=along,
        across=across,
        half_x=half_x,
        half_y=half_y,
        turn=turn,
        curved=curved,
        reach=reach + ON_EDGE_FT,
    )


def _shares(linear: Floats, past: Floats, moves: Moves, cell: Ints, sampling: Sampling) -> Floats:
    """How much of what heights in rows (v, n) are off comes of each move and of the turn (p, 3)."""
    weight = sampling.area_ft2 / sampling.area_ft2.sum()
    some, first = np.unique(cell, return_index=True)
    alike = linear[:, first]
    share = np.zeros((len(moves.x), 3))
    share[some] = np.abs(alike - (alike @ weight)[..., None]).sum(axis=2).T
    # What comes of going past an edge comes of all that is gone.
    widest = np.zeros(len(share))
    np.maximum.at(widest, cell, past.sum(axis=1))
    swing = 2 * sampling.arm_ft.mean() * np.sin(moves.turn[:, 0] / 2)
    gone = np.stack([moves.half_x[:, 0], moves.half_y[:, 0], swing], axis=1)
    share += widest[:, None] * gone / (gone.sum(axis=1, keepdims=True) + 1e-12)
    return share
