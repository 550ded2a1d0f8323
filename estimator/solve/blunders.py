"""Which readings of a survey the readings around them contradict."""

from __future__ import annotations

import numpy as np

from estimator.solve.mesh import (
    Floats,
    Ints,
    NoSurfaceError,
    cells,
    least_squares_plane,
    triangulate,
)
from estimator.solve.surface import Bools, Ground


def blunders(
    ground: Ground, *, least_ft: float = 0.25, spread_factor: float = 4.0
) -> list[tuple[str, float]]:
    """Readings to check: those that the readings around them contradict.

    Each reading is left out in turn and predicted from its neighbours: inside, from the surface
    between them; on the outline, where there is nothing to interpolate, from the plane through
    two rings of them, with more leave the farther it lies from them. A reading is named when its
    residual exceeds both ``least_ft`` and ``spread_factor`` times the usual residual of its kind
    (1.4826 times the median absolute one).
    The worst is set aside before the next is looked for, so that a bad reading does not accuse
    its neighbours. With fewer than six readings no usual residual is known; then a reading must
    be out by 8 % of the survey's size, and all that fit equally badly are named together.

    Returns:
        (label, residual in ft: reading less prediction), the worst first; empty if all fit.

    The thresholds are common practice, no source.
    """
    n = len(ground.points_ft)
    if n < 4:
        return []
    if n < 6:
        left_out = _left_out(ground.points_ft, ground.heights_ft)[0]
        limit = max(least_ft, 0.08 * float(np.linalg.norm(np.ptp(ground.points_ft, axis=0))))
        size = np.abs(left_out)
        named = np.flatnonzero((size > limit) & (size >= 0.8 * size.max()))
        return [(ground.labels[i], float(left_out[i])) for i in named[np.argsort(-size[named])]]
    kept = np.arange(n)
    found: list[int] = []
    while len(found) <= n // 4 and len(kept) >= 6:
        residual, outer, reach = _left_out(ground.points_ft[kept], ground.heights_ft[kept])
        size = np.abs(residual) / reach
        worst = _culprit(ground, kept, size, outer, (least_ft, spread_factor))
        if worst is None:
            break
        found.append(int(kept[worst]))
        kept = np.delete(kept, worst)
    out = []
    for i in found:
        with_one = np.append(kept, i)
        residual = _left_out(ground.points_ft[with_one], ground.heights_ft[with_one])[0]
        out.append((ground.labels[i], float(residual[-1])))
    return sorted(out, key=lambda pair: -abs(pair[1]))


def _limits(size: Floats, outer: Bools, least_ft: float, factor: float) -> Floats:
    """Residual from which each reading is named; the few on the outline can't set it alone."""
    usual = {
        on: float(np.median(size[outer == on] if (outer == on).sum() >= 5 else size))
        for on in (False, True)
    }
    usual[True] = min(usual[True], 3 * max(usual[False], least_ft / (factor * 1.4826)))
    limit = np.where(outer, usual[True], usual[False]) * factor * 1.4826
    return np.asarray(np.maximum(limit, least_ft), dtype=np.float64)


def _culprit(
    ground: Ground, kept: Ints, size: Floats, outer: Bools, rule: tuple[float, float]
) -> int | None:
    """Of the worst few, the reading without which the rest fit best; None if all fit."""
    ratio = size / _limits(size, outer, *rule)
    suspects = np.argsort(-ratio, kind="stable")[:4]
    plain = bool(ratio[suspects[0]] > 1)
    if plain:
        # A bad reading on the outline may look better than the neighbour it spoils.
        suspects = suspects[ratio[suspects] > 0.5]
    elif size.max() <= rule[0]:
        return None
    else:
        suspects = np.unique(np.append(suspects, np.argmax(size)))
    misfit, limit = [], []
    for s in suspects:
        rest = np.delete(kept, s)
        try:
            residual, edge, reach = _left_out(ground.points_ft[rest], ground.heights_ft[rest])
        except NoSurfaceError:
            misfit.append(np.inf)
            limit.append(np.inf)
            continue
        others = np.abs(residual) / reach
        alike = _limits(others, edge, *rule)[edge == outer[s]]
        misfit.append(float(others.sum()))
        limit.append(float(alike[0]) if len(alike) else np.inf)
    # Without a reading that alone keeps the rest out of one line, nothing can be judged.
    if not np.isfinite(misfit).any():
        return None
    best = int(np.argmin(misfit))
    # In a small survey one bad reading spoils most residuals, and with them what is usual: then
    # the others alone say what is.
    return int(suspects[best]) if plain or size[suspects[best]] > limit[best] else None


def _left_out(local: Floats, height: Floats) -> tuple[Floats, Bools, Floats]:
    """Residual of each reading against the others, which stand on the outline, and their reach.

    The reach is how much wider than usual the residual of a prediction beyond its data spreads.
    """
    loops = cells(local)
    n = len(local)
    touching: list[set[int]] = [set() for _ in range(n)]
    edges: set[tuple[int, int]] = set()
    for loop in loops:
        members = [int(i) for i in loop]
        for i in members:
            touching[i].update(members)
        edges.update(zip(members, members[1:] + members[:1], strict=True))
    outer = np.ones(n, dtype=np.bool_)
    outer[[i for i in range(n) if touching[i]]] = False
    outer[[i for edge in edges if edge[::-1] not in edges for i in edge]] = True
    predicted, reach = np.empty(n), np.ones(n)
    for i in range(n):
        ring = np.array(sorted(touching[i] - {i}), dtype=np.intp)
        value = None if outer[i] else _between(local[ring], height[ring], local[i])
        if value is None:
            wide = set(ring.tolist()).union(*(touching[j] for j in ring)) - {i}
            near = np.array(sorted(wide), dtype=np.intp)
            value, reach[i] = _beyond(local, height, near, i)
        predicted[i] = value
    return height - predicted, outer, reach


def _between(local: Floats, height: Floats, place: Floats) -> float | None:
    """Height at a place from the surface between readings; None if it lies outside them."""
    if len(local) < 3:
        return None
    try:
        vertices, heights, triangles = triangulate(local - place, height)
    except ValueError:
        return None
    a, b, c = (vertices[triangles[:, k]] for k in range(3))
    weight = np.stack(
        [p[:, 0] * q[:, 1] - p[:, 1] * q[:, 0] for p, q in ((b, c), (c, a), (a, b))], axis=1
    )
    weight /= weight.sum(axis=1, keepdims=True)
    best = int(np.argmax(weight.min(axis=1)))
    if weight[best].min() < -1e-9:
        return None
    return float(weight[best] @ heights[triangles[best]])


def _beyond(local: Floats, height: Floats, near: Ints, i: int) -> tuple[float, float]:
    """Height at reading i from the plane through its neighbours (or all others), and its reach.

    The reach is the spread of a least-squares prediction, ``sqrt(1 + leverage)``.
    """
    for use in (near, np.delete(np.arange(len(local)), i)):
        spread = np.linalg.svd(local[use] - local[use].mean(axis=0), compute_uv=False)
        if len(use) >= 3 and spread[-1] > 0.05 * spread[0]:
            break
    offset = local[use] - local[i]
    plane = least_squares_plane(offset, height[use])
    middle = offset.mean(axis=0)
    leverage = (
        1 / len(use) + middle @ np.linalg.pinv((offset - middle).T @ (offset - middle)) @ middle
    )
    return float(plane[0]), float(np.sqrt(1 + leverage))
