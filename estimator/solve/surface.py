"""The ground as a surface: triangles between the readings, the plane fitted to it beyond them.

Inside the readings the surface is linear on Delaunay triangles and passes through every reading.
Where four or more neighbouring readings lie on one circle (every cell of a square grid), Delaunay
leaves the diagonal open; such a cell is fanned from its middle, whose height is the mean of its
corners. No direction and no order of typing is preferred, a plane stays a plane, and the volume
of a grid cell is then its area times the mean of its corners, as the surveyors' grid method says.
A reading that lies on the surface through the others shapes none of the triangles, so that it
changes no volume; stakes on a grid shape it all, unless those on some of their lines make the
same. One that lies off that surface, if only by what its height is rounded to, shapes it: sides of
triangles turn to it, and the ground between its neighbours may move by more than it lies off.

All lengths and heights are in feet. Heights rise upwards.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from estimator.errors import SurveyError, in_a_row
from estimator.solve.closing import close_pairs
from estimator.solve.mesh import (
    Floats,
    Ints,
    groups,
    outline,
    triangulate,
)
from estimator.solve.shaping import shaping

Bools = NDArray[np.bool_]

AT_ODDS_FT = 0.25
"""Heights at one place that lie farther apart are no closing error: common practice, no source."""
LINE_SHARE = 0.005  # a survey narrower than this share of its length is a line
EDGE_SLACK = 1e-9  # barycentric: a point on the hull counts as measured
CHUNK = 200_000
FEW = 4_000
"""So many pairs of a place and a triangle are looked through, and no tiles."""
TILES_A_TRIANGLE = 100
RING = 2
"""Tiles round those of the triangles: the first are looked at as those beside them."""
_SEVERAL = -2  # of a tile that no one triangle covers
_MARGIN = 1e-6  # barycentric: far more than what rounding moves, and than EDGE_SLACK


@dataclass(frozen=True, slots=True, eq=False)
class _Tiles:
    """What lies on each tile of the plan, and on a ring of tiles round all triangles.

    Attributes:
        low_ft, step_ft: (2,) where the first tile within the ring begins, and size of one.
        side: How many there are each way, with the ring.
        covered_by: (side * side,) the triangle, where it is the only one and covers the tile: a
            place there needs no look at its sides; -1 where there is none.
        reached_by: (k, side * side) triangles in their order, up to the first that covers the
            tile, and -1 after them.
    """

    low_ft: Floats
    step_ft: Floats
    side: int
    covered_by: Ints
    reached_by: Ints

    def at(self, x: Floats, y: Floats) -> Ints:
        """The tile of each place; beyond the ring one that no triangle reaches."""
        i, j = (
            np.clip(np.floor((each - low) / step), -RING, self.side - RING - 1).astype(np.intp)
            for each, low, step in zip((x, y), self.low_ft, self.step_ft, strict=True)
        )
        return np.asarray((i + RING) * self.side + (j + RING), dtype=np.intp)


@dataclass(frozen=True, slots=True, eq=False)
class Ground:
    """A fitted ground surface, made by :func:`fit_ground`; or several by :func:`fit_grounds`.

    Several lie over the same places, and their heights, coefficients and planes have a leading
    axis: what asks for heights or volumes is then answered with one, too.

    Attributes:
        labels: One name for each distinct reading ("Survey row 7").
        centre_ft: (2,) the mean place of the readings; the plan origin of the fields below.
        points_ft: (n, 2) places of the readings, from the centre.
        heights_ft: (..., n) heights of the readings.
        shapes: (n,) which readings shape the surface; the others lie on the one these make.
        vertices_ft: (v, 2) corners of triangles, from the centre: the readings that shape the
            surface, then cell middles.
        vertex_heights_ft: (..., v) their heights.
        triangles: (t, 3) vertex numbers, counter-clockwise.
        coefficients: (..., t, 3) ``c, gx, gy``: height = c + gx*x + gy*y on the triangle, x and
            y from the centre.
        plane: (..., 3) the same for the plane of least squares through the surface, by area.
        hull: (h,) vertex numbers round the outside, counter-clockwise.
        boxes_ft: (2, t, 2) least and most x and y of each triangle, from the centre.
    """

    labels: tuple[str, ...]
    centre_ft: Floats
    points_ft: Floats
    heights_ft: Floats
    shapes: Bools
    vertices_ft: Floats
    vertex_heights_ft: Floats
    triangles: Ints
    coefficients: Floats
    plane: Floats
    hull: Ints
    boxes_ft: Floats
    _planes: Floats = field(repr=False)
    _sides: Floats = field(repr=False)
    _tiles: _Tiles = field(repr=False)

    def locate(self, xy: ArrayLike) -> Ints:
        """Triangle number at each place (m, 2), or -1 outside the readings."""
        return self._at(*self._local(xy))

    def _local(self, xy: ArrayLike) -> tuple[Floats, Floats]:
        """Places (m, 2) from the centre, x and y apart."""
        places = np.asarray(xy, dtype=np.float64).reshape(-1, 2)
        return places[:, 0] - self.centre_ft[0], places[:, 1] - self.centre_ft[1]

    def _at(self, x: Floats, y: Floats) -> Ints:
        if len(x) * len(self.triangles) <= FEW:
            inside = self._holds(np.arange(len(self.triangles)), x[:, None], y[:, None])
            found = inside.argmax(axis=1)
            return np.where(inside[np.arange(len(x)), found], found, -1)
        found = np.empty(len(x), dtype=np.intp)
        for start in range(0, len(x), CHUNK):
            some = slice(start, start + CHUNK)
            found[some] = self._looked_up(x[some], y[some])
        return found

    def _looked_up(self, x: Floats, y: Floats) -> Ints:
        tile = self._tiles.at(x, y)
        found = self._tiles.covered_by.take(tile)
        open_ = np.flatnonzero(found == _SEVERAL)
        found[open_] = -1
        tile, x, y = tile[open_], x[open_], y[open_]
        for candidates in self._tiles.reached_by:
            triangle = candidates.take(tile)
            inside = self._holds(triangle, x, y)
            found[open_[inside]] = triangle[inside]
            more = np.flatnonzero(~inside & (triangle >= 0))
            if not len(more):
                break
            open_, tile, x, y = open_[more], tile[more], x[more], y[more]
        return found

    def _holds(self, triangle: Ints, x: Floats, y: Floats) -> Bools:
        """Whether each triangle holds its place, or one on its edge."""
        first_x, first_y, b_x, b_y, c_x, c_y = (each.take(triangle) for each in self._sides)
        x, y = x - first_x, y - first_y
        b, c = b_x * x + b_y * y, c_x * x + c_y * y
        inside = (b >= -EDGE_SLACK) & (c >= -EDGE_SLACK) & (b + c <= 1 + EDGE_SLACK)
        return np.asarray(inside)

    def at(self, xy: ArrayLike) -> tuple[Floats, Bools]:
        """Heights at places, and which of them are guessed.

        Args:
            xy: (m, 2) plan places.

        Returns:
            Heights (..., m) and a mask (m,), true where the place lies outside the readings and
            its height comes from the fitted plane.
        """
        x, y = self._local(xy)
        triangle = self._at(x, y)
        c, gx, gy = self.each_plane(triangle)
        return c + gx * x + gy * y, triangle < 0

    def planes(self, triangle: Ints) -> Floats:
        """Coefficients (..., m, 3) by number of the triangle (m,), those of the plane for -1."""
        return np.asarray(self._planes[..., triangle, :])

    def each_plane(self, triangle: Ints) -> tuple[Floats, Floats, Floats]:
        """The same as an array (..., m) for each of ``c, gx, gy``."""
        c, gx, gy = (np.take(self._planes[..., k], triangle, axis=-1) for k in range(3))
        return c, gx, gy

    def taken(self, which: int | list[int]) -> Ground:
        """One of several surfaces, by its number, or some of them."""
        moving = ("heights_ft", "vertex_heights_ft", "coefficients", "plane", "_planes")
        return replace(self, **{name: getattr(self, name)[which] for name in moving})


def fit_ground(points: ArrayLike, heights: ArrayLike, labels: Sequence[str]) -> Ground:
    """Fit the ground surface to readings.

    Args:
        points: (n, 2) plan places, ft.
        heights: (n,) heights, ft.
        labels: n names to use in messages.

    Raises:
        SurveyError: Fewer than three places, all in one line, heights far apart at one place, or
            a value that is not a number.

    Of readings at one place (within 1/8 in) the mean is taken, if they lie no farther apart than a
    closing error may be.
    """
    place = np.asarray(points, dtype=np.float64).reshape(-1, 2)
    height = np.asarray(heights, dtype=np.float64).reshape(-1)
    names = tuple(labels)
    if not len(place) == len(height) == len(names):
        raise ValueError("points, heights and labels must have one length")
    bad = ~(np.isfinite(place).all(axis=1) & np.isfinite(height))
    if bad.any():
        raise SurveyError(
            "a place or height is not a number",
            where=_listed([n for n, b in zip(names, bad, strict=True) if b]),
            cure="Type plain lengths in all three columns, or clear the row.",
        )
    if len(place) < 3:
        raise SurveyError(
            f"{_count(len(place))}, but a surface needs at least three",
            where=_listed(names),
            cure="Read more points, best at the corners of the building and in its middle.",
        )
    place, height, names = _merge_duplicates(place, height, names)
    _refuse_line(place, names)
    centre = place.mean(axis=0)
    local = place - centre
    return _build(local, height, names, centre, shaping(local, height))


def fit_grounds(points: ArrayLike, heights: ArrayLike) -> Ground:
    """Fit a surface to each of several sets of heights that were read at the same places.

    Which readings shape the surfaces is told by the first: heights that differ by chance leave
    out none, and heights that are all moved alike leave out the same.

    Args:
        points: (n, 2) plan places, ft, to which :func:`fit_ground` gives a surface.
        heights: (s, n) heights, ft, at them.
    """
    place = np.asarray(points, dtype=np.float64).reshape(-1, 2)
    height = np.asarray(heights, dtype=np.float64)
    _, group = groups(len(place), close_pairs(place - place.mean(axis=0)))
    shares = (group == np.arange(group.max() + 1)[:, None]) / np.bincount(group)[:, None]
    place, height = shares @ place, height @ shares.T
    centre = place.mean(axis=0)
    local = place - centre
    names = tuple("" for _ in local)
    return _build(local, height, names, centre, shaping(local, height[0]))


def _count(n: int) -> str:
    return {0: "there are no readings", 1: "there is only one reading"}.get(
        n, f"there are only {n} readings"
    )


def _listed(names: Sequence[str]) -> str:
    if len(names) > 4:
        return f"{names[0]} to {names[-1]} ({len(names)} readings)"
    return in_a_row(names)


def _merge_duplicates(
    place: Floats, height: Floats, names: tuple[str, ...]
) -> tuple[Floats, Floats, tuple[str, ...]]:
    pairs = close_pairs(place - place.mean(axis=0))
    if not len(pairs):
        return place, height, names
    count, group = groups(len(place), pairs)
    firsts = []
    for g in range(count):
        members = np.flatnonzero(group == g)
        if np.ptp(height[members]) > AT_ODDS_FT:
            shown = ", ".join(f"{{{height[m]:.2f} ft}}" for m in members)
            raise SurveyError(
                f"readings at the same place give different heights ({shown})",
                where=_listed([names[m] for m in members]),
                cure="Read that place again and keep one row.",
            )
        firsts.append(int(members[0]))
    size = np.bincount(group)
    place = np.stack([np.bincount(group, place[:, k]) / size for k in (0, 1)], axis=1)
    height = np.bincount(group, height - height[0]) / size + height[0]
    order = np.argsort(firsts, kind="stable")
    return place[order], height[order], tuple(names[firsts[g]] for g in order)


def _refuse_line(place: Floats, names: tuple[str, ...]) -> None:
    cure = "Read at least one more place well to the side."
    if len(place) < 3:
        raise SurveyError(
            f"the readings stand at only {len(place)} different place{'s'[: len(place) - 1]}",
            where=_listed(names),
            cure="Read at least three places that do not lie in one line.",
        )
    local = place - place.mean(axis=0)
    axes = np.linalg.svd(local, full_matrices=False)[2]
    length, width = np.ptp(local @ axes.T, axis=0)
    if width <= LINE_SHARE * length:
        raise SurveyError("all readings lie in one line", where=_listed(names), cure=cure)


def _build(
    local: Floats, height: Floats, names: tuple[str, ...], centre: Floats, shapes: Bools
) -> Ground:
    vertices, vertex_heights, triangles = triangulate(local[shapes], height[..., shapes])
    corner = vertices[triangles]
    edge1, edge2 = corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]
    double = edge1[:, 0] * edge2[:, 1] - edge1[:, 1] * edge2[:, 0]
    rise = vertex_heights[..., triangles] - vertex_heights[..., triangles[:, :1]]
    gx = (rise[..., 1] * edge2[:, 1] - rise[..., 2] * edge1[:, 1]) / double
    gy = (rise[..., 2] * edge1[:, 0] - rise[..., 1] * edge2[:, 0]) / double
    c = vertex_heights[..., triangles[:, 0]] - gx * corner[:, 0, 0] - gy * corner[:, 0, 1]
    inverse = np.stack([edge2[:, 1], -edge2[:, 0], -edge1[:, 1], edge1[:, 0]], axis=1)
    inverse /= double[:, None]
    coefficients = np.stack([c, gx, gy], axis=-1)
    plane = _plane_over(corner, vertex_heights[..., triangles], double)
    return Ground(
        labels=names,
        centre_ft=centre,
        points_ft=local,
        heights_ft=height,
        shapes=shapes,
        vertices_ft=vertices,
        vertex_heights_ft=vertex_heights,
        triangles=triangles,
        coefficients=coefficients,
        plane=plane,
        hull=outline(triangles),
        boxes_ft=np.stack([corner.min(axis=1), corner.max(axis=1)]),
        _planes=np.concatenate([coefficients, plane[..., None, :]], axis=-2),
        _sides=np.vstack([corner[:, 0].T, inverse.T]),
        _tiles=_tiled(corner, inverse),
    )


def _plane_over(corner: Floats, height: Floats, double: Floats) -> Floats:
    """Plane ``c, gx, gy`` (..., 3) of least squares through a surface, by area.

    Every part of the surface counts alike, however many readings shape it. The products of two
    linear functions over a triangle are those of its corners and of their sums, over 12.

    Args:
        corner: (t, 3, 2) places of corners, about the middle of the readings.
        height: (..., t, 3) heights there.
        double: (t,) twice the areas.
    """
    terms = np.concatenate([np.ones((*corner.shape[:2], 1)), corner], axis=2)
    share, base = np.abs(double), height[..., :1, :1]
    rise = height - base
    sums = terms.sum(axis=1)
    square = np.einsum("t,tki,tkj->ij", share, terms, terms)
    square += np.einsum("t,ti,tj->ij", share, sums, sums)
    right = np.einsum("t,...tk,tki->...i", share, rise, terms)
    right += np.einsum("t,...t,ti->...i", share, rise.sum(axis=-1), sums)
    plane = np.linalg.solve(square, right[..., None])[..., 0]
    plane[..., 0] += base[..., 0, 0]
    return np.asarray(plane)


def _tiled(corner: Floats, inverse: Floats) -> _Tiles:
    low, high = corner.min(axis=(0, 1)), corner.max(axis=(0, 1))
    side = int(np.ceil(np.sqrt(TILES_A_TRIANGLE * len(corner))))
    step = (high - low) / side
    slack = 1e-6 * step
    first = np.floor((corner.min(axis=1) - low - slack) / step).astype(np.intp).clip(0, side - 1)
    last = np.floor((corner.max(axis=1) - low + slack) / step).astype(np.intp).clip(0, side - 1)
    covered = np.zeros((side, side), dtype=np.bool_)
    tiles: list[Ints] = []
    for t in range(len(corner)):
        i, j = (np.arange(first[t, k], last[t, k] + 1) for k in (0, 1))
        x, y = (
            low[k] + np.stack([each * step[k] - slack[k], (each + 1) * step[k] + slack[k]])
            for k, each in ((0, i), (1, j))
        )
        x, y = x - corner[t, 0, 0], y - corner[t, 0, 1]
        # By (corner in x, corner in y, i, j) of each tile.
        b, c = (
            u * x[:, None, :, None] + v * y[None, :, None, :]
            for u, v in (inverse[t, :2], inverse[t, 2:])
        )
        shares = np.stack([b, c, 1 - b - c])
        reached = (shares.max(axis=(1, 2)) >= -_MARGIN).all(axis=0)
        whole = (shares.min(axis=(1, 2)) >= _MARGIN).all(axis=0)
        block = np.ix_(i, j)
        rows, columns = np.nonzero(reached & ~covered[block])
        tiles.append((rows + i[0]) * side + columns + j[0])
        covered[block] |= whole
    tile, triangle = np.concatenate(tiles), np.repeat(np.arange(len(corner)), [*map(len, tiles)])
    order = np.argsort(tile, kind="stable")
    tile, triangle = tile[order], triangle[order]
    count = np.bincount(tile, minlength=side * side)
    table = np.full((side * side, count.max()), -1, dtype=np.intp)
    table[tile, np.arange(len(tile)) - np.repeat(np.cumsum(count) - count, count)] = triangle
    covers = np.where(count == 0, -1, _SEVERAL)
    alone = covered.ravel() & (count == 1)
    covers[alone] = table[alone, 0]
    # A place on the outline may lie beyond it by what rounding moves; farther out there is none.
    ringed = [
        np.pad(np.pad(each.reshape(side, side), 1, mode="edge"), RING - 1, constant_values=-1)
        for each in (covers, *table.T)
    ]
    covered_by, *reached_by = (each.ravel() for each in ringed)
    return _Tiles(low, step, side + 2 * RING, covered_by, np.stack(reached_by))
