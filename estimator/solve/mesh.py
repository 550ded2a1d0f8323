"""Triangles between places: Delaunay cells, each fanned so that no direction is preferred."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

SLIVER_SHARE = 1e-9
ON_ONE_CIRCLE = 1e-7  # sine of the misfit of two opposite angles


def groups(size: int, pairs: Ints) -> tuple[int, Ints]:
    """Number of groups that pairs join, and the group of each of ``size`` members.

    Groups are numbered by their first member.
    """
    head = list(range(size))

    def top(member: int) -> int:
        while head[member] != member:
            head[member] = head[head[member]]
            member = head[member]
        return member

    for one, other in pairs.tolist():
        low, high = sorted((top(one), top(other)))
        head[high] = low
    heads, group = np.unique([top(member) for member in range(size)], return_inverse=True)
    return len(heads), group.astype(np.intp)


class NoSurfaceError(ValueError):
    """Places that span no triangle."""


def _delaunay(local: Floats) -> Any:
    from scipy.spatial import Delaunay, QhullError  # as slow to import as all else together

    try:
        return Delaunay(local)
    except QhullError as error:
        raise NoSurfaceError("these places span no triangle") from error


def neighbours(local: Floats) -> list[tuple[int, Ints]]:
    """Of each place its number, and those of the places that Delaunay triangles join it to."""
    starts, joined = _delaunay(local).vertex_neighbor_vertices
    return [(i, joined[starts[i] : starts[i + 1]].astype(np.intp)) for i in range(len(local))]


def least_squares_plane(local: Floats, height: Floats) -> Floats:
    """Plane ``c, gx, gy`` (..., 3) of least squares through places (n, 2) and heights (..., n)."""
    middle, base = local.mean(axis=0), height.mean(axis=-1)
    slope = np.linalg.lstsq(local - middle, (height - base[..., None]).T, rcond=None)[0]
    return np.stack([base - middle @ slope, slope[0], slope[1]], axis=-1)


def cells(local: Floats) -> list[Ints]:
    """Delaunay cells as counter-clockwise vertex loops; readings on one circle share a cell."""
    mesh = _delaunay(local)
    triangles = mesh.simplices.astype(np.intp)
    corner = local[triangles]
    e1, e2 = corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]
    double = e1[:, 0] * e2[:, 1] - e1[:, 1] * e2[:, 0]
    sides = np.linalg.norm(corner - np.roll(corner, -1, axis=1), axis=2)
    sound = np.abs(double) > SLIVER_SHARE * np.ptp(local, axis=0).max() * sides.max(axis=1)

    # Angle of each triangle at each corner, as cosine and sine without the common factor.
    ahead = np.roll(corner, -1, axis=1) - corner
    back = np.roll(corner, 1, axis=1) - corner
    size = np.linalg.norm(ahead, axis=2) * np.linalg.norm(back, axis=2)
    cosine = (ahead * back).sum(axis=2) / size
    sine = np.abs(double)[:, None] / size

    first, k = np.nonzero(mesh.neighbors >= 0)
    second = mesh.neighbors[first, k]
    back_k = np.argmax(mesh.neighbors[second] == first[:, None], axis=1)
    s1, s2 = sine[first, k], sine[second, back_k]
    misfit = s1 * cosine[second, back_k] + cosine[first, k] * s2
    joined = (np.abs(misfit) < ON_ONE_CIRCLE) & (s1 > 1e-6) & (s2 > 1e-6)
    joined &= sound[first] & sound[second]
    count, group = groups(len(triangles), np.stack([first[joined], second[joined]], axis=1))
    loops = []
    for g in range(count):
        members = np.flatnonzero((group == g) & sound)
        if len(members):
            loop = np.unique(triangles[members])
            arm = local[loop] - local[loop].mean(axis=0)
            loops.append(loop[np.argsort(np.arctan2(arm[:, 1], arm[:, 0]), kind="stable")])
    return loops


def triangulate(local: Floats, height: Floats) -> tuple[Floats, Floats, Ints]:
    """Vertices (v, 2), their heights (..., v) and triangles (t, 3); fans add a vertex each.

    Args:
        local: (n, 2) places.
        height: (..., n) their heights.

    Raises:
        NoSurfaceError: They lie in a line, or so nearly that all triangles are slivers.
    """
    extra_place: list[Floats] = []
    extra_height: list[Floats] = []
    triangles: list[Ints] = []
    for loop in cells(local):
        if len(loop) == 3:
            triangles.append(loop[None, :])
            continue
        hub = len(local) + len(extra_place)
        extra_place.append(local[loop].mean(axis=0))
        first = height[..., loop[:1]]
        extra_height.append(first[..., 0] + (height[..., loop] - first).mean(axis=-1))
        hubs = np.full(len(loop), hub, dtype=np.intp)
        triangles.append(np.stack([hubs, loop, np.roll(loop, -1)], axis=1))
    if not triangles:
        raise NoSurfaceError("these places span no triangle")
    if extra_place:
        local = np.vstack([local, np.array(extra_place)])
        height = np.concatenate([height, np.stack(extra_height, axis=-1)], axis=-1)
    return local, height, np.vstack(triangles)


def outline(triangles: Ints) -> Ints:
    """Loop of directed edges that no other triangle shares."""
    edges = {(int(a), int(b)) for t in triangles for a, b in zip(t, np.roll(t, -1), strict=True)}
    following = {a: b for a, b in edges if (b, a) not in edges}
    start = min(following)
    loop = [start]
    while (step := following[loop[-1]]) != start:
        loop.append(step)
    return np.array(loop, dtype=np.intp)
