"""Which readings shape the surface, and which merely lie on the one through the others."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from estimator.solve.mesh import Floats, NoSurfaceError, neighbours, triangulate

Bools = NDArray[np.bool_]

ON_FT = 1e-7
"""How near the surface through the others a reading must lie to be on it: far above rounding."""
FEWEST = 3
ON_SIDE = 1e-9
"""Barycentric: a place on the side of a triangle lies in it."""


def shaping(local: Floats, height: Floats) -> Bools:
    """Readings that shape the surface; the others lie on the one that these make (n,).

    A reading on the surface would turn sides of triangles about it, which pass through other
    readings and break there, so that a volume would change with a reading that tells nothing new.

    Args:
        local: (n, 2) places, from the middle of them.
        height: (n,) their heights.
    """
    around = neighbours(local)
    lies_on = np.array(
        [_lies_on(local[links], height[links], local[i], height[i]) for i, links in around]
    )
    while lies_on.any():
        kept = ~lies_on
        if kept.sum() < FEWEST:
            return np.ones(len(local), dtype=np.bool_)
        surface = _Surface(local[kept], height[kept])
        still = np.zeros(len(local), dtype=np.bool_)
        for i in np.flatnonzero(lies_on):
            still[i] = surface.passes(local[i], height[i])
        if (still == lies_on).all():
            return kept
        lies_on = still
    return ~lies_on


def _lies_on(local: Floats, height: Floats, place: Floats, reading_ft: float) -> bool:
    """Whether a reading lies on the surface through those about it.

    Left out of Delaunay triangles, it leaves a gap that the readings joined to it fill.
    """
    if len(local) < FEWEST:
        return False
    try:
        return _Surface(local, height).passes(place, reading_ft)
    except NoSurfaceError:
        return False


class _Surface:
    """Triangles through readings."""

    __slots__ = ("corner", "height")

    def __init__(self, local: Floats, height: Floats) -> None:
        vertices, heights, triangles = triangulate(local, height)
        self.corner, self.height = vertices[triangles], heights[triangles]

    def passes(self, place: Floats, reading_ft: float) -> bool:
        """Whether it passes through a reading."""
        a, b, c = self.corner[:, 0], self.corner[:, 1], self.corner[:, 2]
        u, v, w = b - a, c - a, place - a
        double = u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]
        one = (w[:, 0] * v[:, 1] - w[:, 1] * v[:, 0]) / double
        two = (u[:, 0] * w[:, 1] - u[:, 1] * w[:, 0]) / double
        within = np.flatnonzero((np.minimum(one, two) >= -ON_SIDE) & (one + two <= 1 + ON_SIDE))
        if not len(within):
            return False
        i = within[0]
        rise = self.height[i] - self.height[i, 0]
        there = self.height[i, 0] + one[i] * rise[1] + two[i] * rise[2]
        return bool(abs(there - reading_ft) <= ON_FT)
