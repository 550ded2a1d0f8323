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
    its neighbours; one that lies with them on ground that bends, or breaks along a line, is not
    named (see :func:`_on_broken_ground`). With fewer than six readings no usual residual is
    known; then a reading must be out by 8 % of the survey's size, and all that fit equally badly
    are named together.

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
    for i in (i for i in found if not _on_broken_ground(ground, kept, i)):
        with_one = np.append(kept, i)
        residual = _left_out(ground.points_ft[with_one], ground.heights_ft[with_one])[0]
        out.append((ground.labels[i], float(residual[-1])))
    return sorted(out, key=lambda pair: -abs(pair[1]))


NEAREST, FIT_FT = 12, 0.2
"""Neighbours that are asked, and how far from a surface through them a sound reading may lie: four
times the noise of rod and grass (common practice, no source)."""
SLIGHT = 1e-6
"""Of a surface's terms: what tells it from one that the neighbours leave open."""
TURNS, EACH_SIDE = 60, 3
"""Directions in which a break is looked for, and readings that it must have on either side."""


def _on_broken_ground(ground: Ground, kept: Ints, i: int) -> bool:
    """Whether one surface goes through a reading and its neighbours that are not in doubt.

    It is curved like a saddle or bowl, or breaks along a straight line as a ridge, a valley or the
    edge of a bank does; a break has readings on both sides and is consistent along itself. A slip
    is alone, so that no such surface passes through it.
    """
    away = np.linalg.norm(ground.points_ft[kept] - ground.points_ft[i], axis=1)
    near = np.append(kept[np.argsort(away, kind="stable")[:NEAREST]], i)
    if len(near) < NEAREST:
        return False
    x, y = (ground.points_ft[near] - ground.points_ft[i]).T
    height = ground.heights_ft[near]
    flat = np.stack([np.ones_like(x), x, y], axis=-1)
    curved = np.column_stack([flat, x * x, x * y, y * y])
    if _through(curved[np.newaxis], height):
        return True
    angle = np.arange(TURNS) * np.pi / TURNS
    across = np.cos(angle)[:, np.newaxis] * x + np.sin(angle)[:, np.newaxis] * y
    order = np.sort(across, axis=1)
    between = (order[:, 1:] + order[:, :-1]) / 2
    breaks = np.hstack(
        [order[:, EACH_SIDE:-EACH_SIDE], between[:, EACH_SIDE - 1 : 1 - EACH_SIDE or None]]
    )
    beyond = np.maximum(across[:, np.newaxis, :] - breaks[:, :, np.newaxis], 0)
    broken = np.broadcast_to(flat, (*beyond.shape, 3))
    terms = np.concatenate([broken, beyond[..., np.newaxis]], axis=-1)
    return _through(terms.reshape(-1, *terms.shape[-2:]), height)


def _through(terms: Floats, height: Floats) -> bool:
    """Whether a surface of those with terms (..., n, k) goes through all readings.

    It is the one that fits the others best, without the last, which it has to meet by itself as
    closely as a least-squares prediction that far from the others can be asked to.
    """
    basis, upper = np.linalg.qr(terms[..., :-1, :])
    sound = np.abs(np.diagonal(upper, axis1=-2, axis2=-1)).min(axis=-1) > SLIGHT
    terms, basis, upper = terms[sound], basis[sound], upper[sound]
    onto = np.swapaxes(basis, -1, -2) @ height[:-1, np.newaxis]
    factors = np.linalg.solve(upper, onto)
    misfit = np.abs(height - (terms @ factors)[..., 0])
    arm = np.linalg.solve(np.swapaxes(upper, -1, -2), terms[..., -1, :, np.newaxis])
    misfit[..., -1] /= np.sqrt(1 + (arm[..., 0] ** 2).sum(axis=-1))
    return bool((misfit.max(axis=-1) <= FIT_FT).any())


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
