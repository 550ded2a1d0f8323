"""Stone in the slopes round an open pad, down to the ground as it really lies.

From the edge of the level top the stone falls by one in ``run``, straight out from the sides and
round the corners as a cone, until it first meets the stripped ground. Rays are followed outwards;
between the places where the foot of the slope changes triangle, volumes of the sides are
polynomials along the side, so that two rays a stretch are exact, and those of the corners smooth.
Lengths and heights in feet.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from estimator.solve.courses import Profile, profiles, side_lines
from estimator.solve.surface import Ground

Floats = NDArray[np.float64]

FARTHEST_FT = 60.0
"""No slope is followed farther out: ground that falls away as steeply has none."""
SIDE_RAYS, CORNER_RAYS = 2, 16
SAME = 1e-9


@dataclass(frozen=True, slots=True)
class Shoulders:
    """What lies outside of the level pad: ground covered, ft2, stone in place, ft3, and how far out
    the slopes reach, ft; (...) of several surfaces."""

    area_ft2: float | Floats
    stone_ft3: float | Floats
    reach_ft: float | Floats


@dataclass(frozen=True, slots=True, eq=False)
class _Mesh:
    """Edges of the surface (e, 2, 2) from the pad's corner, on a side's axes, and their heights.

    Edges of the outline stand there twice, with the fitted plane's heights too.
    """

    ends: Floats
    heights: Floats


@dataclass(frozen=True, slots=True, eq=False)
class _Slopes:
    """Where rays start (n, 2) and go (n, 2), their weights (n,), and which are of corners (n,)."""

    starts: Floats
    outs: Floats
    weight: Floats
    cone: NDArray[np.bool_]


@lru_cache(maxsize=64)
def _shoulders(
    ground: Ground, corners: tuple[tuple[float, float], ...], level_ft: float, run: float
) -> Shoulders:
    place = np.array(corners)
    found = _along_rays(_slopes(ground, place, level_ft, run), ground, place, level_ft, run)
    return Shoulders(float(found.area_ft2), float(found.stone_ft3), float(found.reach_ft))


def _slopes(ground: Ground, place: Floats, level_ft: float, run: float) -> _Slopes:
    """Rays between the places where the foot of the slope changes triangle."""
    starts, outs, weights, cones = [], [], [], []
    for i, beside in enumerate(profiles(ground, side_lines(place))):
        a, along = place[i], place[(i + 1) % 4] - place[i]
        length = float(np.hypot(*along))
        axes = np.array([along / length, [along[1] / length, -along[0] / length]])
        mesh = _mesh(ground, a, axes)
        breaks = _side_breaks(mesh, beside, level_ft, run)
        s, weight = _nodes(breaks, 0.0, length, SIDE_RAYS)
        starts.append(a + s[:, None] * axes[0])
        outs.append(np.tile(axes[1], (len(s), 1)))
        # The corner where this side begins, from the side before round to this one.
        turn, wide = _nodes(_corner_breaks(mesh, level_ft, run), np.pi / 2, np.pi, CORNER_RAYS)
        starts.append(np.tile(a, (len(turn), 1)))
        outs.append(np.column_stack([np.cos(turn), np.sin(turn)]) @ axes)
        weights += [weight, wide]
        cones += [np.zeros(len(s), dtype=np.bool_), np.ones(len(turn), dtype=np.bool_)]
    return _Slopes(*map(np.concatenate, (starts, outs, weights, cones)))


def _along_rays(
    slopes: _Slopes, ground: Ground, place: Floats, level_ft: float | Floats, run: float
) -> Shoulders:
    reach = _farthest_ft(ground, place, float(np.max(level_ft)), run)
    foot, section, moment = _rays(ground, slopes.starts, slopes.outs, reach, level_ft, run)
    area = np.where(slopes.cone, foot**2 / 2, foot) @ slopes.weight
    stone = np.where(slopes.cone, moment, section) @ slopes.weight
    farthest = np.maximum(foot[..., slopes.cone].max(axis=-1), _at_ends(foot[..., ~slopes.cone]))
    return Shoulders(area, stone, farthest)


def _at_ends(foot: Floats) -> Floats:
    """Farthest foot at ends of stretches of a side, along which it runs straight (..., 2 each)."""
    first, second = foot[..., ::SIDE_RAYS], foot[..., 1::SIDE_RAYS]
    apart = np.abs(second - first) / 2 / _on_a_stretch(SIDE_RAYS)[0][-1]
    return np.asarray(((first + second) / 2 + apart).max(axis=-1))


def slopes_stone(
    grounds: Ground,
    corners: Floats,
    top_ft: Floats,
    strip_ft: float,
    run: float,
) -> Shoulders:
    """As :func:`slope_stone` of several surfaces of about one shape: by the rays of the first.

    Args:
        grounds: The surfaces.
        corners, strip_ft, run: As :func:`slope_stone` has them.
        top_ft: (s,) height of the top on each.
    """
    if run <= 0:
        return Shoulders(*np.zeros((3, len(top_ft))))
    slopes = _slopes(grounds.taken(0), corners, float(top_ft[0]) + strip_ft, run)
    return _along_rays(slopes, grounds, corners, top_ft + strip_ft, run)


def slope_stone(
    ground: Ground, corners: Floats, top_ft: float, strip_ft: float, run: float
) -> Shoulders:
    """Ground under the slopes of an open pad, and the stone in them.

    Args:
        ground: The original surface.
        corners: (4, 2) corners of the level top, anticlockwise.
        top_ft: Height of the top.
        strip_ft: Sod and topsoil taken off before.
        run: How far the slope runs out for each foot that it falls.
    """
    if run <= 0:
        return Shoulders(0.0, 0.0, 0.0)
    where = tuple((float(x), float(y)) for x, y in corners)
    # The level is lifted by the strip instead of lowering the ground.
    return _shoulders(ground, where, top_ft + strip_ft, run)


def _farthest_ft(ground: Ground, corners: Floats, level_ft: float, run: float) -> float:
    """A distance beyond which no slope can reach: it would lie below the lowest ground about."""
    low, high = corners.min(axis=0) - FARTHEST_FT, corners.max(axis=0) + FARTHEST_FT
    around = np.array([low, (high[0], low[1]), high, (low[0], high[1])])
    lowest = min(float(ground.vertex_heights_ft.min()), float(ground.at(around)[0].min()))
    return float(min(max(run * (level_ft - lowest), 0) + SAME, FARTHEST_FT))


def _mesh(ground: Ground, corner: Floats, axes: Floats) -> _Mesh:
    pairs = np.concatenate([ground.triangles[:, [i, j]] for i, j in ((0, 1), (1, 2), (2, 0))])
    rim = np.column_stack([ground.hull, np.roll(ground.hull, -1)])
    plane = ground.plane[0] + ground.vertices_ft @ ground.plane[1:]
    local = (ground.vertices_ft + ground.centre_ft - corner) @ axes.T
    return _Mesh(
        np.concatenate([local[pairs], local[rim]]),
        np.concatenate([ground.vertex_heights_ft[pairs], plane[rim]]),
    )


def _side_breaks(mesh: _Mesh, beside: Profile, level_ft: float, run: float) -> Floats:
    """Places along a side where its section may change its form."""
    spare = level_ft - mesh.heights - mesh.ends[..., 1] / run
    crosses = spare[:, 0] * spare[:, 1] < 0
    share = spare[crosses, 0] / (spare[crosses, 0] - spare[crosses, 1])
    s = mesh.ends[crosses, :, 0]
    start, end = level_ft - beside.start_z_ft, level_ft - beside.end_z_ft
    meets = start * end < 0
    first = beside.start_ft[meets] + (beside.end_ft - beside.start_ft)[meets] * (
        start[meets] / (start - end)[meets]
    )
    outside = mesh.ends[..., 1].ravel() > 0
    return np.concatenate(
        [
            mesh.ends[..., 0].ravel()[outside],
            s[:, 0] + share * (s[:, 1] - s[:, 0]),
            beside.end_ft,
            first,
        ]
    )


def _corner_breaks(mesh: _Mesh, level_ft: float, run: float) -> Floats:
    """Turns about a corner at which its section may change its form."""
    p, e = mesh.ends[:, 0], mesh.ends[:, 1] - mesh.ends[:, 0]
    spare, drop = (
        run * (level_ft - mesh.heights[:, 0]),
        run * (mesh.heights[:, 1] - mesh.heights[:, 0]),
    )
    # The cone's radius at the height of the edge is its distance: a quadratic along the edge.
    a = (e * e).sum(axis=1) - drop**2
    b = (p * e).sum(axis=1) + spare * drop
    c = (p * p).sum(axis=1) - spare**2
    root = np.sqrt(np.maximum(b * b - a * c, 0))
    a = np.where(np.abs(a) < 1e-12, 1e-12, a)
    turns = [np.arctan2(mesh.ends[..., 1], mesh.ends[..., 0]).ravel()]
    for share in ((-b - root) / a, (-b + root) / a):
        on = (share > 0) & (share < 1) & (b * b >= a * c)
        x, y = (p[on] + share[on, None] * e[on]).T
        turns.append(np.arctan2(y, x))
    return np.concatenate(turns)


_on_a_stretch = lru_cache(np.polynomial.legendre.leggauss)
"""Gauss-Legendre places from -1 to 1, and weights, of so many rays."""


def _nodes(breaks: Floats, low: float, high: float, rays: int) -> tuple[Floats, Floats]:
    """Gauss-Legendre places and weights on each stretch between breaks."""
    inside = np.sort(breaks[(breaks > low + SAME) & (breaks < high - SAME)])
    ends = np.concatenate([[low], inside, [high]])
    ends = ends[np.concatenate([[True], np.diff(ends) > SAME])]
    node, weight = _on_a_stretch(rays)
    half, middle = np.diff(ends) / 2, (ends[1:] + ends[:-1]) / 2
    return (middle[:, None] + half[:, None] * node).ravel(), np.outer(half, weight).ravel()


def _rays(
    ground: Ground,
    starts: Floats,
    outs: Floats,
    reach_ft: float,
    level_ft: float | Floats,
    run: float,
) -> tuple[Floats, Floats, Floats]:
    """Along rays (n, 2): foot of the slope, ft; section, ft2; its moment about the start, ft3."""
    edges = np.concatenate([ground.triangles[:, [i, j]] for i, j in ((0, 1), (1, 2), (2, 0))])
    p = ground.vertices_ft[edges[:, 0]] + ground.centre_ft
    edge = ground.vertices_ft[edges[:, 1]] - ground.vertices_ft[edges[:, 0]]
    cross = outs[:, :1] * edge[:, 1] - outs[:, 1:] * edge[:, 0]
    safe = np.where(cross == 0, 1.0, cross)
    dx, dy = p[:, 0] - starts[:, :1], p[:, 1] - starts[:, 1:]
    r = (dx * edge[:, 1] - dy * edge[:, 0]) / safe
    share = (dx * outs[:, 1:] - dy * outs[:, :1]) / safe
    hit = (cross != 0) & (r > 0) & (r < reach_ft) & (share >= -SAME) & (share <= 1 + SAME)
    most = int(hit.sum(axis=1).max(initial=0))
    inner = np.sort(np.where(hit, r, reach_ft), axis=1)[:, :most]
    ends = np.column_stack([np.zeros(len(r)), inner, np.full(len(r), reach_ft)])
    r0, r1 = ends[:, :-1], ends[:, 1:]
    # Slivers between edges that meet in a point are no stretch and end none.
    whole = r1 - r0 > SAME
    ray = np.nonzero(whole)[0]
    r0, r1, start, out = r0[whole], r1[whole], starts[ray], outs[ray]
    triangle = ground.locate(start + ((r0 + r1) / 2)[:, None] * out)
    c, gx, gy = ground.each_plane(triangle)
    x, y = (start - ground.centre_ft).T
    at = c + (gx * x + gy * y)
    slope = gx * out[:, 0] + gy * out[:, 1] + 1 / run
    level = np.asarray(level_ft)[..., None]
    h0, h1 = level - at - slope * r0, level - at - slope * r1
    ended = (h0 <= 0) | (h1 <= 0)
    earlier = np.cumsum(ended, axis=-1) - ended
    first = np.searchsorted(ray, ray)
    there = (earlier == earlier[..., first]) & (h0 > 0)
    falls = there & (h1 < 0)
    last = np.where(falls, r0 + (r1 - r0) * h0 / np.where(falls, h0 - h1, 1), r1)
    h1 = np.where(falls, 0, h1)
    length = np.where(there, last - r0, 0)

    def along(each: Floats) -> Floats:
        """What stretches have, (..., stretches), ray by ray."""
        found = np.zeros((*each.shape[:-1], *whole.shape))
        found[..., whole] = each
        return found

    foot = along(np.where(there, last, 0)).max(axis=-1)
    section = along(length * (h0 + h1) / 2).sum(axis=-1)
    moment = along(length * (h0 * (2 * r0 + last) + h1 * (r0 + 2 * last)) / 6).sum(axis=-1)
    return foot, section, moment
