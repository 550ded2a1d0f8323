"""Earth volumes: exact ones under the triangulated surface.

Heights and plan lengths in feet, volumes in cubic feet unless a name says otherwise.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from estimator.errors import InputError
from estimator.solve.surface import Ground

Floats = NDArray[np.float64]

ZERO_AREA_SHARE = 1e-13


@dataclass(frozen=True, slots=True, eq=False)
class Patch:
    """The surface over a footprint, as triangles that cover it exactly.

    Attributes:
        areas_ft2: (t,) plan areas; they sum to the footprint's.
        low_ft, mid_ft, high_ft: (t,) corner heights of each triangle, sorted.
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
    def mean_ft(self) -> float:
        """Mean height of the ground over the footprint."""
        base = float(self.low_ft[0])
        thirds = ((self.low_ft - base) + (self.mid_ft - base) + (self.high_ft - base)) / 3
        return base + float(self.areas_ft2 @ thirds) / self.area_ft2

    @property
    def lowest_ft(self) -> float:
        """Lowest ground in the footprint."""
        return float(self.low_ft.min())

    @property
    def highest_ft(self) -> float:
        """Highest ground in the footprint."""
        return float(self.high_ft.max())

    def lowered(self, depth_ft: float) -> Patch:
        """The same patch after ``depth_ft`` is stripped off it everywhere."""
        return Patch(
            self.areas_ft2,
            self.low_ft - depth_ft,
            self.mid_ft - depth_ft,
            self.high_ft - depth_ft,
            self.guessed_ft2,
        )


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
    footprint = _convex(np.asarray(corners, dtype=np.float64).reshape(-1, 2) - ground.centre_ft)
    low, high = footprint.min(axis=0), footprint.max(axis=0)
    corner = ground.vertices_ft[ground.triangles]
    near = np.all((corner.max(axis=1) >= low) & (corner.min(axis=1) <= high), axis=1)
    pieces: list[tuple[Floats, Floats]] = []
    for t in np.flatnonzero(near):
        polygon = _inside(corner[t], footprint)
        if len(polygon):
            pieces.append((polygon, ground.coefficients[t]))
    inner = len(pieces)
    outline = ground.vertices_ft[ground.hull]
    rest = footprint
    for a, b in zip(outline, np.roll(outline, -1, axis=0), strict=True):
        if not len(rest):
            break
        beyond = _half(rest, b, a)
        if len(beyond):
            pieces.append((beyond, ground.plane))
        rest = _half(rest, a, b)
    return _fan(pieces, inner, _area(footprint))


def _fan(pieces: list[tuple[Floats, Floats]], inner: int, whole_ft2: float) -> Patch:
    areas: list[Floats] = []
    heights: list[Floats] = []
    guessed = 0.0
    for number, (polygon, plane) in enumerate(pieces):
        z = plane[0] + polygon @ plane[1:]
        e1, e2 = polygon[1:-1] - polygon[0], polygon[2:] - polygon[0]
        area = (e1[:, 0] * e2[:, 1] - e1[:, 1] * e2[:, 0]) / 2
        z = np.stack([np.full(len(area), z[0]), z[1:-1], z[2:]], axis=1)
        keep = area > ZERO_AREA_SHARE * whole_ft2
        areas.append(area[keep])
        heights.append(z[keep])
        if number >= inner:
            guessed += float(area[keep].sum())
    z = np.sort(np.concatenate(heights), axis=1)
    return Patch(np.concatenate(areas), z[:, 0], z[:, 1], z[:, 2], guessed)


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


def _half(polygon: Floats, a: Floats, b: Floats) -> Floats:
    """Part of a convex polygon on the left of the line from a to b."""
    along = b - a
    side = along[0] * (polygon[:, 1] - a[1]) - along[1] * (polygon[:, 0] - a[0])
    keep = side >= 0
    if keep.all():
        return polygon
    if not keep.any():
        return polygon[:0]
    out = []
    for i in range(len(polygon)):
        j = (i + 1) % len(polygon)
        if keep[i]:
            out.append(polygon[i])
        if keep[i] != keep[j]:
            share = side[i] / (side[i] - side[j])
            out.append(polygon[i] + share * (polygon[j] - polygon[i]))
    return np.array(out) if len(out) >= 3 else polygon[:0]


def _inside(polygon: Floats, footprint: Floats) -> Floats:
    for a, b in zip(footprint, np.roll(footprint, -1, axis=0), strict=True):
        polygon = _half(polygon, a, b)
        if not len(polygon):
            break
    return polygon


def volume_above(
    areas_ft2: ArrayLike, low_ft: ArrayLike, mid_ft: ArrayLike, high_ft: ArrayLike, z_ft: ArrayLike
) -> Floats:
    """Volume of ground above the level ``z``: the cut in bank cubic feet.

    The integral of ``max(height - z, 0)`` over a triangle is a prism less or plus the pyramid that
    the level cuts off, so it is exact.

    Args:
        areas_ft2, low_ft, mid_ft, high_ft: (t,) as in :class:`Patch`.
        z_ft: Level, any shape.

    Returns:
        Volume in the shape of ``z_ft``.
    """
    area, low, mid, high = (
        np.asarray(a, dtype=np.float64) for a in (areas_ft2, low_ft, mid_ft, high_ft)
    )
    z = np.asarray(z_ft, dtype=np.float64)[..., None]
    prism = ((low - z) + (mid - z) + (high - z)) / 3
    lower_span = np.where(mid > low, (mid - low) * (high - low), 1.0)
    upper_span = np.where(high > mid, (high - mid) * (high - low), 1.0)
    with_pit = prism + np.maximum(z - low, 0) ** 3 / (3 * lower_span)
    tip = np.maximum(high - z, 0) ** 3 / (3 * upper_span)
    depth = np.where(z <= low, prism, np.where(z < mid, with_pit, np.where(z < high, tip, 0.0)))
    return np.asarray((area * depth).sum(axis=-1), dtype=np.float64)


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
    patch: Patch, compacted_per_bank: float, *, strip_ft: float = 0.0, waste_share: float = 0.0
) -> float:
    """Level at which the cut, tamped, just makes the fill.

    Args:
        patch: Original ground over the footprint.
        compacted_per_bank: Compacted volume that one bank volume gives (0.90: shrinks by a tenth).
        strip_ft: Sod and topsoil taken off first; they count neither as cut nor as fill.
        waste_share: Share of the cut that can't be used as fill.

    Returns:
        The subgrade level, on the datum of the patch.

    Raises:
        InputError: The factor is not positive, or nothing of the cut is usable.
    """
    usable = compacted_per_bank * (1 - waste_share)
    if not (np.isfinite(usable) and usable > 0):
        raise InputError(
            "the cut can't make any fill", cure="Give compacted per bank above 0, waste below 1."
        )
    ground = patch.lowered(strip_ft)
    base = ground.lowest_ft
    top = ground.highest_ft - base
    if top <= 0:
        return base
    local = ground.lowered(base)

    def surplus(z: float) -> float:
        return float(usable * cut_ft3(local, z) - fill_ft3(local, z))

    low, high = 0.0, top
    while low < (middle := (low + high) / 2) < high and high - low > 1e-14:
        low, high = (middle, high) if surplus(middle) > 0 else (low, middle)
    return base + (low + high) / 2
