"""How much room a footprint has to property lines, keep-out areas and the edge of the readings."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from estimator.solve.siting_places import Corner, Floats, Footprint, Yard, turned
from estimator.solve.surface import Ground

Bools = NDArray[np.bool_]
ON_LINE_FT = 1e-9


def _distances(places: Floats, footprint: Footprint, starts: Floats, ends: Floats) -> Floats:
    """Signed distances (p, s) of footprints (p, 3: x, y, turn) from segments; below 0 they overlap.

    Args:
        starts, ends: (s, 2) ends of the segments.
    """
    cos, sin = (each[:, None] for each in turned(places[:, 2]))
    half = footprint.length_ft / 2, footprint.width_ft / 2
    local = []
    for corner in (starts, ends):
        dx, dy = corner[:, 0] - places[:, :1], corner[:, 1] - places[:, 1:2]
        local.append((cos * dx + sin * dy, cos * dy - sin * dx))
    (px, py), (qx, qy) = local
    ex, ey = qx - px, qy - py
    length = np.hypot(*(ends - starts).T)
    nx, ny = -ey / length, ex / length
    apart = np.maximum(
        np.maximum(np.minimum(px, qx) - half[0], -half[0] - np.maximum(px, qx)),
        np.maximum(np.minimum(py, qy) - half[1], -half[1] - np.maximum(py, qy)),
    )
    across = np.abs(nx * px + ny * py) - half[0] * np.abs(nx) - half[1] * np.abs(ny)
    apart = np.maximum(apart, across)
    square = np.full(apart.shape, np.inf)
    for x, y in local:
        outside = np.maximum(np.abs(x) - half[0], 0), np.maximum(np.abs(y) - half[1], 0)
        square = np.minimum(square, outside[0] ** 2 + outside[1] ** 2)
    for cx in (-half[0], half[0]):
        for cy in (-half[1], half[1]):
            t = np.clip(((cx - px) * ex + (cy - py) * ey) / length**2, 0, 1)
            square = np.minimum(square, (px + t * ex - cx) ** 2 + (py + t * ey - cy) ** 2)
    return np.asarray(np.where(apart > 0, np.sqrt(square), apart), dtype=np.float64)


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
    lines = [
        (0, a, b, setback)
        for a, b, setback in zip(
            yard.boundary,
            (*yard.boundary[1:], yard.boundary[0]),
            yard.side_setbacks_ft,
            strict=True,
        )
        if a != b
    ]
    lines += [
        (1, a, b, yard.keep_out_clearance_ft)
        for polygon in yard.keep_outs
        for a, b in _sides(polygon)
    ]
    kind = np.array([rule for rule, *_ in lines])
    starts, ends = (np.array([line[n] for line in lines], dtype=np.float64) for n in (1, 2))
    spare = _distances(places, footprint, starts, ends) - np.array([d for *_, d in lines])
    for rule in (0, 1):
        room[:, rule] = spare[:, kind == rule].min(axis=1, initial=np.inf)
    room[~_within(x, y, yard.boundary), 0] = -np.inf
    for polygon in yard.keep_outs:
        room[_within(x, y, polygon), 1] = -np.inf
    if not yard.allow_guessed:
        cos, sin = turned(places[:, 2])
        outline = ground.vertices_ft[ground.hull] + ground.centre_ft
        along = np.roll(outline, -1, axis=0) - outline
        nx, ny = np.stack([-along[:, 1], along[:, 0]]) / np.hypot(*along.T)
        reach = footprint.length_ft / 2 * np.abs(np.outer(cos, nx) + np.outer(sin, ny))
        reach += footprint.width_ft / 2 * np.abs(np.outer(cos, ny) - np.outer(sin, nx))
        off = np.outer(x, nx) + np.outer(y, ny) - (outline[:, 0] * nx + outline[:, 1] * ny)
        room[:, 2] = (off - reach).min(axis=1)
    return room


def allowed(ground: Ground, footprint: Footprint, yard: Yard, places: Floats) -> Bools:
    """Which places (p, 3) keep every rule."""
    return np.asarray(clearances(ground, footprint, yard, places).min(axis=1) >= -ON_LINE_FT)
