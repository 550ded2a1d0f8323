"""How far the heights under a base may be off, one against another, in a cell of places.

Within a cell no sample of the ground changes by more than its move times the slope of the ground
there. A move carries all samples alike, so that a slope which they have in common changes no height
against another: only what a sample's own slope differs from it counts, and the common slope for
what a turn moves one sample against another. A sample that stays on its triangle, or goes over one
edge of it, has that one's slope and the edge's bend; any other the steepest within reach.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from estimator.solve.siting_bound import Cells
from estimator.solve.siting_places import turned
from estimator.solve.siting_price import Off, Sampling
from estimator.solve.surface import Ground

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Edges:
    """Edges of the triangles of a ground (t, 3), and of its outside (h,).

    Attributes:
        inward: (t, 3, 2) direction across each, into its triangle.
        begins_ft: How far along that it lies from the plan origin.
        over: Triangle on its other side; -1 outside the readings.
        bend: What the slope changes by across it.
        outward: (h, 2) direction out of the readings across each edge of their outside.
        ends_ft: How far along that it lies from the plan origin.
    """

    inward: Floats
    begins_ft: Floats
    over: NDArray[np.intp]
    bend: Floats
    outward: Floats
    ends_ft: Floats

    @classmethod
    def of(cls, ground: Ground) -> Edges:
        """Edges of a ground."""
        ends = np.stack([ground.triangles, np.roll(ground.triangles, -1, axis=1)], axis=2)
        a, b = ground.vertices_ft[ends[..., 0]], ground.vertices_ft[ends[..., 1]]
        inward = np.stack([a[..., 1] - b[..., 1], b[..., 0] - a[..., 0]], axis=2)
        inward /= np.hypot(inward[..., 0], inward[..., 1])[..., None]
        whose = {(int(p), int(q)): n // 3 for n, (p, q) in enumerate(ends.reshape(-1, 2))}
        over = np.array([[whose.get((int(q), int(p)), -1) for p, q in row] for row in ends])
        slope = ground.coefficients[:, 1:]
        bend = np.hypot(*np.moveaxis(slope[over] - slope[:, None], 2, 0))
        begins = (inward * a).sum(axis=2)
        out = over < 0
        return cls(inward, begins, over, bend, -inward[out], -begins[out])

    def away_ft(self, triangle: NDArray[np.intp], x: Floats, y: Floats) -> Floats:
        """How far places lie inside of each edge of triangles: (3, ...)."""
        return np.stack(
            [
                self.inward[triangle, n, 0] * x
                + self.inward[triangle, n, 1] * y
                - self.begins_ft[triangle, n]
                for n in range(3)
            ]
        )

    def beyond_ft(self, x: Floats, y: Floats) -> Floats:
        """How far places (m,) lie outside of the readings, at least."""
        away = x[:, None] * self.outward[:, 0] + y[:, None] * self.outward[:, 1] - self.ends_ft
        return np.asarray(away.max(axis=1), dtype=np.float64)


@dataclass(frozen=True, slots=True, eq=False)
class Slopes:
    """Slopes of the ground: one that all of it has in common, and the most that any differs.

    Attributes:
        common: (2,) rise over run along x and y.
        plane: (2,) slopes of the plane nearest to the readings.
        rest: Steepest slope of what is left when the common one is taken off.
        beyond: Whether the plane beyond the readings counts.
        jump_ft: Greatest step of the surface, at the edge of the readings where beyond counts.
        edges: Of its triangles.
    """

    common: Floats
    plane: Floats
    rest: float
    beyond: bool
    jump_ft: float
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


def slopes(ground: Ground, *, beyond: bool) -> Slopes:
    """Slopes of a ground; with ``beyond``, of the plane outside the readings too."""
    each = ground.coefficients[:, 1:]
    if beyond:
        each = np.vstack([each, ground.plane[1:]])
    jump = ground.edge_jump_ft if beyond else 0.0
    edges, plane = Edges.of(ground), ground.plane[1:]
    middle = (each.min(axis=0) + each.max(axis=0)) / 2
    found = []
    for common in (middle, np.zeros(2)):
        rest = float(np.hypot(*(each - common).T).max())
        found.append(Slopes(common, plane, rest, beyond, jump, edges))
    # A common slope helps moves and harms turns: take it where it takes off half or more.
    return found[0] if 2 * found[0].rest <= found[1].rest else found[1]


def near(ground: Ground, known: Slopes, sampling: Sampling, cells: Cells) -> tuple[Off, Floats]:
    """Samples in cells, by the slopes where each of them lies.

    Args:
        ground: The surface.
        known: Its slopes; those of the plane beyond the readings too, where the cells reach there.
        sampling: Samples of the footprint.
        cells: The cells.

    Returns:
        How far they are off, and how much of that comes of either move and of the turn (p, 3).
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

    half_u, half_v = cells.half[:, :1], cells.half[:, 1:2]
    turn = np.deg2rad(cells.half[:, 2:])
    move, swing = np.hypot(half_u, half_v), 2 * sampling.arm_ft * np.sin(turn / 2)
    bent, crosses = _over_edges(known.edges, triangle, x, y, move + swing)
    slope_x, slope_y = np.where(crosses, common_x, slope_x), np.where(crosses, common_y, slope_y)
    ax, ay = (each[:, None] for each in turned(cells.axis_deg))
    linear = np.stack(
        [
            (slope_x * ax + slope_y * ay) * half_u,
            (slope_y * ax - slope_x * ay) * half_v,
            (slope_y * along - slope_x * across) * turn,
        ]
    )
    # A turned sample leaves the tangent of its circle by this at most.
    curved = sampling.arm_ft * turn**2 * (0.5 + turn / 6)
    past = bent
    some = np.flatnonzero(crosses.any(axis=1))
    if len(some):
        size = np.ptp(sampling.offsets, axis=0)
        reach = move[some, 0] + swing[some].max(axis=1)
        common = np.hstack([common_x[some], common_y[some]])
        steep = _steepest(ground, size, cells.places[some], reach, common)[:, None]
        if known.beyond:
            steep = np.maximum(steep, np.hypot(*(ground.plane[1:] - common).T)[:, None])
        off = steep * (move[some] + swing[some]) + known.jump_ft
        past[some] += np.where(crosses[some], off, 0.0)
    # What comes of going past an edge comes of all that is gone.
    gone = np.stack(np.broadcast_arrays(half_u, half_v, swing)) / (half_u + half_v + swing + 1e-12)
    share = np.abs(linear - (linear @ weight)[..., None]) + past * gone
    rest = np.hypot(slope_x, slope_y) * curved + past
    return Off(height, rest, linear), share.sum(axis=2).T


def _over_edges(
    edges: Edges, triangle: NDArray[np.intp], x: Floats, y: Floats, reach_ft: Floats
) -> tuple[Floats, NDArray[np.bool_]]:
    """What samples may change by besides their own slope, and which may go farther than that holds.

    A sample that reaches over one edge, and no farther than the triangle on its other side, meets
    one bend: what it changes by there is the bend times how far it gets beyond the edge.
    """
    away = edges.away_ft(triangle, x, y)
    over = away < reach_ft
    bent = np.zeros(x.shape, dtype=np.float64)
    farther = np.asarray(over.any(axis=0), dtype=np.bool_)
    row, column = np.nonzero((over.sum(axis=0) == 1) & (triangle >= 0))
    edge = over[:, row, column].argmax(axis=0)
    at, reach = triangle[row, column], reach_ft[row, column]
    other = edges.over[at, edge]
    inside = edges.away_ft(other, x[row, column], y[row, column]) >= reach
    holds = (other >= 0) & (inside.sum(axis=0) == 2)
    past = reach - away[edge, row, column]
    bent[row, column] = np.where(holds, edges.bend[at, edge] * past, 0.0)
    farther[row, column] = ~holds
    out = triangle < 0
    farther[out] = edges.beyond_ft(x[out], y[out]) < reach_ft[out]
    return bent, farther


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
