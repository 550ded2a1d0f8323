"""The ground as a surface: triangles between the readings, a fitted plane beyond them.

Inside the readings the surface is linear on Delaunay triangles and passes through every reading.
Where four or more neighbouring readings lie on one circle (every cell of a square grid), Delaunay
leaves the diagonal open; such a cell is fanned from its middle, whose height is the mean of its
corners. No direction and no order of typing is preferred, a plane stays a plane, and the volume
of a grid cell is then its area times the mean of its corners, as the surveyors' grid method says.

All lengths and heights are in feet. Heights rise upwards.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from estimator.errors import SurveyError

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
Bools = NDArray[np.bool_]

SAME_PLACE_FT = 0.01  # about 1/8 in: nobody tapes a plan position closer
SAME_HEIGHT_FT = 0.01
LINE_SHARE = 0.005  # a survey narrower than this share of its length is a line
SLIVER_SHARE = 1e-9
ON_ONE_CIRCLE = 1e-7  # sine of the misfit of two opposite angles
EDGE_SLACK = 1e-9  # barycentric: a point on the hull counts as measured
CHUNK = 200_000


@dataclass(frozen=True, slots=True, eq=False)
class Ground:
    """A fitted ground surface; made by :func:`fit_ground`.

    Attributes:
        labels: One name for each distinct reading ("Survey row 7").
        centre_ft: (2,) the mean place of the readings; the plan origin of the fields below.
        points_ft: (n, 2) places of the readings, from the centre.
        heights_ft: (n,) heights of the readings.
        vertices_ft: (v, 2) corners of triangles, from the centre: readings, then cell middles.
        vertex_heights_ft: (v,) their heights.
        triangles: (t, 3) vertex numbers, counter-clockwise.
        coefficients: (t, 3) ``c, gx, gy``: height = c + gx*x + gy*y on the triangle, x and y
            from the centre.
        plane: (3,) the same for the least-squares plane of all readings.
        hull: (h,) vertex numbers round the outside, counter-clockwise.
    """

    labels: tuple[str, ...]
    centre_ft: Floats
    points_ft: Floats
    heights_ft: Floats
    vertices_ft: Floats
    vertex_heights_ft: Floats
    triangles: Ints
    coefficients: Floats
    plane: Floats
    hull: Ints
    _inverse: Floats = field(repr=False)
    _bucket_low: Floats = field(repr=False)
    _bucket_step: Floats = field(repr=False)
    _buckets: Ints = field(repr=False)

    def locate(self, xy: ArrayLike) -> Ints:
        """Triangle number at each place (m, 2), or -1 outside the readings."""
        local = np.asarray(xy, dtype=np.float64).reshape(-1, 2) - self.centre_ft
        found = np.full(len(local), -1, dtype=np.intp)
        for start in range(0, len(local), CHUNK):
            found[start : start + CHUNK] = self._locate(local[start : start + CHUNK])
        return found

    def _locate(self, local: Floats) -> Ints:
        side = self._buckets.shape[0]
        place = np.floor((local - self._bucket_low) / self._bucket_step)
        near = np.all((place >= -1) & (place <= side), axis=1)
        place = np.clip(place, 0, side - 1).astype(np.intp)
        bucket = self._buckets[place[:, 0], place[:, 1]]
        found = np.full(len(local), -1, dtype=np.intp)
        open_ = np.flatnonzero(near)
        for column in range(bucket.shape[1]):
            triangle = bucket[open_, column]
            open_, triangle = open_[triangle >= 0], triangle[triangle >= 0]
            if not len(open_):
                break
            corner = self.vertices_ft[self.triangles[triangle, 0]]
            offset = local[open_] - corner
            inverse = self._inverse[triangle]
            b = inverse[:, 0] * offset[:, 0] + inverse[:, 1] * offset[:, 1]
            c = inverse[:, 2] * offset[:, 0] + inverse[:, 3] * offset[:, 1]
            inside = (b >= -EDGE_SLACK) & (c >= -EDGE_SLACK) & (b + c <= 1 + EDGE_SLACK)
            found[open_[inside]] = triangle[inside]
            open_ = open_[~inside]
        return found

    def at(self, xy: ArrayLike) -> tuple[Floats, Bools]:
        """Heights at places, and which of them are guessed.

        Args:
            xy: (m, 2) plan places.

        Returns:
            Heights (m,) and a mask (m,), true where the place lies outside the readings and its
            height comes from the fitted plane.
        """
        places = np.asarray(xy, dtype=np.float64).reshape(-1, 2)
        triangle = self.locate(places)
        guessed = triangle < 0
        local = places - self.centre_ft
        c = np.where(guessed[:, None], self.plane, self.coefficients[triangle])
        return c[:, 0] + c[:, 1] * local[:, 0] + c[:, 2] * local[:, 1], guessed

    @property
    def steepest(self) -> float:
        """Greatest slope of any triangle, as rise over run."""
        return float(np.hypot(self.coefficients[:, 1], self.coefficients[:, 2]).max())

    @property
    def edge_jump_ft(self) -> float:
        """Greatest step between the surface and the fitted plane along the outside, ft."""
        place = self.vertices_ft[self.hull]
        plane = self.plane[0] + place @ self.plane[1:]
        return float(np.abs(self.vertex_heights_ft[self.hull] - plane).max())


@dataclass(frozen=True, slots=True)
class Fall:
    """How much the ground drops across a footprint, between its corners.

    ``percent`` is the fall over the plan distance between the high and the low corner; where
    corners tie, the nearest pair counts. ``guessed`` is true if a corner lies outside the readings.
    """

    fall_ft: float
    fall_in: float
    percent: float
    high_corner: int
    low_corner: int
    high_ft: float
    low_ft: float
    guessed: bool

    def more_than(self, timber_depth_ft: float) -> bool:
        """Whether the fall is more than the depth of one timber."""
        return bool(self.fall_ft > timber_depth_ft + 1e-9)


def fit_ground(points: ArrayLike, heights: ArrayLike, labels: Sequence[str]) -> Ground:
    """Fit the ground surface to readings.

    Args:
        points: (n, 2) plan places, ft.
        heights: (n,) heights, ft.
        labels: n names to use in messages.

    Raises:
        SurveyError: Fewer than three places, all in one line, two heights at one place, or a
            value that is not a number.

    Readings at one place (within 1/8 in) with the same height are merged.
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
    return _build(place - centre, height, names, centre)


def _count(n: int) -> str:
    return {0: "there are no readings", 1: "there is only one reading"}.get(
        n, f"there are only {n} readings"
    )


def _listed(names: Sequence[str]) -> str:
    if len(names) > 4:
        return f"{names[0]} to {names[-1]} ({len(names)} readings)"
    return ", ".join(names[:-1]) + (" and " if len(names) > 1 else "") + "".join(names[-1:])


def _merge_duplicates(
    place: Floats, height: Floats, names: tuple[str, ...]
) -> tuple[Floats, Floats, tuple[str, ...]]:
    pairs = _close_pairs(place - place.mean(axis=0))
    if not len(pairs):
        return place, height, names
    count, group = _groups(len(place), pairs)
    firsts = []
    for g in range(count):
        members = np.flatnonzero(group == g)
        if np.ptp(height[members]) > SAME_HEIGHT_FT:
            shown = ", ".join(f"{height[m]:.2f}" for m in members)
            raise SurveyError(
                f"readings at the same place give different heights ({shown} ft)",
                where=_listed([names[m] for m in members]),
                cure="Read that place again and keep one row.",
            )
        firsts.append(int(members[0]))
    size = np.bincount(group)
    place = np.stack([np.bincount(group, place[:, k]) / size for k in (0, 1)], axis=1)
    height = np.bincount(group, height - height[0]) / size + height[0]
    order = np.argsort(firsts, kind="stable")
    return place[order], height[order], tuple(names[firsts[g]] for g in order)


def _close_pairs(place: Floats) -> Ints:
    """Pairs of places that count as one, (k, 2); places are compared along x first."""
    order = np.argsort(place[:, 0], kind="stable")
    x = place[order, 0]
    last = np.searchsorted(x, x + SAME_PLACE_FT, side="right")
    count = last - np.arange(len(x)) - 1
    first = np.repeat(np.arange(len(x)), count)
    second = first + 1 + np.arange(len(first)) - np.repeat(np.cumsum(count) - count, count)
    one, other = order[first], order[second]
    near = np.hypot(*(place[one] - place[other]).T) <= SAME_PLACE_FT
    return np.stack([one[near], other[near]], axis=1)


def _groups(size: int, pairs: Ints) -> tuple[int, Ints]:
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


class _NoSurfaceError(ValueError):
    """Places that span no triangle."""


def _delaunay(local: Floats) -> Any:
    from scipy.spatial import Delaunay, QhullError  # as slow to import as all else together

    try:
        return Delaunay(local)
    except QhullError as error:
        raise _NoSurfaceError("these places span no triangle") from error


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


def _build(local: Floats, height: Floats, names: tuple[str, ...], centre: Floats) -> Ground:
    vertices, vertex_heights, triangles = _triangulate(local, height)
    corner = vertices[triangles]
    edge1, edge2 = corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]
    double = edge1[:, 0] * edge2[:, 1] - edge1[:, 1] * edge2[:, 0]
    rise = vertex_heights[triangles] - vertex_heights[triangles[:, :1]]
    gx = (rise[:, 1] * edge2[:, 1] - rise[:, 2] * edge1[:, 1]) / double
    gy = (rise[:, 2] * edge1[:, 0] - rise[:, 1] * edge2[:, 0]) / double
    c = vertex_heights[triangles[:, 0]] - gx * corner[:, 0, 0] - gy * corner[:, 0, 1]
    inverse = np.stack([edge2[:, 1], -edge2[:, 0], -edge1[:, 1], edge1[:, 0]], axis=1)
    low, step, buckets = _bucket(corner)
    return Ground(
        labels=names,
        centre_ft=centre,
        points_ft=local,
        heights_ft=height,
        vertices_ft=vertices,
        vertex_heights_ft=vertex_heights,
        triangles=triangles,
        coefficients=np.stack([c, gx, gy], axis=1),
        plane=least_squares_plane(local, height),
        hull=_outline(triangles),
        _inverse=inverse / double[:, None],
        _bucket_low=low,
        _bucket_step=step,
        _buckets=buckets,
    )


def least_squares_plane(local: Floats, height: Floats) -> Floats:
    """Plane ``c, gx, gy`` of least squares through places (n, 2) and heights (n,)."""
    middle, base = local.mean(axis=0), height.mean()
    slope = np.linalg.lstsq(local - middle, height - base, rcond=None)[0]
    return np.array([base - middle @ slope, slope[0], slope[1]])


def _cells(local: Floats) -> list[Ints]:
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
    count, group = _groups(len(triangles), np.stack([first[joined], second[joined]], axis=1))
    loops = []
    for g in range(count):
        members = np.flatnonzero((group == g) & sound)
        if len(members):
            loop = np.unique(triangles[members])
            arm = local[loop] - local[loop].mean(axis=0)
            loops.append(loop[np.argsort(np.arctan2(arm[:, 1], arm[:, 0]), kind="stable")])
    return loops


def _triangulate(local: Floats, height: Floats) -> tuple[Floats, Floats, Ints]:
    extra_place: list[Floats] = []
    extra_height: list[float] = []
    triangles: list[Ints] = []
    for loop in _cells(local):
        if len(loop) == 3:
            triangles.append(loop[None, :])
            continue
        hub = len(local) + len(extra_place)
        extra_place.append(local[loop].mean(axis=0))
        extra_height.append(float(height[loop[0]] + (height[loop] - height[loop[0]]).mean()))
        hubs = np.full(len(loop), hub, dtype=np.intp)
        triangles.append(np.stack([hubs, loop, np.roll(loop, -1)], axis=1))
    if extra_place:
        local = np.vstack([local, np.array(extra_place)])
        height = np.concatenate([height, np.array(extra_height)])
    return local, height, np.vstack(triangles)


def _outline(triangles: Ints) -> Ints:
    """Loop of directed edges that no other triangle shares."""
    edges = {(int(a), int(b)) for t in triangles for a, b in zip(t, np.roll(t, -1), strict=True)}
    following = {a: b for a, b in edges if (b, a) not in edges}
    start = min(following)
    loop = [start]
    while (step := following[loop[-1]]) != start:
        loop.append(step)
    return np.array(loop, dtype=np.intp)


def _bucket(corner: Floats) -> tuple[Floats, Floats, Ints]:
    """Square table that lists, for each tile of the plan, the triangles that may cover it."""
    low, high = corner.min(axis=(0, 1)), corner.max(axis=(0, 1))
    side = int(np.ceil(2 * np.sqrt(len(corner))))
    step = (high - low) / side
    slack = 1e-6 * step
    first = np.floor((corner.min(axis=1) - low - slack) / step).astype(np.intp).clip(0, side - 1)
    last = np.floor((corner.max(axis=1) - low + slack) / step).astype(np.intp).clip(0, side - 1)
    lists: list[list[list[int]]] = [[[] for _ in range(side)] for _ in range(side)]
    for t in range(len(corner)):
        for i in range(first[t, 0], last[t, 0] + 1):
            for j in range(first[t, 1], last[t, 1] + 1):
                lists[i][j].append(t)
    depth = max(len(cell) for row in lists for cell in row)
    table = np.full((side, side, depth), -1, dtype=np.intp)
    for i, row in enumerate(lists):
        for j, cell in enumerate(row):
            table[i, j, : len(cell)] = cell
    return low, step, table


def fall(ground: Ground, corners: ArrayLike) -> Fall:
    """Fall of the ground between the corners (k, 2) of a footprint."""
    place = np.asarray(corners, dtype=np.float64).reshape(-1, 2)
    height, guessed = ground.at(place)
    highs = np.flatnonzero(height >= height.max() - 1e-9)
    lows = np.flatnonzero(height <= height.min() + 1e-9)
    run = np.linalg.norm(place[highs][:, None] - place[lows][None, :], axis=2)
    run[highs[:, None] == lows[None, :]] = np.inf
    i, j = np.unravel_index(int(np.argmin(run)), run.shape)
    drop = float(height.max() - height.min())
    return Fall(
        fall_ft=drop,
        fall_in=12 * drop,
        percent=100 * drop / float(run[i, j]) if np.isfinite(run[i, j]) else 0.0,
        high_corner=int(highs[i]),
        low_corner=int(lows[j]),
        high_ft=float(height.max()),
        low_ft=float(height.min()),
        guessed=bool(guessed.any()),
    )


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
        except _NoSurfaceError:
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
    cells = _cells(local)
    n = len(local)
    touching: list[set[int]] = [set() for _ in range(n)]
    edges: set[tuple[int, int]] = set()
    for loop in cells:
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
        vertices, heights, triangles = _triangulate(local - place, height)
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
