"""Earth volumes: exact ones under the triangulated surface.

Heights and plan lengths in feet, volumes in cubic feet unless a name says otherwise.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from estimator.errors import InputError
from estimator.solve.surface import Ground

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
Bools = NDArray[np.bool_]

ZERO_AREA_SHARE = 1e-13
NEAR_FT = 1e-14
"""How near a balanced height is brought."""
AT_ONCE = 4
"""Halvings that are looked at in one call: of many, only one path is taken."""


@dataclass(frozen=True, slots=True, eq=False)
class Patch:
    """The surface over a footprint, as triangles that cover it exactly.

    Attributes:
        areas_ft2: (t,) plan areas; they sum to the footprint's.
        low_ft, mid_ft, high_ft: (..., t) corner heights of each triangle, sorted; of several
            surfaces with a leading axis.
        guessed_ft2: Plan area that lies outside the readings.
    """

    areas_ft2: Floats
    low_ft: Floats
    mid_ft: Floats
    high_ft: Floats
    guessed_ft2: float = 0.0

    @property
    def area_ft2(self) -> float:
        """Plan area of the footprint."""
        return float(self.areas_ft2.sum())

    @property
    def lowest_ft(self) -> float:
        """Lowest ground in the footprint."""
        return float(self.low_ft.min())

    @property
    def highest_ft(self) -> float:
        """Highest ground in the footprint."""
        return float(self.high_ft.max())

    def lowered(self, depth_ft: float | Floats) -> Patch:
        """The same patch after ``depth_ft`` is stripped off it everywhere."""
        return Patch(
            self.areas_ft2,
            self.low_ft - depth_ft,
            self.mid_ft - depth_ft,
            self.high_ft - depth_ft,
            self.guessed_ft2,
        )


@dataclass(frozen=True, slots=True, eq=False)
class Patches:
    """The surface over several footprints at once.

    Attributes:
        owner: (t,) which footprint each triangle lies in.
        areas_ft2, low_ft, mid_ft, high_ft: (t,) and (..., t) as in :class:`Patch`.
        guessed: (t,) whether a triangle lies outside the readings.
        count: How many footprints there are.
    """

    owner: Ints
    areas_ft2: Floats
    low_ft: Floats
    mid_ft: Floats
    high_ft: Floats
    guessed: Bools
    count: int

    def of(self, footprint: int) -> Patch:
        """The surface over one of the footprints."""
        own = self.owner == footprint
        areas, guessed = self.areas_ft2[own], self.guessed[own]
        low, mid, high = (each[..., own] for each in (self.low_ft, self.mid_ft, self.high_ft))
        return Patch(areas, low, mid, high, float(areas[guessed].sum()))

    def area_ft2(self) -> Floats:
        """Plan area of each footprint (k,)."""
        return self._summed(self.areas_ft2)

    def highest_ft(self) -> Floats:
        """Highest ground in each footprint (k,)."""
        found = np.full(self.count, -np.inf)
        np.maximum.at(found, self.owner, self.high_ft)
        return found

    def cut_ft3(self, z_ft: ArrayLike) -> Floats:
        """Ground above a level of each footprint's own (..., k), or of all: (..., k) cubic feet."""
        z = self._each(z_ft)
        return self._summed(self.areas_ft2 * _depth(self.low_ft, self.mid_ft, self.high_ft, z))

    def each_cut_ft3(self, levels_ft: Sequence[Floats]) -> list[Floats]:
        """The same of several such levels, one by one."""
        z = self._each(np.stack(levels_ft))
        cuts = self.areas_ft2 * _depth(self.low_ft, self.mid_ft, self.high_ft, z)
        return [self._summed(cut) for cut in cuts]

    def fill_ft3(self, z_ft: ArrayLike) -> Floats:
        """What lacks below such a level (..., k), cubic feet."""
        z = self._each(z_ft)
        return self._summed(self.areas_ft2 * _depth(-self.high_ft, -self.mid_ft, -self.low_ft, -z))

    def _each(self, z_ft: ArrayLike) -> Floats:
        z = np.asarray(z_ft, dtype=np.float64)
        return np.broadcast_to(z, (*z.shape[:-1], self.count))[..., self.owner]

    def _summed(self, each: Floats) -> Floats:
        several = each.reshape(-1, len(self.owner))
        at = self.owner + self.count * np.arange(len(several))[:, None]
        found = np.bincount(at.ravel(), several.ravel(), minlength=len(several) * self.count)
        return found.reshape(*each.shape[:-1], self.count).astype(np.float64)


def clip(ground: Ground, corners: ArrayLike) -> Patch:
    """Cut the ground surface to a convex footprint, exactly.

    Every triangle of the surface is clipped to the footprint and fanned; what lies outside the
    readings is covered with triangles of the fitted plane.

    Args:
        ground: The surface.
        corners: (k, 2) corners of a convex footprint in order, either way round.

    Raises:
        InputError: The footprint has no area or is not convex.
    """
    return clip_each(ground, [corners])[0]


def clip_each(ground: Ground, footprints: Sequence[ArrayLike]) -> list[Patch]:
    """The same of several footprints of as many corners each."""
    corners = (np.asarray(each, dtype=np.float64).reshape(-1, 2) for each in footprints)
    found = clip_all(ground, np.stack([_convex(each) for each in corners]))
    return [found.of(n) for n in range(found.count)]


def clip_all(ground: Ground, corners: Floats) -> Patches:
    """Cut the ground surface to many convex footprints of as many corners each.

    Args:
        ground: The surface.
        corners: (k, n, 2) corners of each, in order, either way round.
    """
    local = corners - ground.centre_ft
    x, y = np.moveaxis(local - local[:, :1], -1, 0)
    whole = (x * np.roll(y, -1, axis=1) - np.roll(x, -1, axis=1) * y).sum(axis=1) / 2
    local = np.where((whole < 0)[:, None, None], local[:, ::-1], local)
    parts = [_measured(ground, local), *_beyond(ground, local)]
    owner = np.concatenate([part[0] for part in parts])
    areas = np.concatenate([part[1] for part in parts])
    heights = np.sort(np.concatenate([part[2] for part in parts], axis=-2), axis=-1)
    guessed = np.arange(len(owner)) >= len(parts[0][0])
    keep = areas > ZERO_AREA_SHARE * np.abs(whole)[owner]
    low, mid, high = np.moveaxis(heights[..., keep, :], -1, 0)
    return Patches(owner[keep], areas[keep], low, mid, high, guessed[keep], len(corners))


_Fans = tuple[Ints, Floats, Floats]
"""Of triangles: footprint (t,), area (t,) and heights of the corners (..., t, 3)."""


def _measured(ground: Ground, footprints: Floats) -> _Fans:
    """What lies inside the readings."""
    from_ft, to_ft = footprints.min(axis=1)[:, None], footprints.max(axis=1)[:, None]
    near = (ground.boxes_ft[1] >= from_ft) & (ground.boxes_ft[0] <= to_ft)
    owner, triangle = np.nonzero(near.all(axis=2))
    polygons = ground.vertices_ft[ground.triangles[triangle]]
    for j in range(footprints.shape[1]):
        a, b = footprints[owner, j], footprints[owner, (j + 1) % footprints.shape[1]]
        polygons, some = _left(polygons, a, b)
        owner, triangle = owner[some], triangle[some]
    return _fans(polygons, owner, ground.coefficients[..., triangle, :])


def _beyond(ground: Ground, footprints: Floats) -> list[_Fans]:
    """What lies outside the readings, beyond each side of their outline in turn."""
    outline = ground.vertices_ft[ground.hull]
    along = np.roll(outline, -1, axis=0) - outline
    off = footprints[:, :, None] - outline
    within = along[:, 0] * off[..., 1] - along[:, 1] * off[..., 0] >= 0
    owner = np.flatnonzero(~within.all(axis=(1, 2)))
    crossed = ~within[owner].all(axis=(0, 1))
    footprints = footprints[owner]
    found = []
    for a, b in zip(outline[crossed], np.roll(outline, -1, axis=0)[crossed], strict=True):
        start, end = np.tile(a, (len(owner), 1)), np.tile(b, (len(owner), 1))
        outer, some = _left(footprints, end, start)
        planes = ground.planes(np.full(int(some.sum()), -1, dtype=np.intp))
        found.append(_fans(outer, owner[some], planes))
        footprints, some = _left(footprints, start, end)
        owner = owner[some]
    return found


def _left(polygons: Floats, a: Floats, b: Floats) -> tuple[Floats, Bools]:
    """Parts of convex polygons (p, m, 2) on the left of a line each, a to b (p, 2).

    Polygons of fewer corners repeat their first at the end.

    Returns:
        The parts (q, m + 1, 2), or (q, m, 2) where no line cuts any, and which polygons (p,) have
        one.
    """
    along = b - a
    off = polygons - a[:, None]
    side: Floats = along[:, :1] * off[..., 1] - along[:, 1:] * off[..., 0]
    keep = side >= 0
    some: Bools = np.asarray(keep.any(axis=1))
    if keep[some].all():
        return polygons[some], some
    polygons, side, keep = polygons[some], side[some], keep[some]
    after = _rolled(side)
    crosses = keep != (after >= 0)
    share = side / np.where(crosses, side - after, 1)
    cut = polygons + share[..., None] * (_rolled(polygons) - polygons)
    count, most, _ = polygons.shape
    slots = np.stack([polygons, cut], axis=2).reshape(count, 2 * most, 2)
    valid = np.stack([keep, crosses], axis=2).reshape(count, 2 * most)
    order = np.argsort(~valid, axis=1, kind="stable")[:, : most + 1]
    row = np.arange(count)[:, None]
    parts = slots[row, order]
    return np.where(valid[row, order][..., None], parts, parts[:, :1]), some


def _rolled(corners: Floats) -> Floats:
    """Of each corner (p, m, ...) of polygons the next one."""
    return np.concatenate([corners[:, 1:], corners[:, :1]], axis=1)


def _fans(polygons: Floats, owner: Ints, planes: Floats) -> _Fans:
    """Convex polygons (p, m, 2) as triangles, with the heights of planes (..., p, 3) at corners."""
    c, gx, gy = planes[..., :1], planes[..., 1:2], planes[..., 2:]
    z = c + (gx * polygons[..., 0] + gy * polygons[..., 1])
    first = polygons[:, :1]
    e1, e2 = polygons[:, 1:-1] - first, polygons[:, 2:] - first
    areas = (e1[..., 0] * e2[..., 1] - e1[..., 1] * e2[..., 0]) / 2
    first_z = np.broadcast_to(z[..., :1], (*z.shape[:-1], areas.shape[1]))
    heights = np.stack([first_z, z[..., 1:-1], z[..., 2:]], axis=-1)
    owners = np.repeat(owner, areas.shape[1])
    return owners, areas.ravel(), heights.reshape(*z.shape[:-2], areas.size, 3)


def _area(polygon: Floats) -> float:
    x, y = (polygon - polygon[0]).T
    return float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum() / 2)


def _convex(polygon: Floats) -> Floats:
    if len(polygon) < 3 or not np.isfinite(polygon).all() or _area(polygon) == 0:
        raise InputError(
            "the footprint has no area", cure="Give its corners in order, at least three."
        )
    if _area(polygon) < 0:
        polygon = polygon[::-1]
    ahead = np.roll(polygon, -1, axis=0) - polygon
    turn = ahead[:, 0] * np.roll(ahead, -1, axis=0)[:, 1]
    turn -= ahead[:, 1] * np.roll(ahead, -1, axis=0)[:, 0]
    if (turn < -1e-9 * np.abs(turn).max()).any():
        raise InputError("the footprint is not convex", cure="Give its corners in order.")
    return polygon


def volume_above(
    areas_ft2: ArrayLike, low_ft: ArrayLike, mid_ft: ArrayLike, high_ft: ArrayLike, z_ft: ArrayLike
) -> Floats:
    """Volume of ground above the level ``z``: the cut in bank cubic feet.

    The integral of ``max(height - z, 0)`` over a triangle is a prism less or plus the pyramid that
    the level cuts off, so it is exact.

    Args:
        areas_ft2, low_ft, mid_ft, high_ft: (t,) as in :class:`Patch`; heights of several surfaces
            (..., t) for a level each.
        z_ft: Level, any shape.

    Returns:
        Volume in the shape of ``z_ft``.
    """
    area, low, mid, high = (
        np.asarray(a, dtype=np.float64) for a in (areas_ft2, low_ft, mid_ft, high_ft)
    )
    z = np.asarray(z_ft, dtype=np.float64)[..., None]
    return np.asarray((area * _depth(low, mid, high, z)).sum(axis=-1), dtype=np.float64)


def _depth(low: Floats, mid: Floats, high: Floats, z: Floats) -> Floats:
    """Mean of ``max(height - z, 0)`` over triangles of these corner heights."""
    prism = ((low - z) + (mid - z) + (high - z)) / 3
    lower_span = np.where(mid > low, (mid - low) * (high - low), 1.0)
    upper_span = np.where(high > mid, (high - mid) * (high - low), 1.0)
    with_pit = prism + np.maximum(z - low, 0) ** 3 / (3 * lower_span)
    tip = np.maximum(high - z, 0) ** 3 / (3 * upper_span)
    return np.where(z <= low, prism, np.where(z < mid, with_pit, np.where(z < high, tip, 0.0)))


def volume_below(
    areas_ft2: ArrayLike, low_ft: ArrayLike, mid_ft: ArrayLike, high_ft: ArrayLike, z_ft: ArrayLike
) -> Floats:
    """Volume between the ground and the level ``z`` above it: the fill in compacted cubic feet.

    Same arguments and shape as :func:`volume_above`.
    """
    area, low, mid, high = (
        np.asarray(a, dtype=np.float64) for a in (areas_ft2, low_ft, mid_ft, high_ft)
    )
    # The ground turned upside down: exact, and never a small difference of large numbers.
    return volume_above(area, -high, -mid, -low, -np.asarray(z_ft, dtype=np.float64))


def cut_ft3(patch: Patch, z_ft: ArrayLike) -> Floats:
    """Cut over a patch down to the level ``z``, bank cubic feet."""
    return volume_above(patch.areas_ft2, patch.low_ft, patch.mid_ft, patch.high_ft, z_ft)


def fill_ft3(patch: Patch, z_ft: ArrayLike) -> Floats:
    """Fill over a patch up to the level ``z``, compacted cubic feet."""
    return volume_below(patch.areas_ft2, patch.low_ft, patch.mid_ft, patch.high_ft, z_ft)


def balanced_height(
    patch: Patch,
    compacted_per_bank: float,
    *,
    strip_ft: float = 0.0,
    waste_share: float = 0.0,
    taken_ft3: Callable[[Floats], Floats] | None = None,
) -> Floats:
    """Level at which the cut, tamped, just makes the fill.

    Where what stands in the fill takes the place of all of it at every level, the level is that
    of the highest ground: nothing is cut and nothing filled.

    Args:
        patch: Original ground over the footprint; of several surfaces a level each is found.
        compacted_per_bank: Compacted volume that one bank volume gives (0.90: shrinks by a tenth).
        strip_ft: Sod and topsoil taken off first; they count neither as cut nor as fill.
        waste_share: Share of the cut that can't be used as fill.
        taken_ft3: Of subgrade levels, the fill up to them whose place something else takes.

    Returns:
        The subgrade level, on the datum of the patch, (...).

    Raises:
        InputError: The factor is not positive, or nothing of the cut is usable.
    """
    usable = compacted_per_bank * (1 - waste_share)
    if not (np.isfinite(usable) and usable > 0):
        raise InputError(
            "the cut can't make any fill", cure="Give compacted per bank above 0, waste below 1."
        )
    ground = patch.lowered(strip_ft)
    base = ground.low_ft.min(axis=-1)
    local = ground.lowered(base[..., None])

    def surplus(z: Floats) -> Floats:
        taken = taken_ft3(base + z) if taken_ft3 else 0.0
        lacks = np.maximum(fill_ft3(local, z) - taken, 0.0)
        return np.asarray(usable * cut_ft3(local, z) - lacks)

    low, high = np.zeros(base.shape), ground.high_ft.max(axis=-1) - base
    if not base.ndim:
        return np.asarray(base + _crossing(surplus, float(low), float(high)))
    while True:
        middle = (low + high) / 2
        parted = (low < middle) & (middle < high) & (high - low > NEAR_FT)
        if not parted.any():
            return np.asarray(base + middle)
        more = surplus(middle) > 0
        low, high = np.where(parted & more, middle, low), np.where(parted & ~more, middle, high)


def _crossing(surplus: Callable[[Floats], Floats], low: float, high: float) -> float:
    """Where what falls from above 0 below it crosses it, by halves; several halvings a call."""
    while True:
        lows, highs = [low], [high]
        for n in range(2**AT_ONCE - 1):
            middle = (lows[n] + highs[n]) / 2
            lows += [lows[n], middle]
            highs += [middle, highs[n]]
        more = surplus(np.array(lows[2 : 2 ** (AT_ONCE + 1) : 2])) > 0
        at = 0
        for _ in range(AT_ONCE):
            middle = (low + high) / 2
            if not (low < middle < high and high - low > NEAR_FT):
                return middle
            if more[at]:
                low, at = middle, 2 * at + 2
            else:
                high, at = middle, 2 * at + 1
