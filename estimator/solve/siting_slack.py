"""How far the heights under a base may be off, one against another, in a cell of places.

Within a cell no sample of the ground changes by more than its move times the slope of the ground
there. A move carries all samples alike, so that a slope which they have in common changes no height
against another: only what a sample's own slope differs from it counts, and the common slope for
what a turn moves one sample against another. A sample that stays on its triangle, or goes over one
edge of it, has that one's slope and what the edge adds (``siting_edges``); any other the steepest
within reach.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from estimator.solve.siting_bound import Cells
from estimator.solve.siting_edges import Edges, Rim, Samples
from estimator.solve.siting_places import turned
from estimator.solve.siting_price import Off, Sampling
from estimator.solve.siting_sides import EACH, ways
from estimator.solve.surface import Ground

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
Bools = NDArray[np.bool_]

NARROW_FT = 0.25
"""How far the samples of a cell may reach at most for every way in which a row of them can lie
to be looked at."""


@dataclass(frozen=True, slots=True, eq=False)
class Slopes:
    """Slopes of the ground: one that all of it has in common, and the most that any differs.

    Attributes:
        common: (2,) rise over run along x and y.
        plane: (2,) slopes of the plane nearest to the readings.
        rest: Steepest slope of what is left when the common one is taken off.
        beyond: Whether the plane beyond the readings counts.
        edges: Of its triangles.
    """

    common: Floats
    plane: Floats
    rest: float
    beyond: bool
    edges: Edges

    def slack_ft(self, move_ft: Floats | float, swing_ft: Floats | float) -> Floats:
        """Most that a height within the readings changes against the others, moved and turned.

        Args:
            move_ft: How far all samples are carried alike.
            swing_ft: How far a turn carries the outermost sample besides.
        """
        steep = float(np.hypot(*self.common))
        return np.asarray(
            self.rest * (np.asarray(move_ft) + swing_ft) + steep * swing_ft, dtype=np.float64
        )


@dataclass(frozen=True, slots=True, eq=False)
class Near:
    """Samples in cells of places.

    Attributes:
        height: (p, n) heights in the middle of each cell, ft.
        cell: (v,) of which cell each row of ``off`` tells: more than one where few samples may
            come to lie on either side of the rim of the readings, a row for each way.
        off: (v, n) what heights may be, and how far they are off from that.
        share: (p, 3) how much of it comes of either move and of the turn.
    """

    height: Floats
    cell: Ints
    off: Off
    share: Floats


def slopes(ground: Ground, *, beyond: bool) -> Slopes:
    """Slopes of a ground; with ``beyond``, of the plane outside the readings too."""
    each = ground.coefficients[:, 1:]
    if beyond:
        each = np.vstack([each, ground.plane[1:]])
    edges, plane = Edges.of(ground), ground.plane[1:]
    middle = (each.min(axis=0) + each.max(axis=0)) / 2
    found = []
    for common in (middle, np.zeros(2)):
        rest = float(np.hypot(*(each - common).T).max())
        found.append(Slopes(common, plane, rest, beyond, edges))
    # A common slope helps moves and harms turns: take it where it takes off half or more.
    return found[0] if 2 * found[0].rest <= found[1].rest else found[1]


def near(ground: Ground, known: Slopes, sampling: Sampling, cells: Cells) -> Near:
    """Samples in cells, by the slopes where each of them lies.

    Args:
        ground: The surface.
        known: Its slopes; those of the plane beyond the readings too, where the cells reach there.
        sampling: Samples of the footprint.
        cells: The cells.
    """
    cos, sin = (each[:, None] for each in turned(cells.places[:, 2]))
    u, v = sampling.offsets.T
    along, across = cos * u - sin * v, sin * u + cos * v
    x = cells.places[:, :1] - ground.centre_ft[0] + along
    y = cells.places[:, 1:2] - ground.centre_ft[1] + across
    points = np.stack([x.ravel(), y.ravel()], axis=1) + ground.centre_ft
    triangle = ground.locate(points).reshape(x.shape)
    # The plane, which is last, for -1: beyond the readings.
    level, slope_x, slope_y = (
        each[triangle] for each in np.vstack([ground.coefficients, ground.plane]).T
    )
    height = level + slope_x * x + slope_y * y
    weight = sampling.area_ft2 / sampling.area_ft2.sum()
    common_x, common_y = (slope_x @ weight)[:, None], (slope_y @ weight)[:, None]

    half_x, half_y = cells.half[:, :1], cells.half[:, 1:2]
    turn = np.deg2rad(cells.half[:, 2:])
    move, swing = np.hypot(half_x, half_y), 2 * sampling.arm_ft * np.sin(turn / 2)
    reach = move + swing
    bent, crosses = known.edges.over_ft(triangle, x, y, reach)
    slope_x, slope_y = np.where(crosses, common_x, slope_x), np.where(crosses, common_y, slope_y)
    some = np.flatnonzero(crosses.any(axis=1))
    if len(some):
        size = np.ptp(sampling.offsets, axis=0)
        farthest = move[some, 0] + swing[some].max(axis=1)
        common = np.hstack([common_x[some], common_y[some]])
        steep = _steepest(ground, size, cells.places[some], farthest, common)[:, None]
        bent[some] += np.where(crosses[some], steep * reach[some], 0.0)
    cell, low, high = np.arange(len(x)), -bent, bent
    if known.beyond:
        rim = known.edges.over_rim(Samples(triangle, x, y, height, slope_x, slope_y, reach))
        wide = reach.max(axis=1) > NARROW_FT
        cell, low, high = _either(bent, rim, triangle >= 0, wide, sampling.offsets)
    linear = np.stack(
        [
            slope_x * half_x,
            slope_y * half_y,
            (slope_y * along - slope_x * across) * turn,
        ]
    )
    # A turned sample leaves the tangent of its circle by this at most.
    curved = sampling.arm_ft * turn**2 * (0.5 + turn / 6)
    # What comes of going past an edge comes of all that is gone.
    gone = np.stack(np.broadcast_arrays(half_x, half_y, swing)) / (half_x + half_y + swing + 1e-12)
    past = (high - low) / 2
    widest = np.zeros(x.shape)
    np.maximum.at(widest, cell, past)
    share = np.abs(linear - (linear @ weight)[..., None]) + widest * gone
    rest = (np.hypot(slope_x, slope_y) * curved)[cell] + past
    off = Off(height[cell] + (low + high) / 2, rest, linear[:, cell])
    return Near(height, cell, off, share.sum(axis=2).T)


def _either(
    bent: Floats, rim: Rim, within: Bools, wide: Bools, offsets: Floats
) -> tuple[Ints, Floats, Floats]:
    """What changes heights as they go over the rim or stay, a row for each way in which they can.

    Args:
        bent: (p, n) the most that each changes as it stays on its side.
        rim: What each changes by as it goes over.
        within: Which lie within the readings in the middle of their cell.
        wide: (p,) which cells are: these are divided rather than looked at for many ways.
        offsets: Where samples lie in the footprint.

    Returns:
        The number of each row's cell (v,), and the least and the most that heights change by
        (v, n). Where the ways are too many, one row stands for all of them.
    """
    goes = ~np.isnan(rim.low)
    few = ~(wide & (goes.sum(axis=1) > EACH))
    cell, over = ways(few, goes, within, rim.side, rim.one_side, offsets)
    every = np.setdiff1d(np.arange(len(bent)), cell)
    low, high = np.fmin(-bent[every], rim.low[every]), np.fmax(bent[every], rim.high[every])
    low = np.vstack([np.where(over, rim.low[cell], -bent[cell]), low])
    high = np.vstack([np.where(over, rim.high[cell], bent[cell]), high])
    return np.concatenate([cell, every]), low, high


def _steepest(
    ground: Ground, size_ft: Floats, places: Floats, reach_ft: Floats, common: Floats
) -> Floats:
    """Steepest triangle within reach of footprints, against common slopes (p, 2): (p,)."""
    x, y = (ground.vertices_ft + ground.centre_ft).T
    dx, dy = x - places[:, :1], y - places[:, 1:2]
    cos, sin = (each[:, None] for each in turned(places[:, 2]))
    reach = reach_ft[:, None]
    reached = np.ones((len(places), len(ground.triangles)), dtype=np.bool_)
    for along, side in ((cos * dx + sin * dy, size_ft[0]), (cos * dy - sin * dx, size_ft[1])):
        p, q, r = (along[:, corner] for corner in ground.triangles.T)
        reached &= np.minimum(np.minimum(p, q), r) <= side / 2 + reach
        reached &= np.maximum(np.maximum(p, q), r) >= -side / 2 - reach
    _, slope_x, slope_y = ground.coefficients.T
    square = (slope_x - common[:, :1]) ** 2 + (slope_y - common[:, 1:]) ** 2
    return np.asarray(np.sqrt(np.where(reached, square, 0.0).max(axis=1)), dtype=np.float64)
