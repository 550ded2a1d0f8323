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
            may go over one edge of it, one between those on both sides, or over more, that of the
            plane which heights there leave least.
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
        lowest, highest: (t, t) how far corners of the second lie over the plane of the first.
        by_area: (t,) triangles, the smallest first.
    """

    planes: Floats
    inward: Floats
    begins_ft: Floats
    over: Ints
    bend: Floats
    apart: Floats
    lowest: Floats
    highest: Floats
    by_area: Ints

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
        corners = ground.vertices_ft[ground.triangles]
        level = ground.coefficients[:, 0, None, None]
        off = ground.vertex_heights_ft[ground.triangles] - level
        off = off - np.einsum("id,tcd->itc", slope, corners)
        runs = corners[:, 1:] - corners[:, :1]
        area = np.abs(runs[:, 0, 0] * runs[:, 1, 1] - runs[:, 0, 1] * runs[:, 1, 0])
        return cls(
            planes=np.vstack([ground.coefficients, ground.plane]),
            inward=inward,
            begins_ft=(inward * a).sum(axis=2),
            over=over,
            bend=-((slope[over] - slope[:, None]) * inward).sum(axis=2),
            apart=np.hypot(*np.moveaxis(slope[:, None] - slope, 2, 0)),
            lowest=off.min(axis=2),
            highest=off.max(axis=2),
            by_area=np.argsort(area, kind="stable"),
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
        reach, x, y = moves.reach[farther], moves.x[farther], moves.y[farther]
        of, least, most = self.off_plane(x, y, reach, own[~one], reach - first[~one])
        step, slope_x[farther], slope_y[farther] = (self.planes[of] - self.planes[own[~one]]).T
        step = step + slope_x[farther] * x + slope_y[farther] * y
        slope_x[farther], slope_y[farther] = self.planes[of, 1:].T
        low[farther], high[farther] = step + least, step + most

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
    ) -> tuple[Ints, Floats, Floats]:
        """How far the surface within reach of places (m,) lies off the plane of a triangle.

        Args:
            x, y: Places, from the plan origin.
            reach_ft: How far round them.
            of: (m,) triangles.
            past_ft: (m,) how far it is at most from where the surface leaves the plane of each.

        Returns:
            Triangles (m,): each the one asked, or the largest within reach where the surface keeps
            closer to the plane of that, as it does round a sliver; and the least and the most (m,)
            that it lies off.
        """
        if not len(x):
            return of, np.zeros(0), np.zeros(0)
        place = np.stack([np.ones(len(x)), x, y, reach_ft], axis=1)
        reached = np.ones((len(x), len(self.apart)), dtype=np.bool_)
        for n in range(3):
            edge = np.vstack([-self.begins_ft[:, n], self.inward[:, n].T, np.ones(len(self.apart))])
            reached &= place @ edge > 0
        reached[np.arange(len(x)), of] = True  # so that each has one
        at, triangle = np.nonzero(reached)
        first = np.searchsorted(at, np.arange(len(x)))
        rank = np.argsort(self.by_area)[triangle]
        largest = self.by_area[np.maximum.reduceat(rank, first)]
        place, away = place[at], self._away_ft(triangle, x[at], y[at])
        low, high, steep = self._off(place, away, triangle, of[at], first)
        steep = steep * np.maximum(past_ft, 0)
        low, high = np.maximum(low, -steep), np.minimum(high, steep)
        lower, higher, _ = self._off(place, away, triangle, largest[at], first)
        goes, other = (2 * np.hypot(*self.planes[t, 1:].T) * reach_ft for t in (of, largest))
        closer = higher - lower + other < high - low + goes
        of = np.where(closer, largest, of)
        return of, np.where(closer, lower, low), np.where(closer, higher, high)

    def _off(
        self, place: Floats, away: Floats, triangle: Ints, of: Ints, first: Ints
    ) -> tuple[Floats, Floats, Floats]:
        """How far triangles reached (r,) lie off planes, and how steeply: the most from each first.

        Within reach of a place (r, 4), that lies so far inside of each edge (3, r), and within the
        triangle: the closer of both counts.
        """
        plane, apart = self.planes[triangle] - self.planes[of], self.apart[of, triangle]
        off, gained = (plane * place[:, :3]).sum(axis=1), apart * place[:, 3]
        low = np.maximum(off - gained, self.lowest[of, triangle])
        high = np.minimum(off + gained, self.highest[of, triangle])
        for n in range(3):
            inward = self.inward[triangle, n]
            across = (plane[:, 1:] * inward).sum(axis=1)
            along = np.abs(plane[:, 1] * inward[:, 1] - plane[:, 2] * inward[:, 0])
            chord = along * np.sqrt(np.maximum(place[:, 3] ** 2 - away[n] ** 2, 0))
            on_edge, beyond = off - away[n] * across, -away[n] * apart
            # Where what is farthest off lies beyond the edge, the farthest lies on it.
            low = np.where(place[:, 3] * -across < beyond, np.maximum(low, on_edge - chord), low)
            high = np.where(place[:, 3] * across < beyond, np.minimum(high, on_edge + chord), high)
        return (
            np.minimum.reduceat(low, first),
            np.maximum.reduceat(high, first),
            np.maximum.reduceat(apart, first),
        )

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
