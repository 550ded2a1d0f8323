"""What a height changes by where it goes over the rim of the readings, to the plane beyond or back.

The surface steps there by what differs between both. Lengths and heights in feet.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from estimator.solve.siting_edges import Edges
from estimator.solve.siting_moves import Moves
from estimator.solve.surface import Ground

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Ints = NDArray[np.intp]

IN_LINE, IN_LINE_FT = 1e-9, 1e-7
"""By how much directions of edges in one line differ at most, and how far they lie off it."""


@dataclass(frozen=True, slots=True, eq=False)
class Over:
    """Samples (p, n) that can go over the rim of the readings.

    Attributes:
        goes: Which can.
        height: Of the ground on the other side, reckoned on to where each lies.
        slope_x, slope_y: Of it.
        low, high: The least and the most that heights there are off besides.
        away: How far each lies outside of the readings; below 0 within them.
        side: Number of the side of the outside that is nearest.
        outward: (p, n, 2) direction out of the readings across it.
        one_side: Whether no other is within reach.
    """

    goes: Bools
    height: Floats
    slope_x: Floats
    slope_y: Floats
    low: Floats
    high: Floats
    away: Floats
    side: Ints
    outward: Floats
    one_side: Bools


@dataclass(frozen=True, slots=True, eq=False)
class Rim:
    """Edges (h,) of the outside of the readings, and its sides (s,), each of edges in one line.

    Attributes:
        edges: Of the triangles.
        outward: (s, 2) direction out of the readings across each side.
        ends_ft: How far along that it lies from the plan origin.
        whose: Triangle at each edge.
        begins, runs: (h, 2) where each begins, and what leads from there to its end.
    """

    edges: Edges
    outward: Floats
    ends_ft: Floats
    whose: Ints
    begins: Floats
    runs: Floats

    @classmethod
    def of(cls, ground: Ground, edges: Edges) -> Rim:
        """Outside of a ground."""
        ends = np.stack([ground.triangles, np.roll(ground.triangles, -1, axis=1)], axis=2)
        out = edges.over < 0
        place = ground.vertices_ft[ends[out]]
        outward, ends_ft = -edges.inward[out], -edges.begins_ft[out]
        in_line = np.abs(outward[:, None] - outward).max(axis=2) < IN_LINE
        in_line &= np.abs(ends_ft[:, None] - ends_ft) < IN_LINE_FT
        sides = np.unique(in_line.argmax(axis=1))
        return cls(
            edges=edges,
            outward=outward[sides],
            ends_ft=ends_ft[sides],
            whose=np.nonzero(out)[0],
            begins=place[:, 0],
            runs=place[:, 1] - place[:, 0],
        )

    def over(self, moves: Moves, *, out: bool) -> Over:
        """What heights are where samples go over the rim; with ``out``, out of the readings too."""
        x, y = moves.x, moves.y
        height, slope_x, slope_y, low, high = np.zeros((5, *x.shape))
        goes, one_side = np.zeros((2, *x.shape), dtype=np.bool_)
        side, away = np.zeros(x.shape, dtype=np.intp), np.full(x.shape, -np.inf)
        middle = x.mean(axis=1), y.mean(axis=1)
        arm = (np.hypot(moves.along, moves.across) + moves.reach).max(axis=1)
        some = np.flatnonzero(self._away_ft(*middle).max(axis=-1) > -arm)
        every, within = self._away_ft(x[some], y[some]), moves.triangle >= 0
        side[some], away[some] = every.argmax(axis=2), every.max(axis=2)
        near = every > -moves.reach[some][..., None]
        row, column, of = np.nonzero(near)
        gets = moves.at_most((some[row], column), *self.outward[of].T)
        near[row, column, of] = every[row, column, of] > -gets
        one_side[some] = near.sum(axis=2) == 1

        if out:
            goes[some] = near.any(axis=2) & within[some]
            s = np.nonzero(goes)
            plane = self.edges.planes[-1]
            height[s] = plane[0] + plane[1] * x[s] + plane[2] * y[s]
            slope_x[s], slope_y[s] = plane[1:]
        far = np.zeros(near.shape, dtype=np.bool_)
        far[row, column, of] = every[row, column, of] >= gets
        comes = away < moves.reach
        comes[some] &= ~far.any(axis=2)
        at = np.nonzero(comes & ~within)
        off, edge = self._nearest(x[at], y[at])
        touches = off < moves.reach[at]
        at, off, whose = (at[0][touches], at[1][touches]), off[touches], self.whose[edge[touches]]
        reach = moves.reach[at]
        # What lies within reach inside is no farther than this from where the rim is nearest.
        inside = np.sqrt(np.maximum(reach**2 - off**2, 0))
        whose, low[at], high[at] = self.edges.off_plane(x[at], y[at], reach, whose, inside)
        plane = self.edges.planes[whose].T
        goes[at] = True
        height[at] = plane[0] + plane[1] * x[at] + plane[2] * y[at]
        slope_x[at], slope_y[at] = plane[1:]
        outward = self.outward[side]
        return Over(goes, height, slope_x, slope_y, low, high, away, side, outward, one_side)

    def _away_ft(self, x: Floats, y: Floats) -> Floats:
        """How far places lie outside of each side (..., s); below 0 inside."""
        away = x[..., None] * self.outward[:, 0] + y[..., None] * self.outward[:, 1]
        return np.asarray(away - self.ends_ft, dtype=np.float64)

    def _nearest(self, x: Floats, y: Floats) -> tuple[Floats, Ints]:
        """How far places (m,) lie from the rim, and the number of the edge that is nearest."""
        (from_x, from_y), (run_x, run_y) = self.begins.T, self.runs.T
        dx, dy = x[:, None] - from_x, y[:, None] - from_y
        share = np.clip((dx * run_x + dy * run_y) / (run_x**2 + run_y**2), 0, 1)
        away = np.hypot(dx - share * run_x, dy - share * run_y)
        at = away.argmin(axis=1)
        return away[np.arange(len(x)), at], at
