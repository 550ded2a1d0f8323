"""What a height may change by, besides by the slope of its triangle, where it goes over an edge.

At an edge between two triangles the surface bends; at the edge of the readings it steps to the
plane beyond them, up or down by what differs along it. Lengths and heights in feet.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from estimator.solve.surface import Ground

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Ints = NDArray[np.intp]


@dataclass(frozen=True, slots=True, eq=False)
class Samples:
    """Samples (p, n) of the ground in cells of places.

    Attributes:
        triangle: On which each lies in the middle of its cell; -1 beyond the readings.
        x, y: Where, from the plan origin.
        height: Of the ground there.
        slope_x, slope_y: By which each is reckoned on.
        reach: How far each may be moved.
    """

    triangle: Ints
    x: Floats
    y: Floats
    height: Floats
    slope_x: Floats
    slope_y: Floats
    reach: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Rim:
    """What heights (p, n) change by, besides by their slope, where they go over the rim.

    Attributes:
        low, high: The least and the most; not a number where they cannot reach it.
        side: Number of the edge of the outside that is nearest.
        one_side: Whether no other is within reach.
    """

    low: Floats
    high: Floats
    side: Ints
    one_side: Bools


@dataclass(frozen=True, slots=True, eq=False)
class Edges:
    """Edges of the triangles of a ground (t, 3), and of its outside (h,).

    Attributes:
        inward: (t, 3, 2) direction across each, into its triangle.
        begins_ft: How far along that it lies from the plan origin.
        over: Triangle on its other side; -1 outside the readings.
        bend: What the slope changes by across it.
        plane: (3,) of the ground beyond the readings.
        differs: (t,) slope of each triangle against that plane.
        outward: (h, 2) direction out of the readings across each edge of their outside.
        ends_ft: How far along that it lies from the plan origin.
        rim: (h, 2, 2) where each begins, and what leads from there to its end.
        steps_ft: (h, 2) how far the surface lies above the plane at both.
    """

    inward: Floats
    begins_ft: Floats
    over: Ints
    bend: Floats
    plane: Floats
    differs: Floats
    outward: Floats
    ends_ft: Floats
    rim: Floats
    steps_ft: Floats

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
        out = over < 0
        place, height = ground.vertices_ft[ends[out]], ground.vertex_heights_ft[ends[out]]
        begins = (inward * a).sum(axis=2)
        return cls(
            inward=inward,
            begins_ft=begins,
            over=over,
            bend=np.hypot(*np.moveaxis(slope[over] - slope[:, None], 2, 0)),
            plane=ground.plane,
            differs=np.hypot(*(slope - ground.plane[1:]).T),
            outward=-inward[out],
            ends_ft=-begins[out],
            rim=np.stack([place[:, 0], place[:, 1] - place[:, 0]], axis=1),
            steps_ft=height - ground.plane[0] - place @ ground.plane[1:],
        )

    def away_ft(self, triangle: Ints, x: Floats, y: Floats) -> Floats:
        """How far places lie inside of each edge of triangles: (3, ...)."""
        return np.stack(
            [
                self.inward[triangle, n, 0] * x
                + self.inward[triangle, n, 1] * y
                - self.begins_ft[triangle, n]
                for n in range(3)
            ]
        )

    def over_ft(
        self, triangle: Ints, x: Floats, y: Floats, reach_ft: Floats
    ) -> tuple[Floats, Bools]:
        """What going over one edge within the readings may change heights (p, n) by.

        A sample that reaches over one edge, and no farther than the triangle on its other side,
        meets one bend: what it changes by there is the bend times how far it gets beyond the edge.

        Returns:
            That, and which samples may go farther than it holds.
        """
        within = triangle >= 0
        away = self.away_ft(triangle, x, y)
        over = (away < reach_ft) & (np.moveaxis(self.over[triangle], -1, 0) >= 0) & within
        bent = np.zeros(x.shape, dtype=np.float64)
        farther = np.asarray(over.any(axis=0), dtype=np.bool_)
        row, column = np.nonzero(over.sum(axis=0) == 1)
        edge = over[:, row, column].argmax(axis=0)
        at, reach = triangle[row, column], reach_ft[row, column]
        other = self.over[at, edge]
        past = self.away_ft(other, x[row, column], y[row, column]) < reach
        # Of the other triangle, that edge itself, and those beyond which are no readings.
        holds = (past & (self.over[other].T >= 0)).sum(axis=0) == 1
        bent[row, column] = np.where(
            holds, self.bend[at, edge] * (reach - away[edge, row, column]), 0.0
        )
        farther[row, column] = ~holds
        return bent, farther

    def over_rim(self, samples: Samples) -> Rim:
        """What heights (p, n) change by where they go over the rim, the edge of the readings."""
        x, y = samples.x, samples.y
        low, high = np.full((2, *x.shape), np.nan)
        side, one_side = np.zeros(x.shape, dtype=np.intp), np.zeros(x.shape, dtype=np.bool_)
        middle = x.mean(axis=1, keepdims=True), y.mean(axis=1, keepdims=True)
        arm = (np.hypot(x - middle[0], y - middle[1]) + samples.reach).max(axis=1)
        some = np.flatnonzero(self._away_ft(*middle).max(axis=-1)[:, 0] > -arm)
        away = self._away_ft(x[some], y[some])
        side[some] = away.argmax(axis=2)
        one_side[some] = (away > -samples.reach[some][..., None]).sum(axis=2) == 1
        beyond = np.full(x.shape, -np.inf)
        beyond[some] = away.max(axis=2)
        s = np.nonzero((samples.triangle >= 0) & (beyond > -samples.reach))
        x, y, reach = samples.x[s], samples.y[s], samples.reach[s]
        step = self.plane[0] + self.plane[1] * x + self.plane[2] * y - samples.height[s]
        steep = np.hypot(self.plane[1] - samples.slope_x[s], self.plane[2] - samples.slope_y[s])
        low[s], high[s] = step - steep * reach, step + steep * reach
        s = np.nonzero((samples.triangle < 0) & (beyond < samples.reach))
        x, y, reach = samples.x[s], samples.y[s], samples.reach[s]
        off, step = self._nearest(x, y)
        # What lies within reach inside is no farther than this from where the rim is nearest.
        reach_in = np.sqrt(np.maximum(reach**2 - off**2, 0))
        steep = np.where(off < reach, self._steepest(x, y, reach), np.nan)
        low[s], high[s] = step - steep * reach_in, step + steep * reach_in
        return Rim(low, high, side, one_side)

    def _away_ft(self, x: Floats, y: Floats) -> Floats:
        """How far places lie outside of each edge of the outside (..., h); below 0 inside."""
        away = x[..., None] * self.outward[:, 0] + y[..., None] * self.outward[:, 1]
        return np.asarray(away - self.ends_ft, dtype=np.float64)

    def _nearest(self, x: Floats, y: Floats) -> tuple[Floats, Floats]:
        """How far places (m,) lie from the rim, and how far the surface there is off the plane."""
        (from_x, run_x), (from_y, run_y) = np.moveaxis(self.rim, 0, 2).transpose(1, 0, 2)
        dx, dy = x[:, None] - from_x, y[:, None] - from_y
        share = np.clip((dx * run_x + dy * run_y) / (run_x**2 + run_y**2), 0, 1)
        away = np.hypot(dx - share * run_x, dy - share * run_y)
        every, at = np.arange(len(x)), away.argmin(axis=1)
        first, last = self.steps_ft[at].T
        return away[every, at], first + share[every, at] * (last - first)

    def _steepest(self, x: Floats, y: Floats, reach_ft: Floats) -> Floats:
        """Steepest slope against the plane of the triangles within reach of places (m,)."""
        reached = np.ones((len(x), len(self.differs)), dtype=np.bool_)
        for n in range(3):
            away = np.outer(x, self.inward[:, n, 0]) + np.outer(y, self.inward[:, n, 1])
            reached &= away - self.begins_ft[:, n] > -reach_ft[:, None]
        return np.asarray(np.where(reached, self.differs, 0.0).max(axis=1), dtype=np.float64)
