"""Which readings shape the surface, and which merely lie on the one through the others."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from estimator.solve.mesh import Floats, Ints, NoSurfaceError, triangulate
from estimator.solve.stakes import lines_of_stakes

Bools = NDArray[np.bool_]

ON_FT = 1e-8
"""How near the surface through the others a reading must lie to be on it: far above rounding."""
ON_SIDE = 1e-9
"""Barycentric: a place on the side of a triangle lies in it."""
SLIVER_SHARE = 1e-9
"""Area, as a share of the square of its reach, below which three readings are a line."""
NEAR, NEAR_ON_CIRCLE = 30, 16
"""Nearest readings among which the corners of the triangle, and of the cell whose corners lie on
one circle, are looked for that a reading may lie on."""
OF_A_CELL = 10
"""Times the distance to the last of these within which the radius of such a circle lies."""
TRIANGLE = 3
ON_CIRCLE = 1e-7
"""Share of its radius by which a reading may lie off a circle and still be on it."""


@dataclass(frozen=True, slots=True, eq=False)
class _Faces:
    """Triangles, or cells, of other readings that one lies on, or lines between two.

    Attributes:
        corners: (m, k) of each, by number of the reading.
        middle: (m, 2) of the circle through them.
        radius: (m,) of it; none, 0, of the line between two, which is here as well.
    """

    corners: Ints
    middle: Floats
    radius: Floats

    def may_come_true(self, local: Floats, height: Floats, kept: Bools) -> Ints:
        """Corners (some, k) of those that a surface which leaves out no more may have.

        In the circle of a Delaunay cell lies no reading that shapes the surface; and all within
        its corners lie on it.
        """
        away = np.hypot(*(local[kept][:, None] - self.middle).transpose(2, 0, 1))
        corners = self.corners[~(away < self.radius * (1 - ON_CIRCLE)).any(axis=0)]
        if corners.shape[1] == TRIANGLE and len(corners):
            misses = _Triangles(local[corners], height[corners]).misses(local, height)
            corners = corners[~misses.any(axis=1)]
        return np.asarray(corners)


def shaping(local: Floats, height: Floats) -> Bools:
    """Readings that shape the surface; the others lie on the one that these make (n,).

    A reading on the surface would turn sides of triangles about it, which pass through other
    readings and break there, so that a volume would change with a reading that tells nothing new.

    If there are stakes on a grid, those stay whose two lines each have a reading that lies on no
    others, where the surface through these, or through these and what is on no face, passes
    through all; else all stakes stay: so cells of a grid keep their corners, on which stakes of a
    saddle or of rounded heights happen to lie.
    Of the rest are left out at first all that lie on a triangle through three others, or on the
    cell of others on one circle. Of those that the surface through the rest then misses, all come
    back for which no such face is left that may come true; where each waits for another to come
    back, the one that most wait for. So readings on the surface, however many, wait for the
    corners of their face, and don't take the place of those.

    Args:
        local: (n, 2) places, from the middle of them.
        height: (n,) their heights.
    """
    faces = [_faces(local, height, i) for i in range(len(local))]
    may_go = np.array([bool(about) for about in faces])
    along, across = lines_of_stakes(local)
    telling = (along >= 0) & _on_lines_of(along, ~may_go) & _on_lines_of(across, ~may_go)
    for out in (~telling, may_go & ~telling):
        if not _missed(local, height, out).any():
            return ~out
    out = may_go & (along < 0)
    while out.any():
        missed = _missed(local, height, out)
        if not missed.any():
            break
        out &= ~_coming_back(local, height, faces, out, missed)
    return ~out


def _on_lines_of(line: Ints, some: Bools) -> Bools:
    """Which readings (n,) stand on a line that has some of these; the lines are numbered."""
    return np.isin(line, line[some])


def _coming_back(
    local: Floats, height: Floats, faces: list[list[_Faces]], out: Bools, missed: Bools
) -> Bools:
    """Which of the missed readings shape the surface themselves."""
    waits = np.zeros((len(missed), len(missed)), dtype=np.bool_)
    for i in np.flatnonzero(missed):
        for some in faces[i]:
            corners = some.may_come_true(local, height, ~out)
            waits[i, corners[missed[corners]]] = True
    on_its_own = missed & ~waits.any(axis=1)
    if on_its_own.any():
        return on_its_own
    wanted = waits.sum(axis=0)
    return np.asarray(wanted == wanted.max())


def _faces(local: Floats, height: Floats, i: int) -> list[_Faces]:
    """What a reading lies on: triangles of other readings, and cells on one circle."""
    away = local - local[i]
    near = np.argsort(np.hypot(*away.T), kind="stable")[1 : NEAR + 1]
    corners = near[_triples(len(near))]
    x, y = away[corners].transpose(2, 0, 1)
    # Twice the areas of the triangles between the place and each side.
    shares = np.stack([x[:, k - 2] * y[:, k - 1] - x[:, k - 1] * y[:, k - 2] for k in range(3)])
    double = shares.sum(axis=0)
    wide = np.abs(double) > SLIVER_SHARE * (x * x + y * y).max(axis=1)
    corners, shares = corners[wide], shares[:, wide] / double[wide]
    within = (shares >= -ON_SIDE).all(axis=0)
    corners, shares = corners[within], shares[:, within].T
    middle, radius = _circles(local, corners)
    flat = np.abs((shares * (height[corners] - height[i])).sum(axis=1)) <= ON_FT
    needed = shares > ON_SIDE
    whole = flat & needed.all(axis=1)
    line = flat & (needed.sum(axis=1) == 2)
    pairs = np.unique(corners[line][needed[line]].reshape(-1, 2), axis=0)
    found = [
        _Faces(corners[whole], middle[whole], radius[whole]),
        _Faces(pairs, np.broadcast_to(local[i], pairs.shape), np.zeros(len(pairs))),
    ]
    close = np.isin(corners, near[:NEAR_ON_CIRCLE]).all(axis=1)
    close &= radius < OF_A_CELL * np.hypot(*away[near[:NEAR_ON_CIRCLE][-1]])
    found += _cells_under(local, height, i, middle[close], radius[close])
    return [some for some in found if len(some.corners)]


@lru_cache(maxsize=NEAR)
def _triples(count: int) -> Ints:
    return np.array(list(combinations(range(count), 3)), dtype=np.intp).reshape(-1, 3)


def _circles(local: Floats, corners: Ints) -> tuple[Floats, Floats]:
    """Middles (m, 2) and radii (m,) of the circles through corners (m, 3) of triangles."""
    a = local[corners[:, 0]]
    (bx, by), (cx, cy) = ((local[corners[:, k]] - a).T for k in (1, 2))
    double = 2 * (bx * cy - by * cx)
    b, c = bx * bx + by * by, cx * cx + cy * cy
    out = np.stack([cy * b - by * c, bx * c - cx * b], axis=1) / double[:, None]
    return a + out, np.hypot(*out.T)


def _cells_under(
    local: Floats, height: Floats, i: int, middle: Floats, radius: Floats
) -> list[_Faces]:
    """Cells of four or more readings on one of the circles (m,) whose fan a reading lies on."""
    off = np.abs(np.hypot(*(local[:, None] - middle).transpose(2, 0, 1)) - radius)
    on = off <= ON_CIRCLE * radius
    on[i] = False
    several = np.flatnonzero(on.sum(axis=0) > 3)
    _, first = np.unique(on[:, several], axis=1, return_index=True)
    found = []
    for k in several[first]:
        loop = np.flatnonzero(on[:, k])
        fan = _fan(local[loop], height[loop])
        if fan.holds(local[i : i + 1]).any() and not fan.misses(local, height).any():
            found.append(_Faces(loop[None], middle[k : k + 1], radius[k : k + 1]))
    return found


def _fan(local: Floats, height: Floats) -> _Triangles:
    """A cell's corners, in any order, fanned from their middle."""
    hub = local.mean(axis=0)
    order = np.argsort(np.arctan2(*(local - hub).T[::-1]))
    ahead = np.roll(order, -1)
    hubs = np.broadcast_to(hub, local.shape)
    mean = np.full(len(height), height[0] + (height - height[0]).mean())
    return _Triangles(
        np.stack([hubs, local[order], local[ahead]], axis=1),
        np.stack([mean, height[order], height[ahead]], axis=1),
    )


def _missed(local: Floats, height: Floats, out: Bools) -> Bools:
    """Which of the readings left out the surface through the others doesn't pass through."""
    if not out.any() or np.count_nonzero(~out) < TRIANGLE:
        return out
    try:
        vertices, heights, triangles = triangulate(local[~out], height[~out])
    except NoSurfaceError:
        return out
    surface = _Triangles(vertices[triangles], heights[triangles])
    return out & (surface.misses(local, height).any(axis=0) | ~surface.holds(local).any(axis=0))


class _Triangles:
    """Triangles (t,) in plan, and the heights of their corners.

    Args:
        corner: (t, 3, 2) places.
        height: (t, 3) heights.
    """

    __slots__ = ("_corner", "_double", "_height")

    def __init__(self, corner: Floats, height: Floats) -> None:
        self._corner, self._height = corner, height
        u, v = self._sides()
        self._double = u[..., 0] * v[..., 1] - u[..., 1] * v[..., 0]

    def _sides(self) -> tuple[Floats, Floats]:
        return self._corner[:, 1] - self._corner[:, 0], self._corner[:, 2] - self._corner[:, 0]

    def _shares(self, places: Floats) -> tuple[Floats, Floats]:
        """Of the second and third corner (t, m)."""
        u, v = (side[:, None] for side in self._sides())
        w = places - self._corner[:, :1]
        double = self._double[:, None]
        one = (w[..., 0] * v[..., 1] - w[..., 1] * v[..., 0]) / double
        two = (u[..., 0] * w[..., 1] - u[..., 1] * w[..., 0]) / double
        return one, two

    def holds(self, places: Floats) -> Bools:
        """Which of the places (m, 2) lie in plan in which triangle (t, m)."""
        return _within(*self._shares(places))

    def misses(self, places: Floats, readings: Floats) -> Bools:
        """Which triangle (t, m) holds a reading's place but doesn't pass through it."""
        one, two = self._shares(places)
        base = self._height[:, :1]
        rise = self._height[:, 1:] - base
        there = one * rise[:, :1] + two * rise[:, 1:]
        return np.asarray(_within(one, two) & (np.abs(there - (readings - base)) > ON_FT))


def _within(one: Floats, two: Floats) -> Bools:
    return np.asarray((np.minimum(one, two) >= -ON_SIDE) & (one + two <= 1 + ON_SIDE))
