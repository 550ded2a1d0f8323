"""What a height may change by, besides by the slope of its triangle, where it goes over an edge.

At an edge between two triangles the surface bends, up or down. Lengths and heights in feet.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from estimator.solve.siting_moves import At, Moves
from estimator.solve.surface import Ground

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Ints = NDArray[np.intp]


@dataclass(frozen=True, slots=True, eq=False)
class Bends:
    """What heights of samples (p, n) change by as long as they stay within the readings.

    Attributes:
        slope_x, slope_y: By which they are reckoned on: that of the triangle, or where a sample
            may go over one edge of it, one between those on both sides.
        low, high: The least and the most that they change by besides.
    """

    slope_x: Floats
    slope_y: Floats
    low: Floats
    high: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Edges:
    """Triangles (t, 3) of a ground and their edges.

    Attributes:
        planes: (t + 1, 3) of the triangles, and of the ground beyond the readings, which is last.
        inward: (t, 3, 2) direction across each edge, into its triangle.
        begins_ft: (t, 3) how far along that it lies from the plan origin.
        over: (t, 3) triangle on its other side; -1 outside the readings.
        bend: (t, 3) what the surface rises more steeply by beyond it.
        apart: (t, t) slope of each triangle against each other.
    """

    planes: Floats
    inward: Floats
    begins_ft: Floats
    over: Ints
    bend: Floats
    apart: Floats

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
        return cls(
            planes=np.vstack([ground.coefficients, ground.plane]),
            inward=inward,
            begins_ft=(inward * a).sum(axis=2),
            over=over,
            bend=-((slope[over] - slope[:, None]) * inward).sum(axis=2),
            apart=np.hypot(*np.moveaxis(slope[:, None] - slope, 2, 0)),
        )

    def bends(self, moves: Moves) -> Bends:
        """What going over edges within the readings may change heights by."""
        _, slope_x, slope_y = np.moveaxis(self.planes[moves.triangle], -1, 0)
        low, high = np.zeros((2, *moves.x.shape))
        away = self._away_ft(moves.triangle, moves.x, moves.y)
        near = (away < moves.reach) & (np.moveaxis(self.over[moves.triangle], -1, 0) >= 0)
        rows, columns = np.nonzero(near.any(axis=0) & (moves.triangle >= 0))
        at: At = rows, columns
        every, own = away[:, at[0], at[1]], moves.triangle[at]
        gets = moves.at_most(at, *np.moveaxis(self.inward[own], (-1, 1), (0, 1)))
        over = (every < gets) & (self.over[own].T >= 0)
        some = over.any(axis=0)
        at, own, over = (at[0][some], at[1][some]), own[some], over[:, some]
        every, gets = every[:, some], gets[:, some]

        edge = over.argmax(axis=0)
        other = self.over[own, edge]
        gets_on = moves.at_most(at, *np.moveaxis(self.inward[other], (-1, 1), (0, 1)))
        past = self._away_ft(other, moves.x[at], moves.y[at]) < gets_on
        # Of the other triangle, that edge itself, and those beyond which are no readings.
        one = (over.sum(axis=0) == 1) & ((past & (self.over[other].T >= 0)).sum(axis=0) == 1)
        first = np.where(over, every, np.inf).min(axis=0)
        farther = at[0][~one], at[1][~one]
        reach = moves.reach[farther]
        low[farther], high[farther] = self.off_plane(
            moves.x[farther], moves.y[farther], reach, own[~one], reach - first[~one]
        )

        # A sample that gets over one edge, and no farther than the triangle on its other side,
        # meets one bend: from there on it changes by the bend. A slope between both is off least.
        at, own, edge = (at[0][one], at[1][one]), own[one], edge[one]
        gets, first = gets[edge, np.flatnonzero(one)], np.maximum(first[one], 0)
        bend, share = self.bend[own, edge], (gets - first) / (2 * gets)
        slope_x[at] -= bend * share * self.inward[own, edge, 0]
        slope_y[at] -= bend * share * self.inward[own, edge, 1]
        off = bend * np.stack([-share * first, share * gets])
        low[at], high[at] = off.min(axis=0), off.max(axis=0)
        return Bends(slope_x, slope_y, low, high)

    def off_plane(
        self, x: Floats, y: Floats, reach_ft: Floats, of: Ints, past_ft: Floats
    ) -> tuple[Floats, Floats]:
        """How far the surface within reach of places (m,) lies off the planes of triangles.

        Args:
            x, y: Places, from the plan origin.
            reach_ft: How far round them.
            of: (m,) triangles.
            past_ft: (m,) how far it is at most from where the surface leaves that plane.

        Returns:
            The least and the most (m,); 0 is among them.
        """
        if not len(x):
            return np.zeros(0), np.zeros(0)
        place = np.stack([np.ones(len(x)), x, y, reach_ft], axis=1)
        reached = np.ones((len(x), len(self.apart)), dtype=np.bool_)
        for n in range(3):
            edge = np.vstack([-self.begins_ft[:, n], self.inward[:, n].T, np.ones(len(self.apart))])
            reached &= place @ edge > 0
        reached[np.arange(len(x)), of] = True  # so that each has one
        at, triangle = np.nonzero(reached)
        first = np.searchsorted(at, np.arange(len(x)))
        own = of[at]
        plane = (self.planes[triangle] - self.planes[own]).T
        off = plane[0] + plane[1] * x[at] + plane[2] * y[at]
        apart = self.apart[own, triangle]
        gained = apart * reach_ft[at]
        steep = np.maximum.reduceat(apart, first) * np.maximum(past_ft, 0)
        low = np.minimum.reduceat(off - gained, first)
        return np.maximum(low, -steep), np.minimum(np.maximum.reduceat(off + gained, first), steep)

    def _away_ft(self, triangle: Ints, x: Floats, y: Floats) -> Floats:
        """How far places lie inside of each edge of triangles: (3, ...)."""
        return np.stack(
            [
                self.inward[triangle, n, 0] * x
                + self.inward[triangle, n, 1] * y
                - self.begins_ft[triangle, n]
                for n in range(3)
            ]
        )
