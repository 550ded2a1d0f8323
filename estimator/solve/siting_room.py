"""How much room a footprint has to property lines, keep-out areas and the edge of the readings."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from estimator.solve.siting_places import Corner, Floats, Footprint, Yard, turned
from estimator.solve.surface import Ground

Bools = NDArray[np.bool_]


def _distance(places: Floats, footprint: Footprint, start: Corner, end: Corner) -> Floats:
    """Signed distance of footprints (p, 3: x, y, turn) from a segment; below 0 they overlap."""
    cos, sin = turned(places[:, 2])
    half = footprint.length_ft / 2, footprint.width_ft / 2
    ends = []
    for corner in (start, end):
        dx, dy = corner[0] - places[:, 0], corner[1] - places[:, 1]
        ends.append((cos * dx + sin * dy, cos * dy - sin * dx))
    (px, py), (qx, qy) = ends
    ex, ey = qx - px, qy - py
    length = np.hypot(ex, ey)
    nx, ny = -ey / length, ex / length
    apart = np.maximum(
        np.maximum(np.minimum(px, qx) - half[0], -half[0] - np.maximum(px, qx)),
        np.maximum(np.minimum(py, qy) - half[1], -half[1] - np.maximum(py, qy)),
    )
    across = np.abs(nx * px + ny * py) - half[0] * np.abs(nx) - half[1] * np.abs(ny)
    apart = np.maximum(apart, across)
    true = np.full(len(places), np.inf)
    for x, y in ends:
        outside = np.maximum(np.abs(x) - half[0], 0), np.maximum(np.abs(y) - half[1], 0)
        true = np.minimum(true, np.hypot(*outside))
    for cx in (-half[0], half[0]):
        for cy in (-half[1], half[1]):
            t = np.clip(((cx - px) * ex + (cy - py) * ey) / length**2, 0, 1)
            true = np.minimum(true, np.hypot(px + t * ex - cx, py + t * ey - cy))
    return np.asarray(np.where(apart > 0, true, apart), dtype=np.float64)


def _within(x: Floats, y: Floats, polygon: Sequence[Corner]) -> Bools:
    inside = np.zeros(x.shape, dtype=np.bool_)
    for (x1, y1), (x2, y2) in _sides(polygon):
        if y1 != y2:
            crosses = ((y1 > y) != (y2 > y)) & (x < (x2 - x1) * (y - y1) / (y2 - y1) + x1)
            inside ^= crosses
    return inside


def _sides(polygon: Sequence[Corner]) -> list[tuple[Corner, Corner]]:
    pairs = [(polygon[i], polygon[(i + 1) % len(polygon)]) for i in range(len(polygon))]
    return [(a, b) for a, b in pairs if a != b]


def clearances(ground: Ground, footprint: Footprint, yard: Yard, places: Floats) -> Floats:
    """How much room is left at places (p, 3: x, y, turn) for each kind of rule.

    Returns:
        (p, 3) distances in ft to spare from setbacks, keep-outs and the edge of the readings
        (infinite where guessed ground is allowed). A place is allowed if none is below zero.
    """
    room = np.full((len(places), 3), np.inf)
    x, y = places[:, 0], places[:, 1]
    boundary = yard.boundary
    for i, setback in enumerate(yard.side_setbacks_ft):
        a, b = boundary[i], boundary[(i + 1) % len(boundary)]
        if a != b:
            room[:, 0] = np.minimum(room[:, 0], _distance(places, footprint, a, b) - setback)
    room[~_within(x, y, boundary), 0] = -np.inf
    for polygon in yard.keep_outs:
        for a, b in _sides(polygon):
            spare = _distance(places, footprint, a, b) - yard.keep_out_clearance_ft
            room[:, 1] = np.minimum(room[:, 1], spare)
        room[_within(x, y, polygon), 1] = -np.inf
    if not yard.allow_guessed:
        cos, sin = turned(places[:, 2])
        outline = ground.vertices_ft[ground.hull] + ground.centre_ft
        for a, b in zip(outline, np.roll(outline, -1, axis=0), strict=True):
            nx, ny = np.array([a[1] - b[1], b[0] - a[0]]) / np.hypot(*(b - a))
            reach = footprint.length_ft / 2 * np.abs(cos * nx + sin * ny)
            reach += footprint.width_ft / 2 * np.abs(cos * ny - sin * nx)
            room[:, 2] = np.minimum(room[:, 2], (x - a[0]) * nx + (y - a[1]) * ny - reach)
    return room
